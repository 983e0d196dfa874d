package permits

import (
	"strings"

	"pgregory.net/rapid"

	"stillwatch/isolation"
)

// checkNext wants somebody aboard to be able to do what a permit waits for first, or its words to say what stands in
// the way. What stands in every permit's way, the clock and an emergency, is said on the board; an officer who has not
// taken a permit over, and an owner who has not been told, are asked first.
func checkNext(t *rapid.T, r *rig, id PermitID) {
	p := r.permits[id]
	_, between := p.Offered()
	if p.State().IsOver() || r.behind > 0 || !r.ship.Emergency.IsZero() || between || len(untold(r)) > 0 {
		return
	}
	s := r.setting(vera, Suspend{})
	next := WhatNext(s, p)
	if len(next) == 0 {
		t.Fatalf("permit %d stands at %s and waits for nothing", id, p.State())
	}
	n := next[0]
	if len(p.PassingPoints(r.ship)) > 0 || n.Kind == KindAuthoriseChange {
		return // a repair is no act of the permit; and added work can always be dropped, as the words say
	}
	if len(p.Inside()) > 0 || p.Under() != 0 || n.Kind == KindLeavePost {
		return // they come out first; what the permit above waits for stands with that; and the fire watch stays its time
	}
	var why []string
	for _, s.By = range everybody {
		if !n.IsFor(s.By) {
			continue
		}
		no := Foresee(s, p, n.Kind, n.At)
		if CanNow(s, p, n) || no == nil || strings.Contains(n.What, no.What) {
			return
		}
		why = append(why, s.By.Name+": "+no.Error())
	}
	t.Fatalf("permit %d stands at %s and waits for %q (%s), which nobody can do: %s", id, p.State(), n.What, n.Kind,
		strings.Join(why, "; "))
}

// checkShip looks at the bare log of the ship: nobody whose locks were released signed anything but coming off the work
// before having been told, and nothing led on to work while a point of that permit leaked.
func checkShip(t *rapid.T, r *rig) {
	untold, leaks := map[PersonID]bool{}, map[isolation.NodeID]bool{}
	for _, e := range r.entries {
		if untold[e.By] && !e.Signed.IsZero() && e.Kind != KindSignOff && e.Kind != KindHearRelease {
			t.Fatalf("%s signed %q and was not told of released locks", e.By, e.Kind)
		}
		switch a := e.Act.(type) {
		case ReleaseOwner:
			untold[a.Owner] = true
		case HearRelease:
			delete(untold, e.By)
		case RecordPassing:
			leaks[a.Point] = true
		case RecordRepair:
			delete(leaks, a.Point)
		case Prove, Issue, Accept, SignOn:
			for _, l := range r.permits[e.Permit].Locks() {
				if l.Step.Isolates() && leaks[l.Step.Point] {
					t.Fatalf("%q of permit %d went through while %s leaked", e.Kind, e.Permit, l.Step.Point)
				}
			}
		}
	}
}
