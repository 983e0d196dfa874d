package web

import (
	"context"
	"time"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// entryLine is one entry of the log as a line of history.
type entryLine struct {
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

// teller puts entries into words. It looks up what an entry only names by a digest, each permit once.
type teller struct {
	ctx     context.Context
	ship    permits.Ship
	permit  func(context.Context, permits.PermitID) (permits.Permit, error) // its names are enough: see PermitAsAuthorised
	permits map[permits.PermitID]permits.Permit
}

func (s *Server) teller(ctx context.Context) *teller {
	return &teller{ctx, s.reg.Ship(), s.reg.PermitAsAuthorised, map[permits.PermitID]permits.Permit{}}
}

func (t *teller) line(e permits.Entry) entryLine {
	l := entryLine{N: e.N, At: e.At, Who: t.name(e.By), Kind: e.Kind, Permit: e.Permit, Found: e.Found, To: e.To,
		Words: permits.Tell(t.names(e), e)}
	if !e.Signed.IsZero() {
		l.Role = e.Signed.Role()
	}
	switch e.Act.(type) {
	case permits.RefusedAct, permits.RefusedPIN:
		l.Refused = true
	}
	return l
}

func (t *teller) name(id permits.PersonID) string { return permits.Names{Ship: t.ship}.Name(id) }

// names returns what an entry is put into words with.
func (t *teller) names(e permits.Entry) permits.Names {
	return permits.Names{Ship: t.ship, Permit: t.permitFor(e.Permit), Stamp: stampWords}
}

// section returns the name of a section of a permit.
func (t *teller) section(id permits.PermitID, section string) string {
	return permits.Names{Permit: t.permitFor(id)}.Section(section)
}

// permitFor looks a permit up once.
func (t *teller) permitFor(id permits.PermitID) permits.Permit {
	p, ok := t.permits[id]
	if !ok && id != 0 {
		p, _ = t.permit(t.ctx, id) // a permit that cannot be read leaves its step unnamed
		t.permits[id] = p
	}
	return p
}
