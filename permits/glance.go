package permits

import (
	"cmp"
	"slices"
	"time"
)

// Isolation is how far the isolation of a permit stands at a moment: what a picture of the plant may shade.
type Isolation string

// How far it can stand. Only Isolated says that nothing can come to the work, and it says so because a proof was signed
// and nothing recorded since speaks against it.
const (
	NotIsolated   Isolation = "not isolated"
	PartlyLocked  Isolation = "partly locked"
	LockedOnly    Isolation = "locked, not proved"
	Isolated      Isolation = "isolated and proved"
	IsolationLost Isolation = "isolation lost"
)

// IsolationOf returns how far the isolation of a permit stands. A permit that works under another one's locks has
// none of its own: it has no locks.
func IsolationOf(s Setting, p Permit) Isolation {
	on, wrong := 0, false
	for _, l := range p.locks {
		if l.IsOn() {
			on++
			wrong = wrong || l.Wrong != ""
		}
	}
	switch {
	case on == 0:
		return NotIsolated
	case wrong || len(p.PassingPoints(s.Ship)) > 0 || p.state == Proving && len(p.SignedOn()) > 0:
		return IsolationLost
	case on < len(p.locks):
		return PartlyLocked
	case p.state == Live && s.Distrust == "":
		return Isolated
	}
	return LockedOnly
}

// Deadline is a moment that somebody looks out for on an open permit.
type Deadline struct {
	Permit PermitID
	What   string // "Authorisation", or what is waited for
	At     time.Time
	IsWait bool // at its end something may be read; else something runs out
}

// Deadlines returns the moments that people look out for, of all open permits: when an authorisation and a test of the
// air run out, and when a wait that has begun is over. What has run out stays until somebody deals with it. First comes
// what is first.
func Deadlines(s Setting) []Deadline {
	var out []Deadline
	for _, id := range s.OpenIDs() {
		p := s.Open[id]
		if p.Has(KindRemoveLock) {
			continue // nothing is waited for but the locks
		}
		if !p.until.IsZero() {
			out = append(out, Deadline{id, "Authorisation", p.until, false})
		}
		if until := p.AirUntil(s.At); !until.IsZero() {
			out = append(out, Deadline{id, "Test of the air", until, false})
		}
		for _, w := range p.EarliestOpen(s.At).Waiting {
			out = append(out, Deadline{id, w.What, w.Until, true})
		}
	}
	slices.SortStableFunc(out, func(a, b Deadline) int {
		return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Permit, b.Permit))
	})
	return out
}
