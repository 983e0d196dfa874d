package permits

import (
	"maps"
	"reflect"
	"slices"

	"pgregory.net/rapid"

	"stillwatch/isolation"
	"stillwatch/isolation/proof"
	"stillwatch/isolation/proved"
)

// beginFar walks one more permit far on: to a test, to work with another permit under it, into an emergency, or back.
func beginFar(t *rapid.T, r *rig, plan proof.Proved) {
	if !reflect.DeepEqual(plan.Plan(), r.plan().Plan()) {
		beginGrown(t, r, plan)
		return
	}
	switch rapid.IntRange(0, 4).Draw(t, "one begins far on") {
	case 1:
		if id := r.untilTesting(); rapid.Bool().Draw(t, "its locks are off") {
			r.lift(id)
		}
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

// beginGrown walks a permit to where work is asked for, authorised or added.
func beginGrown(t *rapid.T, r *rig, plan proof.Proved) {
	far := rapid.IntRange(0, 3).Draw(t, "one grows")
	if far == 0 {
		return
	}
	id := r.begin(plan)
	r.workAnew(id)
	r.must(id, ines, r.grown(t, r.permits[id]))
	if far > 1 {
		r.must(id, olga, r.authorises(id))
	}
	if far > 2 {
		r.workAnew(id)
	}
}

// grown is the wish to add something that is not added yet; one without a plan where there is none.
func (r *rig) grown(t *rapid.T, p Permit) AskChange {
	a := withFilter
	if rapid.Bool().Draw(t, "a point") {
		a = isolation.Added{Points: []isolation.NodeID{"V4"}}
	}
	plan, err := proved.Change(r.plant, r.rules, p.Plan(), a, isolation.Circumstances{})
	if err != nil {
		return AskChange{Words: "more work"}
	}
	return AskChange{Plan: plan.Proved, Words: "more work"}
}

// befall declares an emergency now and then and ends it when it can be, requests permits under others, records points
// as leaking and as repaired, and has owners told of what was released.
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
	case n < 80 && len(untold(r)) > 0:
		kind, err = KindHearRelease, r.tryAboard(personOf(untold(r)[0]), HearRelease{})
	case n < 100 && len(r.ship.Passing) > 0:
		point := slices.Sorted(maps.Keys(r.ship.Passing))[0]
		kind, err = KindRecordRepair, r.tryAboard(chief, RecordRepair{Point: point, Words: "new seat, tested tight"})
	case n == 113:
		locks := r.permits[1].Locks()
		point := locks[rapid.IntRange(0, len(locks)-1).Draw(t, "leaks")].Step.Point
		kind, err = KindRecordPassing, r.tryAboard(tomas, RecordPassing{Point: point, Words: "drips at the drain"})
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
	case turn == 0 && r.plant.Job("P1-filter") != nil && p.Plan().Number() < 3 && p.Under() == 0:
		a, err := proved.Change(r.plant, r.rules, p.Plan(), withFilter, isolation.Circumstances{})
		if err != nil {
			a, _ = proved.Change(r.plant, r.rules, p.Plan(), isolation.Added{Points: []isolation.NodeID{"V4"}},
				isolation.Circumstances{})
		}
		return AskChange{Plan: a.Proved, Words: "more work"}
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

// beginInside walks an entry with hot work on to the work, or to where two are inside. Time goes slowly there, for the
// test of the air holds for half an hour.
func beginInside(t *rapid.T, r *rig) {
	switch rapid.IntRange(0, 2).Draw(t, "an entry begins far on") {
	case 0:
		r.peopleIn()
	case 1:
		r.untilSpaceLive("T1-coat")
	}
}

// untold are those who have not been told that their locks were released.
func untold(r *rig) (out []PersonID) {
	for _, who := range slices.Sorted(maps.Keys(r.ship.Untold)) {
		if len(r.ship.Untold[who]) > 0 {
			out = append(out, who)
		}
	}
	return out
}

// nextChange hands a permit from one officer to the other now and then, and locks from one technician to another; what
// was offered is mostly taken.
func nextChange(r *rig, p Permit) PermitAct {
	turn := (5*p.Entries() + len(r.entries)) % 40
	if _, offered := p.Offered(); offered && turn%2 == 0 {
		return TakeWatch{}
	}
	for _, x := range p.Shifts() {
		if turn%2 == 1 {
			return TakeWork{From: x.From, Locks: p.OwnedBy(x.From), Tools: p.ToolsOut()}
		}
	}
	switch {
	case turn == 8 && p.InHand() == otto.ID:
		return OfferWatch{To: olga.ID}
	case turn == 8 && p.InHand() == olga.ID:
		return OfferWatch{To: otto.ID}
	case turn == 9 && p.OwnedBy(tomas.ID) > 0:
		return OfferWork{To: ines.ID}
	}
	return nil
}

// nextLook has a second person look at what hangs: lock by lock with a signature each, or one signature for several.
func nextLook(r *rig, p Permit) PermitAct {
	list := p.Unchecked()
	if len(list) == 0 {
		return nil
	}
	switch turn := len(r.entries) % 4; {
	case turn == 0:
		return Look{N: list[0].Step.N}
	case turn == 1 && len(p.LooksOf(karim.ID)) > 0:
		return signsLooks(p, karim.ID)
	}
	return CheckLock{N: list[0].Step.N}
}
