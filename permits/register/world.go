package register

import (
	"fmt"
	"maps"
	"time"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// world is all that the log makes of the ship and of the permits that are not over: what deciding needs, and no more,
// so that a long log opens fast. What is over is read from the database when somebody asks.
type world struct {
	ship   permits.Ship
	plant  *isolation.Plant // nil: none in force
	rules  *isolation.Rules // nil: none in force, the shipped ones are shown
	open   map[permits.PermitID]*permits.Permit
	held   permits.Held
	next   permits.PermitID
	size   int64     // entries
	latest time.Time // the greatest time of any entry
	lastAt time.Time // the last entry's time

	plantFile *permits.AdoptPlant // put in force, not parsed yet
	rulesFile *permits.AdoptRules

	// nobody but this world has its permits: they are brought on in place, not copied for every entry
	sole bool
	now  []permits.Holding // room for what a permit holds
}

func newWorld() *world {
	return &world{open: map[permits.PermitID]*permits.Permit{}, next: 1}
}

// fork returns a world of its own to try an act on. The permits are then two worlds', and neither brings them on in
// place.
func (w *world) fork() *world {
	if w.sole {
		w.sole = false
	}
	f := *w
	f.open, f.now = maps.Clone(w.open), nil
	return &f
}

// setting returns what an act meets.
func (w *world) setting(at time.Time, id permits.ActID) permits.Setting {
	return permits.Setting{At: at.UTC(), ActID: id, Ship: w.ship, Next: w.next, Held: w.held, Plant: w.plant,
		Rules: w.rules}
}

// permit returns an open permit, or the zero permit.
func (w *world) permit(id permits.PermitID) permits.Permit {
	if p, ok := w.open[id]; ok {
		return *p
	}
	return permits.Permit{}
}

// apply puts the next entry in. It returns the permit after it, which is zero for an entry that concerns the whole ship.
func (w *world) apply(e permits.Entry) (permits.Permit, error) {
	var after permits.Permit
	switch e.Act.(type) {
	case permits.PermitAct:
		after = w.bringOn(e)
	case permits.ShipAct:
		w.applyShip(e)
		if err := w.readFiles(); err != nil {
			return after, fmt.Errorf("apply entry %d: %w", e.N, err)
		}
	}
	w.count(e)
	return after, nil
}

// bringOn puts an entry into its permit.
func (w *world) bringOn(e permits.Entry) permits.Permit {
	if p, ok := w.open[e.Permit]; ok && w.sole {
		permits.Advance(p, e)
		w.place(p)
		return *p
	}
	after := permits.Apply(w.permit(e.Permit), e)
	w.keep(after)
	return after
}

// count notes an entry's number and time.
func (w *world) count(e permits.Entry) {
	w.size = e.N + 1
	w.lastAt = e.At
	if e.At.After(w.latest) {
		w.latest = e.At
	}
}

// keep puts a permit in its place after an entry, or lets it go when it is over.
func (w *world) keep(p permits.Permit) { w.place(&p) }

// place is keep for a permit that may be there already.
func (w *world) place(p *permits.Permit) {
	id := p.ID()
	if id >= w.next {
		w.next = id + 1
	}
	if p.State().IsOver() {
		delete(w.open, id)
	} else if w.open[id] != p {
		w.open[id] = p
	}
	w.now = p.AppendHoldings(w.now[:0])
	w.held = w.held.With(id, w.now)
}

// applyShip puts an entry that concerns the whole ship in. A file that it puts in force is parsed by readFiles.
func (w *world) applyShip(e permits.Entry) {
	w.ship = permits.ApplyShip(w.ship, e)
	switch a := e.Act.(type) {
	case permits.AdoptPlant:
		w.plantFile = &a
	case permits.AdoptRules:
		w.rulesFile = &a
	}
}

// readFiles parses the files that were put in force last, if they have not been parsed.
func (w *world) readFiles() error {
	if a := w.plantFile; a != nil {
		p, err := isolation.Read(a.Name, []byte(a.Text))
		if err != nil {
			return fmt.Errorf("read the plant file in force: %w", err)
		}
		w.plant, w.plantFile = p, nil
	}
	if a := w.rulesFile; a != nil {
		r, err := isolation.ReadRules(a.Name, []byte(a.Text))
		if err != nil {
			return fmt.Errorf("read the rules file in force: %w", err)
		}
		w.rules, w.rulesFile = r, nil
	}
	return nil
}

// shapesShip is every kind that changes the ship: those that must be read again to know it.
var shapesShip = []permits.Kind{
	permits.KindAddPerson, permits.KindChangePerson, permits.KindAdoptPlant, permits.KindAdoptRules,
	permits.KindHangLabels, permits.KindRecordPassing, permits.KindRecordRepair,
}
