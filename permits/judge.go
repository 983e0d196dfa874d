package permits

import "stillwatch/isolation/proof"

// Edition is the number of a set of rules: the way, the gates, and the physics behind the verdicts on readings. A log
// says which edition judged which entries (AdoptEdition), so that an old log stays verifiable when a gate is changed.
type Edition int

// FirstEdition judges every entry before the first AdoptEdition.
const FirstEdition Edition = 2

// wayBackEdition is the first by which a plan must say how all comes back.
const wayBackEdition Edition = 3

// Judge is one edition of the rules. What a later edition changes inside a gate asks Setting.Judge.Edition; a gate that
// it adds stands in Adds.
type Judge struct {
	Edition Edition
	// Adds are gates beside an act's own, by kind. Like a gate each reads of the act only what aim sets.
	Adds map[Kind]func(Setting, Permit, PermitAct) error
}

// Judges returns every edition that this program can judge by, oldest first. The last judges new acts.
//
//	2  the first
//	3  the independent check of a plan asks for more: see proof.ProveAs
//	4  a release of an absent owner's locks says of each condition who saw to it, when and how
//	5  what has run out leaves only the way out; no lock is fitted where another permit's test has the point open; a
//	   plan says of which kinds the work is, and what each asks for; its independent check asks for more again
//	6  nobody works, stands by or is inside in two places on board; a second person sees each point whose lock came off
//	   for a test and never went on again; who puts a plant file or rules in force is not who proposed it, and a point
//	   on which a lock hangs stays in the file; work may be added to a permit, by a plan in place of another
func Judges() []Judge {
	return []Judge{{Edition: FirstEdition}, {Edition: wayBackEdition}, {Edition: releaseEdition},
		{Edition: lifeEdition, Adds: lifeAdds}, {Edition: changeEdition, Adds: changeAdds}}
}

// checks returns the edition of the checks that a plan must pass: the last that is not later than the judge's own.
func (j Judge) checks() int { return int(min(max(j.Edition, FirstEdition), proof.Edition)) }

// open asks an act's own gate, then the one that the edition adds.
func (j Judge) open(s Setting, p Permit, a PermitAct) error {
	if err := a.gate(s, p); err != nil {
		return err
	}
	if add, ok := j.Adds[a.Kind()]; ok {
		return add(s, p, a)
	}
	return nil
}

// KindAdoptEdition says that from here on another edition judges.
const KindAdoptEdition Kind = "adopt edition"

// AdoptEdition is kept by the register itself, once, when a program with a later edition opens a log.
type AdoptEdition struct {
	Edition Edition `json:"edition"`
}

// Kind says which act this is.
func (AdoptEdition) Kind() Kind { return KindAdoptEdition }

func (AdoptEdition) rule() rule { return unsignedBy("adopt an edition of the rules") }

func (a AdoptEdition) tell(Names, Entry) string {
	return "from here on edition " + itoa(int(a.Edition)) + " of the gates judges"
}

func (AdoptEdition) touches(Permit) Touched { return Touched{} }

func (a AdoptEdition) decideShip(s Setting) error {
	if s.Actor().ID != "" || a.Edition <= s.Ship.Edition() {
		return refuse("adopt edition", "The program does it by itself.", "An edition is adopted by nobody, and only upward.")
	}
	return nil
}

func (a AdoptEdition) applyShip(_ Entry, ship *Ship) { ship.Adopted = a.Edition }

// Edition returns the edition that judges now.
func (s Ship) Edition() Edition { return max(s.Adopted, FirstEdition) }
