package permits

import (
	"pgregory.net/rapid"
)

// beginFar walks one more permit far on: to a test, to work with another permit under it, into an emergency, or back.
func beginFar(t *rapid.T, r *rig) {
	switch rapid.IntRange(0, 4).Draw(t, "one begins far on") {
	case 1:
		r.untilTesting()
	case 2:
		parent, sub := r.untilUnder()
		r.must(sub, tomas, Accept{ToolsOut: 2})
		r.must(sub, karim, SignOn{Lock: "K1"})
		r.must(parent, tomas, SignOn{Lock: "T1"})
	case 3:
		id := r.untilLive()
		r.must(id, tomas, SignOff{})
		r.must(id, ines, r.boxes(id))
		r.must(id, tomas, SignOn{Lock: "T2"})
		r.aboard(olga, fire)
		r.must(id, olga, CountOut{Person: tomas.ID, Where: "station 2"})
		r.must(id, tomas, TakeOwnLock{Person: tomas.ID})
		r.must(id, olga, OrderOpening{Steps: []int{1, 2}, By: ines.ID, Seen: karim.ID, Words: "fire pump"})
		l, _ := r.permits[id].NextOpening()
		r.must(id, ines, OpenAtOnce{Tag: l.Tag, Position: l.Step.Clearance})
	case 4:
		r.untilHandedBack()
	}
}

// befall declares an emergency now and then and ends it when it can be; and requests permits under others.
func befall(t *rapid.T, r *rig, seen map[Kind]bool) {
	var err error
	var kind Kind
	switch n := rapid.IntRange(0, 199).Draw(t, "befalls"); {
	case n == 137 && r.ship.Emergency.IsZero(): // rapid draws the ends of a range far more often
		kind, err = KindDeclareEmergency, r.tryAboard(olga, fire)
	case n < 50 && !r.ship.Emergency.IsZero():
		kind, err = KindEndEmergency, r.tryAboard(otto, EndEmergency{Words: "fire out"})
	case n > 170 && len(r.permits) < 5:
		parent := r.permits[PermitID(rapid.IntRange(1, len(r.permits)).Draw(t, "parent"))]
		if parent.State() != Live && n < 199 {
			return
		}
		kind, err = KindRequest, r.try(0, tomas, parent.RequestUnder("another trade"))
	default:
		return
	}
	seen[kind] = seen[kind] || err == nil
}

// nextAtWork signs on or off, with a lock of one's own where there is a group box; puts the keys into one; and when
// nobody is at work asks for a test or hands back.
func nextAtWork(r *rig, p Permit) PermitAct {
	on, box := p.SignedOn(), p.Box(r.setting(tomas, SignOn{}))
	switch turn := (3*p.Entries() + len(r.entries)) % 6; {
	case len(on) > 0 && turn > 0:
		_, own := p.ownLockOf(on[0])
		return SignOff{LockOff: own}
	case turn == 1 && len(p.Posts()) == 0:
		return r.asks(p.ID())
	case turn < 2:
		return HandBack{ToolsBack: p.ToolsOut(), GuardsBack: true}
	case turn < 4 && p.Under() == 0 && box == "":
		return r.boxes(p.ID())
	case box != "":
		return SignOn{Lock: Padlock("own-" + itoa(int(p.ID())) + "-" + itoa(p.Entries()))}
	}
	return SignOn{}
}

// nextInFire opens a lock at once, or accounts for all when the emergency is over.
func nextInFire(r *rig, p Permit) PermitAct {
	if l, ordered := p.NextOpening(); ordered {
		left, _ := p.LeaveAt(r.setting(tomas, OpenAtOnce{}).Held, l)
		return OpenAtOnce{Tag: l.Tag, Position: left}
	}
	if l, on := p.NextRemove(); on && !r.ship.Emergency.IsZero() {
		return OrderOpening{Steps: []int{1 + l.Step.N/2}, By: ines.ID, Seen: karim.ID, Words: "fire pump"}
	}
	n := 0
	for _, l := range p.Locks() {
		if l.IsOn() && l.Wrong == "" {
			n++
		}
	}
	return Account{Hang: n, Words: "everything was counted by two"}
}
