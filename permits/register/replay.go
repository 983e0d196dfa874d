package register

import (
	"context"
	"fmt"
	"slices"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// Replay walks the log again from nothing and asks every gate again: an entry is right only if the gates would have let
// it through at that moment, and would have made just this entry of it. It needs no database.
type Replay struct {
	state *state
	ended func(p permits.Permit, last int64) // told of every permit that ends, with its last entry
	last  map[permits.PermitID]int64         // the last entry of every open permit
}

// NewReplay returns a replay that stands before entry 0.
func NewReplay() *Replay { return replayBy(permits.Judges()) }

// replayBy is NewReplay with these editions.
func replayBy(judges []permits.Judge) *Replay {
	w := newState(judges)
	w.sole = true
	return &Replay{state: w, ended: func(permits.Permit, int64) {}, last: map[permits.PermitID]int64{}}
}

// Next walks one entry. The error says why the entry cannot have been made by the gates; the replay must not go on
// after it. It returns the permit after the entry, good until the next one; the zero permit for one that concerns the
// whole ship.
func (p *Replay) Next(e permits.Entry) (after permits.Permit, err error) {
	defer func() {
		if v := recover(); v != nil { // an act that speaks of a step that is not there
			err = fmt.Errorf("makes no sense: %v", v)
		}
	}()
	if e.N != p.state.size {
		return after, fmt.Errorf("comes where entry %d should be", p.state.size)
	}
	want, err := p.decide(e)
	if err != nil {
		return after, fmt.Errorf("would not have been let through: %w", err)
	}
	if err := compare(want, e); err != nil {
		return after, err
	}
	if after, err = p.state.apply(e); err != nil {
		return after, err
	}
	if id := after.ID(); id != 0 {
		p.last[id] = e.N
		if after.State().IsOver() {
			delete(p.last, id)
			p.ended(after, e.N)
		}
	}
	return after, nil
}

// decide asks the gate that the entry went through.
func (p *Replay) decide(e permits.Entry) (permits.Entry, error) {
	s := p.state.setting(e.At, e.ActID)
	s.By, s.Signed = p.state.ship.People[e.By], e.Signed
	if !e.Signed.IsZero() {
		if who := e.Signed.By(); !samePerson(who, p.state.ship.People[who.ID]) || !who.IsCompetent() {
			return permits.Entry{}, fmt.Errorf("the signature is of %s as nobody aboard was then", who)
		}
	}
	switch a := e.Act.(type) {
	case permits.PermitAct:
		at := p.state.permit(e.Permit)
		if at.ID() == 0 && e.Permit != p.state.next {
			return permits.Entry{}, fmt.Errorf("permit %d is not open", e.Permit)
		}
		return permits.Decide(s, at, a)
	case permits.ShipAct:
		want, err := permits.DecideShip(s, a)
		if _, refusal := a.(permits.RefusedAct); refusal {
			want.Permit = e.Permit
		}
		return want, err
	}
	return permits.Entry{}, fmt.Errorf("%T is neither an act on a permit nor on the ship", e.Act)
}

// compare looks whether an entry is what its gate makes of the act.
func compare(want, got permits.Entry) error {
	switch {
	case got.Permit != want.Permit:
		return fmt.Errorf("names permit %d; the gate makes it %d", got.Permit, want.Permit)
	case got.Kind != want.Kind:
		return fmt.Errorf("calls itself %q; the act is %q", got.Kind, want.Kind)
	case got.To != want.To:
		return fmt.Errorf("leaves the permit %s; the gate leaves it %s", got.To, want.To)
	case got.By != want.By:
		return fmt.Errorf("is by %q; the gate makes it by %q", got.By, want.By)
	case !got.At.Equal(want.At):
		return fmt.Errorf("has a time that the gate does not give it")
	case !sameSignature(got.Signed, want.Signed):
		return fmt.Errorf("carries another signature than the gate gives it")
	case !sameVerdicts(got.Found, want.Found):
		return fmt.Errorf("carries another verdict than the reading gives")
	}
	return nil
}

func sameSignature(a, b permits.Signature) bool {
	return a.Role() == b.Role() && a.At().Equal(b.At()) && samePerson(a.By(), b.By())
}

func samePerson(a, b permits.Person) bool {
	return a.ID == b.ID && a.Name == b.Name && a.Rank == b.Rank && a.Left == b.Left && slices.Equal(a.Roles, b.Roles)
}

// sameVerdicts compares what the findings mean for the gates. Their words may be put better by a later version of the
// program, which must still find an old log whole.
func sameVerdicts(a, b []isolation.Finding) bool {
	return slices.EqualFunc(a, b, func(a, b isolation.Finding) bool { return a.OK == b.OK && a.Result == b.Result })
}

// adoptEdition keeps an entry that says from where on this program's newest edition judges, if it is later than the
// log's. A log in which nobody is on the books yet gets it with the first of them.
func (r *Register) adoptEdition(ctx context.Context) error {
	if len(r.Ship().People) == 0 || r.Ship().Edition() == r.judges[len(r.judges)-1].Edition {
		return nil
	}
	return r.perform(ctx, (*attempt).adoptEdition)
}

func (t *attempt) adoptEdition() error {
	newest := t.r.judges[len(t.r.judges)-1].Edition
	if newest == t.state.ship.Edition() {
		return nil
	}
	_, err := t.ship(t.r.NewActID(), permits.Person{}, permits.Signature{}, permits.AdoptEdition{Edition: newest})
	return err
}
