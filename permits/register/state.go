package register

import (
	"fmt"
	"maps"
	"slices"
	"time"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
	"stillwatch/permits"
)

// state is all that the log makes of the ship and of the permits that are not over: what deciding needs, and no more,
// so that a long log opens fast. What is over is read from the database when somebody asks.
type state struct {
	ship   permits.Ship
	plant  *isolation.Plant // nil: none in force
	rules  *isolation.Rules // nil: none in force, the shipped ones are shown
	open   map[permits.PermitID]*permits.Permit
	held   permits.Held
	uses   permits.Uses
	judges []permits.Judge // the last judges new acts
	next   permits.PermitID
	size   int64     // entries
	latest time.Time // the greatest time of any entry since the clock was put right last
	lastAt time.Time // the last entry's time

	plantFile *permits.AdoptPlant // put in force, not parsed yet
	rulesFile *permits.AdoptRules

	// nobody but this state has its permits: they are brought on in place, not copied for every entry. Without it a
	// verification costs 29 µs of processor time an entry instead of 19 (BenchmarkLongLog)
	sole bool
	now  []permits.Holding // room for what a permit holds
}

func newState(judges []permits.Judge) *state {
	return &state{open: map[permits.PermitID]*permits.Permit{}, judges: judges, next: 1}
}

// fork returns a state of its own to try an act on. The permits are then two states', and neither brings them on in
// place.
func (s *state) fork() *state {
	if s.sole {
		s.sole = false
	}
	f := *s
	f.open, f.now = maps.Clone(s.open), nil
	return &f
}

// setting returns what an act meets at a time of the server's clock. Gates judge by the later of the clock and the log,
// so that the log's times never run backwards.
func (s *state) setting(clock time.Time, id permits.ActID) permits.Setting {
	at := clock
	if s.latest.After(at) {
		at = s.latest
	}
	return permits.Setting{At: at.UTC(), Clock: clock.UTC(), ActID: id, Ship: s.ship, Next: s.next, Held: s.held,
		Uses: s.uses, Plant: s.plant, Rules: s.rules, Judge: s.judge(), Open: s.open}
}

// judge returns the edition that the log says; the zero judge for one that this program does not have, which readFiles
// refuses.
func (s *state) judge() permits.Judge {
	for _, j := range s.judges {
		if j.Edition == s.ship.Edition() {
			return j
		}
	}
	return permits.Judge{}
}

// permit returns an open permit, or the zero permit.
func (s *state) permit(id permits.PermitID) permits.Permit {
	if p, ok := s.open[id]; ok {
		return *p
	}
	return permits.Permit{}
}

// apply puts the next entry in. It returns the permit after it, which is zero for an entry that concerns the whole
// ship.
func (s *state) apply(e permits.Entry) (permits.Permit, error) {
	var after permits.Permit
	switch e.Act.(type) {
	case permits.PermitAct:
		after = s.bringOn(e)
		if e.Kind.IsUse() {
			s.uses = s.uses.With(after.Plan().Job, e.By, e.At)
		}
		s.applyShip(e)
	case permits.ShipAct:
		s.applyShip(e)
		if err := s.readFiles(); err != nil {
			return after, fmt.Errorf("apply entry %d: %w", e.N, err)
		}
	}
	s.count(e)
	return after, nil
}

// bringOn puts an entry into its permit.
func (s *state) bringOn(e permits.Entry) permits.Permit {
	if p, ok := s.open[e.Permit]; ok && s.sole {
		permits.Advance(p, e)
		s.place(p)
		return *p
	}
	after := permits.Apply(s.permit(e.Permit), e)
	s.keep(after)
	return after
}

// count notes an entry's number and time.
func (s *state) count(e permits.Entry) {
	s.size = e.N + 1
	s.lastAt = e.At
	if e.At.After(s.latest) || e.Kind == permits.KindPutClockRight {
		s.latest = e.At
	}
}

// keep puts a permit in its place after an entry, or lets it go when it is over.
func (s *state) keep(p permits.Permit) { s.place(&p) }

// place is keep for a permit that may be there already.
func (s *state) place(p *permits.Permit) {
	id := p.ID()
	if id >= s.next {
		s.next = id + 1
	}
	if p.State().IsOver() {
		delete(s.open, id)
	} else if s.open[id] != p {
		s.open[id] = p
	}
	s.now = p.AppendHoldings(s.now[:0])
	s.held = s.held.With(id, s.now)
}

// applyShip puts an entry that concerns the whole ship in. A file that it puts in force is parsed by readFiles.
func (s *state) applyShip(e permits.Entry) {
	s.ship = permits.ApplyShip(s.ship, e)
	switch a := e.Act.(type) {
	case permits.AdoptPlant:
		s.plantFile = &a
	case permits.AdoptRules:
		s.rulesFile = &a
	}
}

// readFiles parses the files that were put in force last, if they have not been parsed. It refuses a log that is judged
// by an edition of which this program knows nothing.
func (s *state) readFiles() error {
	if s.judge().Edition == 0 {
		return fmt.Errorf("%w: edition %d of the gates judges the log", ErrNewer, s.ship.Edition())
	}
	if a := s.plantFile; a != nil {
		p, err := plantfile.Read(a.Name, []byte(a.Text))
		if err != nil {
			return fmt.Errorf("read the plant file in force: %w", err)
		}
		s.plant, s.plantFile = p, nil
	}
	if a := s.rulesFile; a != nil {
		r, err := plantfile.ReadRules(a.Name, []byte(a.Text))
		if err != nil {
			return fmt.Errorf("read the rules file in force: %w", err)
		}
		s.rules, s.rulesFile = r, nil
	}
	return nil
}

// shapesShip is every kind that changes the ship: those that must be read again to know it.
var shapesShip = []permits.Kind{
	permits.KindAddPerson, permits.KindChangePerson, permits.KindSetPIN, permits.KindProposeFile,
	permits.KindAdoptPlant, permits.KindAdoptRules,
	permits.KindHangLabels, permits.KindRecordPassing, permits.KindRecordRepair, permits.KindAdoptEdition,
	permits.KindAcceptLoss, permits.KindReleaseOwner, permits.KindHearRelease, permits.KindSignAudit,
	permits.KindSetAuditEvery, permits.KindInspectPlan, permits.KindDeclareEmergency, permits.KindEndEmergency,
	permits.KindAllowScreen, permits.KindEndScreen,
}

// Shapes reports whether an entry of this kind must be read again to know the ship.
func Shapes(k permits.Kind) bool { return slices.Contains(shapesShip, k) }
