package screens

import (
	"context"
	"time"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// EntryLine is one entry of the log as a line of history.
type EntryLine struct {
	N       int64
	At      time.Time
	Who     string
	Kind    permits.Kind
	Permit  permits.PermitID
	Words   string
	Found   []isolation.Finding
	To      permits.State
	Role    permits.Role // in which it was signed; "": not signed
	Refused bool
}

// FoundWords joins the results of verdicts.
func FoundWords(found []isolation.Finding) string {
	words := ""
	for i, f := range found {
		words += Choose(i > 0, ", ", "") + f.Result
	}
	return words
}

// Teller puts entries into words. It looks up what an entry only names by a digest, each permit once.
type Teller struct {
	Ctx     context.Context
	Ship    permits.Ship
	Permit  func(context.Context, permits.PermitID) (permits.Permit, error) // its names are enough: see PermitAsAuthorised
	Permits map[permits.PermitID]permits.Permit
}

// NewTeller returns a teller for the ship as it is now; permit looks a permit up.
func NewTeller(ctx context.Context, ship permits.Ship,
	permit func(context.Context, permits.PermitID) (permits.Permit, error)) *Teller {
	return &Teller{ctx, ship, permit, map[permits.PermitID]permits.Permit{}}
}

// Line returns an entry as a line of history.
func (t *Teller) Line(e permits.Entry) EntryLine {
	l := EntryLine{N: e.N, At: e.At, Who: t.Names(e).Who(e), Kind: e.Kind, Permit: e.Permit, Found: e.Found, To: e.To,
		Words: t.Tell(e)}
	if !e.Signed.IsZero() {
		l.Role = e.Signed.Role()
	}
	switch e.Act.(type) {
	case permits.RefusedAct, permits.RefusedPIN:
		l.Refused = true
	}
	return l
}

// Tell completes "NAME …" with what an entry says, with times as the ship's clock shows them.
func (t *Teller) Tell(e permits.Entry) string { return ShipTime(permits.Tell(t.Names(e), e), e.At) }

// Name returns the name of a person on the books.
func (t *Teller) Name(id permits.PersonID) string { return permits.Names{Ship: t.Ship}.Name(id) }

// Names returns what an entry is put into words with.
func (t *Teller) Names(e permits.Entry) permits.Names {
	return permits.Names{Ship: t.Ship, Permit: t.permitFor(e.Permit), Stamp: StampWords}
}

// permitFor looks a permit up once.
func (t *Teller) permitFor(id permits.PermitID) permits.Permit {
	p, ok := t.Permits[id]
	if !ok && id != 0 {
		p, _ = t.Permit(t.Ctx, id) // a permit that cannot be read leaves its step unnamed
		t.Permits[id] = p
	}
	return p
}
