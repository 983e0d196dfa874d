package permits

import (
	"slices"
	"strings"
	"testing"
)

// refusesAboard checks that an act on the whole ship is refused by a gate, and returns its words.
func (r *rig) refusesAboard(who Person, a ShipAct, gate string) string {
	r.tb.Helper()
	err := r.tryAboard(who, a)
	no := asRefusalOrNil(err)
	if no == nil || no.Gate != gate {
		r.tb.Fatalf("%s by %s = %v, want a refusal by gate %q", a.Kind(), who, err, gate)
	}
	return no.What
}

func asRefusalOrNil(err error) *Refusal {
	no, _ := err.(*Refusal)
	return no
}

var fire = DeclareEmergency{Words: "fire in the purifier room"}

// TestEmergencyStopsAllWorkAndCountsPeopleOut declares a fire with two permits at work and one on its way back: all
// stops, people are counted by name, and nothing goes on or ends before it is over and the locks are counted.
func TestEmergencyStopsAllWorkAndCountsPeopleOut(t *testing.T) {
	r := newRig(t)
	back := r.untilHandedBack()
	one, two := r.untilLive(), r.untilLive()
	r.refusesAboard(tomas, fire, "declare emergency")
	r.refusesAboard(olga, DeclareEmergency{}, "form")
	r.aboard(olga, fire)
	r.refusesAboard(olga, fire, "emergency")
	for _, id := range []PermitID{one, two} {
		p := r.permits[id]
		if by, why := p.Suspended(); p.State() != Suspended || by.By != olga.ID || !strings.Contains(why, "fire") {
			t.Errorf("permit %d stands at %s (%s), want it stopped for the fire", id, p.State(), why)
		}
	}
	if got := r.permits[back].State(); got != HandedBack {
		t.Errorf("permit %d stands at %s, want it where it was", back, got)
	}
	end := EndEmergency{Words: "fire out, space cooled and vented"}
	if said := r.refusesAboard(olga, end, "emergency"); !strings.Contains(said, "Tomas (permit 2), Tomas (permit 3)") {
		t.Errorf("it cannot end because %q, want who is not out by name", said)
	}
	r.must(one, tomas, SignOff{})
	r.refuses(two, tomas, CountOut{Person: tomas.ID, Where: "station 2"}, "count out")
	r.refuses(two, olga, CountOut{Person: ines.ID, Where: "station 2"}, "count out")
	r.must(two, olga, CountOut{Person: tomas.ID, Where: "station 2"})
	r.refuses(one, olga, Resume{}, "resume")
	r.refuses(one, ines, HandBack{ToolsBack: 12, GuardsBack: true}, "hand back")
	r.refuses(back, tomas, r.remove(back), "remove lock")
	r.refuses(0, tomas, Request{Plan: r.plan(), Work: "Shaft seal"}, "request")
	r.refuses(one, olga, Account{Hang: len(r.permits[one].Locks()), Words: "nothing was moved"}, "emergency")
	r.aboard(olga, end)

	r.refuses(one, olga, Resume{}, "resume")
	r.refuses(back, tomas, r.remove(back), "remove lock")
	if got := r.setting(olga, end).Unaccounted(); !slices.Equal(got, []PermitID{1, 2, 3}) {
		t.Errorf("not accounted for are %v, want all three", got)
	}
	all := len(r.permits[one].Locks())
	r.refuses(one, olga, Account{Hang: all - 1, Words: "nothing was moved"}, "emergency")
	r.must(one, karim, FindWrong{N: 2, Words: "opened by the fire party"})
	r.refuses(one, olga, Account{Hang: all, Words: "nothing was moved"}, "emergency")
	r.must(one, olga, Account{Hang: all - 1, Words: "V1 opened by the fire party, Karim looked"})
	r.must(one, olga, Resume{})
	r.refuses(one, olga, Resume{Short: true, Near: true, Untouched: true}, "resume")
	r.must(back, chief, Account{Hang: len(r.permits[back].Locks()), Words: "nothing was moved there"})
	r.between(back)
	r.must(back, tomas, r.remove(back))
}

// TestOrderedLocksComeOffAtOnceAndAreSeenAfter orders two locks off in the middle of the order: who is named takes them
// off and no other; afterwards they go on again, or a second person sees each.
func TestOrderedLocksComeOffAtOnceAndAreSeenAfter(t *testing.T) {
	r := newRig(t)
	id := r.untilLive()
	order := OrderOpening{Steps: []int{1}, By: ines.ID, Seen: karim.ID, Words: "the emergency fire pump"}
	r.refuses(id, olga, order, "open at once")
	r.aboard(olga, fire)
	r.refuses(id, olga, order, "open at once") // Tomas is not out
	r.must(id, olga, CountOut{Person: tomas.ID, Where: "station 2"})
	r.refuses(id, chief, order, "open at once")
	for _, bad := range []OrderOpening{{By: ines.ID, Seen: karim.ID, Words: "pump"},
		{Steps: []int{1, 1}, By: ines.ID, Seen: karim.ID, Words: "pump"},
		{Steps: []int{99}, By: ines.ID, Seen: karim.ID, Words: "pump"},
		{Steps: []int{1}, By: vera.ID, Seen: karim.ID, Words: "pump"},
		{Steps: []int{1}, By: ines.ID, Seen: ines.ID, Words: "pump"},
		{Steps: []int{1}, By: ines.ID, Seen: karim.ID}} {
		r.refuses(id, olga, bad, "form")
	}
	l, _ := r.permits[id].Lock(1)
	open := OpenAtOnce{Tag: l.Tag, Position: l.Step.Clearance}
	r.refuses(id, ines, open, "open at once")
	r.must(id, olga, order)
	r.refuses(id, tomas, open, "open at once")
	other, _ := r.permits[id].Lock(2)
	r.refuses(id, ines, OpenAtOnce{Tag: other.Tag, Position: other.Step.Clearance}, "open at once")
	r.refuses(id, ines, OpenAtOnce{Tag: l.Tag, Position: l.Step.Position}, "open at once")
	s := r.setting(ines, open)
	if u := UseOfTag(s, r.permits[id], 1); u.Use != UseOpen || u.No != nil || u.Leave != l.Step.Clearance {
		t.Errorf("the tag offers %q (%v), left %q, want it to come off at once", u.Use, u.No, u.Leave)
	}
	if walk := Walk(s, r.permits[id]); len(walk) != 1 || walk[0].Use != UseOpen {
		t.Errorf("the walk is %+v, want the one lock that is ordered off", walk)
	}
	r.must(id, ines, open)
	r.refuses(id, ines, open, "open at once")
	r.aboard(olga, EndEmergency{Words: "fire out"})
	n := len(r.permits[id].Locks())
	r.refuses(id, olga, Account{Hang: n, Words: "nothing was moved"}, "emergency")
	r.must(id, olga, Account{Hang: n - 1, Words: "lock 1 off for the pump"})

	again := r.permits[id]
	r.must(id, olga, Resume{})
	if next, ok := r.permits[id].NextFit(); !ok || next.Step.N != 1 {
		t.Errorf("after the emergency step %d is fitted next, want the one that came off", next.Step.N)
	}
	r.must(id, tomas, r.fit(id))
	r.check(id)
	r.record(id)
	r.must(id, tomas, Prove{})

	r.permits[id] = again // the same, cancelled: the point is seen by a second person
	r.must(id, olga, Cancel{Words: "not needed", ToolsBack: 12, GuardsBack: true})
	for _, on := r.permits[id].NextRemove(); on; _, on = r.permits[id].NextRemove() {
		r.between(id)
		r.must(id, tomas, r.remove(id))
	}
	if unseen := r.permits[id].Unseen(); len(unseen) != n {
		t.Errorf("%d of %d points are to be seen by a second person, want that which was opened at once too", len(unseen), n)
	}
}

// TestPointOpenedAtOnceStaysShutForAnotherPermit has two permits on the point.
func TestPointOpenedAtOnceStaysShutForAnotherPermit(t *testing.T) {
	r := newRig(t)
	one, two := r.untilLive(), r.untilLive()
	r.aboard(olga, fire)
	for _, id := range []PermitID{one, two} {
		r.must(id, olga, CountOut{Person: tomas.ID, Where: "station 2"})
	}
	for _, id := range []PermitID{one, two} {
		r.must(id, olga, OrderOpening{Steps: []int{1}, By: ines.ID, Seen: karim.ID, Words: "fire pump"})
		l, _ := r.permits[id].Lock(1)
		if id == one {
			r.refuses(id, ines, OpenAtOnce{Tag: l.Tag, Position: l.Step.Clearance}, "open at once")
			r.must(id, ines, OpenAtOnce{Tag: l.Tag, Position: l.Step.Position})
			continue
		}
		r.must(id, ines, OpenAtOnce{Tag: l.Tag, Position: l.Step.Clearance})
	}
}
