package permits

import (
	"slices"
	"strings"
)

// Kinds of an emergency: blackout, flooding, fire.
const (
	KindDeclareEmergency Kind = "declare emergency"
	KindEndEmergency     Kind = "end emergency"
	KindStopForEmergency Kind = "stop for emergency"
	KindCountOut         Kind = "count out"
	KindAccount          Kind = "account after emergency"
)

// Emergency is what was declared, by whom, and why; the zero value is none.
type Emergency struct {
	Mark
	Words string
}

// DeclareEmergency stops all work on board at once. From then on people come out and are counted, and nothing else
// happens to any permit but what an officer orders to be opened. (Own reasoning: work that nobody watches is stopped
// work.)
type DeclareEmergency struct {
	Words string `json:"words"` // what it is: blackout, flooding of which space, fire where
}

// Kind says which act this is.
func (DeclareEmergency) Kind() Kind { return KindDeclareEmergency }

func (DeclareEmergency) rule() rule { return signedBy("declare an emergency", Officer, Master) }

func (a DeclareEmergency) tell(Names, Entry) string {
	return "declared an emergency: " + AsSentence(a.Words) + " All work stops"
}

func (DeclareEmergency) touches(Permit) Touched { return Touched{} }

func (a DeclareEmergency) decideShip(s Setting) error {
	if e := s.Ship.Emergency; !e.IsZero() {
		return refuse("emergency", "", "%s has declared one already: %s", s.name(e.By), AsSentence(e.Words))
	}
	return words("words", a.Words, 3, 300)
}

func (a DeclareEmergency) applyShip(e Entry, ship *Ship) {
	ship.Emergency = Emergency{Mark{e.By, e.At}, strings.TrimSpace(a.Words)}
}

// EndEmergency says that it is over. Everybody has come out by then, each by name. Afterwards each permit that had
// locks on is accounted for (Account) before anything of it goes on or ends.
type EndEmergency struct {
	Words string `json:"words"` // how it ended
}

// Kind says which act this is.
func (EndEmergency) Kind() Kind { return KindEndEmergency }

func (EndEmergency) rule() rule { return signedBy("end the emergency", Officer, Master) }

func (a EndEmergency) tell(Names, Entry) string { return "ended the emergency: " + AsSentence(a.Words) }

func (EndEmergency) touches(Permit) Touched { return Touched{} }

func (a EndEmergency) decideShip(s Setting) error {
	if s.Ship.Emergency.IsZero() {
		return refuse("emergency", "", "No emergency is declared.")
	}
	if in := s.NotOut(); len(in) > 0 {
		return refuse("emergency", "Find them; each signs off, or is counted out by name.", "Not out yet: %s.",
			strings.Join(in, ", "))
	}
	return words("words", a.Words, 3, 300)
}

func (EndEmergency) applyShip(_ Entry, ship *Ship) { ship.Emergency = Emergency{} }

// NotOut returns who is signed on to some work on board, each once by name, with the permit.
func (s Setting) NotOut() []string {
	var out []string
	for _, id := range s.OpenIDs() {
		for _, who := range s.Open[id].SignedOn() {
			out = append(out, s.name(who)+" (permit "+itoa(int(id))+")")
		}
	}
	return out
}

// Unaccounted returns the permits whose locks have not been counted since an emergency, by their numbers.
func (s Setting) Unaccounted() []PermitID {
	return slices.DeleteFunc(s.OpenIDs(), func(id PermitID) bool { return s.Open[id].emergency.IsZero() })
}

// StopForEmergency is what an emergency does to each permit with locks on or people at work. The register does it, with
// DeclareEmergency.
type StopForEmergency struct {
	Words string `json:"words"`
}

// Kind says which act this is.
func (StopForEmergency) Kind() Kind { return KindStopForEmergency }

func (StopForEmergency) rule() rule { return unsignedBy("stop for an emergency") }

func (a StopForEmergency) tell(Names, Entry) string { return "stopped for the emergency: " + a.Words }

func (StopForEmergency) touches(Permit) Touched { return Touched{} }

func (StopForEmergency) gate(s Setting, p Permit) error {
	if s.Ship.Emergency.IsZero() {
		return refuse("emergency", "", "No emergency is declared.")
	}
	return nil
}

func (StopForEmergency) decide(_ Setting, p Permit) (outcome, error) {
	if p.Has(KindRemoveLock) {
		return outcome{to: p.state}, nil
	}
	return outcome{to: Suspended}, nil
}

func (a StopForEmergency) apply(e Entry, p *Permit) {
	if e.To == Suspended {
		p.stop(e, "Emergency: "+a.Words)
	}
	p.emergency, p.opening = Mark{e.By, e.At}, Opening{}
}

// inEmergency are the acts that an emergency leaves, until each permit is accounted for.
var inEmergency = []Kind{KindSignOff, KindCountOut, KindTakeOwnLock, KindSuspend, KindFindWrong, KindOfferWatch,
	KindTakeWatch, KindComeOut, KindTakePost, KindLeavePost, KindPutBack, KindOrderOpening, KindOpenAtOnce,
	KindStopForEmergency, KindReckonAnew}

// noEmergency refuses everything but those while an emergency is on, and afterwards until the permit is accounted for.
func noEmergency(s Setting, p Permit, kind Kind, gate string) error {
	e := s.Ship.Emergency
	if e.IsZero() && p.emergency.IsZero() || slices.Contains(inEmergency, kind) || kind == KindAccount {
		return nil
	}
	if !e.IsZero() {
		return refuse(gate, "The master or an officer of the watch ends it first.", "An emergency is declared: %s",
			AsSentence(e.Words))
	}
	return refuse(gate, "The officer who has it, or the chief engineer, has all of them counted and signs.",
		"Nobody has counted the locks and tags of permit %d since the emergency.", p.id)
}

// CountOut says that somebody who is signed on was seen outside: for those who can't sign off themselves at that
// moment. It takes no lock of theirs off a group box.
type CountOut struct {
	Person PersonID `json:"person"`
	Where  string   `json:"where"` // seen
}

// Kind says which act this is.
func (CountOut) Kind() Kind { return KindCountOut }

func (CountOut) rule() rule {
	return unsignedBy("count somebody out", Officer, Master, ChiefEngineer)
}

func (a CountOut) tell(n Names, _ Entry) string {
	return "counted " + n.Name(a.Person) + " out, seen: " + a.Where
}

func (a CountOut) touches(Permit) Touched { return Touched{Person: a.Person} }

func (CountOut) aim(_ Permit, at Target) PermitAct { return CountOut{Person: at.Person} }

func (a CountOut) gate(s Setting, p Permit) error {
	const gate = "count out"
	if s.Ship.Emergency.IsZero() {
		return refuse(gate, "Each signs off with their own PIN.", "No emergency is declared.")
	}
	if !slices.Contains(p.SignedOn(), a.Person) {
		return refuse(gate, "", "%s is not signed on to permit %d.", s.name(a.Person), p.id)
	}
	if slices.Contains(p.Inside(), a.Person) {
		return refuse(gate, "Have it recorded at the entrance that they came out.", "%s is recorded as inside the space.",
			s.name(a.Person))
	}
	return nil
}

func (a CountOut) decide(_ Setting, p Permit) (outcome, error) {
	return outcome{to: p.state}, words("where", a.Where, 2, 80)
}

func (a CountOut) apply(e Entry, p *Permit) {
	for i := range p.crew {
		if c := &p.crew[i]; c.Person == a.Person && c.Off.IsZero() {
			c.Off, c.CountedBy, c.Where = e.At, e.By, strings.TrimSpace(a.Where)
		}
	}
}

// Account is the signature under a permit after an emergency: somebody went to every point and counted what hangs
// right. What is gone or stands wrong is recorded first, each by itself (FindWrong). Then the permit goes on as after a
// long stop, or is cancelled.
type Account struct {
	Hang  int    `json:"hang"`  // locks and tags counted, each in its position
	Words string `json:"words"` // what was opened or moved, by whom, and who has looked
}

// Kind says which act this is.
func (Account) Kind() Kind { return KindAccount }

func (Account) rule() rule {
	return signedBy("account for the locks after an emergency", Officer, ChiefEngineer)
}

func (a Account) tell(Names, Entry) string {
	return "accounted for it after the emergency: " + Plural(a.Hang, "lock or tag hangs", "locks and tags hang") +
		" right; " + AsSentence(a.Words)
}

func (Account) touches(Permit) Touched { return Touched{} }

func (Account) gate(s Setting, p Permit) error {
	const gate = "emergency"
	switch {
	case p.emergency.IsZero():
		return refuse(gate, "", "Permit %d was in no emergency, or is accounted for.", p.id)
	case !s.Ship.Emergency.IsZero():
		return refuse(gate, "The master or an officer of the watch ends it first.", "The emergency is not over.")
	}
	if err := p.nobodyIn(s, gate); err != nil {
		return err
	}
	return inOwnHands(s, p, KindAccount, gate)
}

func (a Account) decide(_ Setting, p Permit) (outcome, error) {
	n := 0
	for _, l := range p.locks {
		if l.IsOn() && l.Wrong == "" {
			n++
		}
	}
	if a.Hang != n {
		return outcome{}, refuse("emergency", "Record each that is gone or stands wrong on its tag's page; then count again.",
			"%d locks and tags are on record as hanging right, and %d were counted.", n, a.Hang)
	}
	return outcome{to: p.state}, words("words", a.Words, 10, 1000)
}

func (a Account) apply(_ Entry, p *Permit) { p.emergency, p.opening = Mark{}, Opening{} }

// Emergency returns who declared the emergency because of which the permit is to be accounted for; zero if none.
func (p Permit) Emergency() Mark { return p.emergency }

// nextInEmergency is what a permit waits for in an emergency, and after it.
func (p Permit) nextInEmergency(s Setting) []Next {
	e := s.Ship.Emergency
	on := len(p.SignedOn())
	switch {
	case e.IsZero() && p.emergency.IsZero():
		return nil
	case on > 0:
		return []Next{{Who: string(Officer), Roles: KindCountOut.Roles(), Kind: KindCountOut, Since: p.emergency.At,
			At: Target{Person: p.SignedOn()[0]}, What: "Emergency: " + AsSentence(e.Words) +
				" Get everybody out and count them by name: " + people(on) + " not out yet."}}
	case !e.IsZero() && p.Has(KindOpenAtOnce) && !p.opening.IsZero():
		if l, more := p.NextOpening(); more {
			return []Next{{Who: string(Technician), Roles: KindOpenAtOnce.Roles(), Kind: KindOpenAtOnce, Since: p.opening.At,
				At: Target{Step: l.Step.N}, What: l.orderOff(s, p,
					"Ordered in the emergency: "+s.name(p.opening.By)+" takes off")}}
		}
		fallthrough
	case !e.IsZero():
		return []Next{{Who: string(Officer), Roles: KindOrderOpening.Roles(), Since: e.At, Kind: KindOrderOpening,
			What: "Emergency: " + AsSentence(e.Words) + " Nobody is at this work. Nothing goes on or ends before it is over."}}
	}
	return []Next{{Who: string(Officer), Roles: KindAccount.Roles(), Kind: KindAccount, Since: p.emergency.At,
		What: "Have every lock and tag counted at its point, and sign. Nothing goes on before."}}
}
