package permits

import (
	"slices"
	"time"

	"pgregory.net/rapid"

	"stillwatch/isolation"
)

// checkInvariants looks at one permit before and after an act.
func checkInvariants(t *rapid.T, before, p Permit, a PermitAct) {
	// only a test run, and an order in an emergency, take some off and leave others on
	on, tested := 0, before.State() == Testing || p.State() == Testing
	for _, officer := range everybody {
		tested = tested || p.hasSigned(officer.ID, KindSanctionTest, KindOrderOpening)
	}
	for i, l := range p.Locks() {
		if l.IsOn() {
			if on != i && !tested {
				t.Fatalf("after %s lock %d hangs and one before it does not", a.Kind(), l.Step.N)
			}
			on++
		}
		if l.Fitted.By != "" && l.Fitted.By == l.Checked.By || l.Removed.By != "" && l.Removed.By == l.Seen.By {
			t.Fatalf("%s worked at lock %d and looked at it", l.Fitted.By, l.Step.N)
		}
	}
	if p.State().IsOver() && on > 0 {
		t.Fatalf("permit is %s with %d locks on", p.State(), on)
	}

	if p.State() == Live && p.Under() == 0 &&
		(p.Proved().IsZero() || p.Issued().IsZero() || p.Accepted().IsZero() || len(p.Unproved(time.Time{})) > 0) {
		t.Fatalf("live without proof: %v", p.Unproved(time.Time{}))
	}
	_, removing := a.(RemoveLock)
	_, lifting := a.(LiftLock)
	_, opening := a.(OpenAtOnce)
	if order, _ := before.Opening(); opening && on < before.LocksOn() && (order.IsZero() || len(p.SignedOn()) > 0) {
		t.Fatalf("a lock came off at once, ordered %v, with %d people at the work", order, len(p.SignedOn()))
	}
	if !removing && !lifting && !opening && on < before.LocksOn() {
		t.Fatalf("%s dropped a lock", a.Kind())
	}
	if was, _ := before.Testing(); lifting && on < before.LocksOn() && (was.Sanctioned.IsZero() || len(p.SignedOn()) > 0) {
		t.Fatalf("a lock came off for a test that is sanctioned %v with %d people at the work", was.Sanctioned,
			len(p.SignedOn()))
	}
	checkChanged(t, before, p, a)
	checkSpace(t, before, p, a)
	checkHands(t, before, p, a)
	checkOwners(t, before, p, a)
	if before.State().IsOver() && p.Entries() != before.Entries() {
		t.Fatalf("%s changed a permit that was %s", a.Kind(), before.State())
	}
}

// checkChanged wants nothing that hangs to come off, to move or to lose its record by added work; nobody to be at work
// then; and the plan to be another by the officer's signature alone.
func checkChanged(t *rapid.T, before, p Permit, a PermitAct) {
	_, authorises := a.(AuthoriseChange)
	if was, is := before.Plan().Number(), p.Plan().Number(); was != is && !(authorises && is == was+1) {
		t.Fatalf("%s brought plan %d in place of plan %d", a.Kind(), is, was)
	}
	if p.Plan().Number() == before.Plan().Number() {
		return
	}
	for i, was := range before.Locks() {
		l := p.Locks()[i]
		if !l.IsOn() || l.Step.Point != was.Step.Point || l.Step.Position != was.Step.Position || l.Tag != was.Tag ||
			l.Fitted != was.Fitted || l.Owner != was.Owner || l.Padlock != was.Padlock {
			t.Fatalf("%s took step %d (%s) off, moved it, or lost its record", a.Kind(), was.Step.N, was.Step.Point)
		}
	}
	if len(p.SignedOn()) > 0 || len(p.OwnLocks()) > 0 || !p.Proved().IsZero() {
		t.Fatalf("work was added with %d people at it, proved %v", len(p.SignedOn()), p.Proved())
	}
}

// checkSpace wants nobody inside who is not signed on, nobody to go in without an attendant and good air, nobody to be
// forgotten inside, and nothing to end while somebody is inside, stands by, or a detector is out of action.
func checkSpace(t *rapid.T, before, p Permit, a PermitAct) {
	for _, id := range p.Inside() {
		if !slices.Contains(p.SignedOn(), id) {
			t.Fatalf("after %s %s is inside and not signed on", a.Kind(), id)
		}
		if x, _ := p.AtPost(isolation.Attendant); x.By == id {
			t.Fatalf("after %s the attendant is inside", a.Kind())
		}
	}
	_, out := a.(ComeOut)
	if len(p.Inside()) < len(before.Inside()) && !out {
		t.Fatalf("%s made %d people inside forgotten", a.Kind(), len(before.Inside())-len(p.Inside()))
	}
	if len(p.Inside()) > len(before.Inside()) {
		if _, stands := before.AtPost(isolation.Attendant); !stands || before.State() != Live || len(p.Inside()) < 2 {
			t.Fatalf("somebody went in at %s, attended %t, %d inside", before.State(), stands, len(p.Inside()))
		}
		for _, x := range before.Air() {
			if !x.Finding.OK || x.Stale {
				t.Fatalf("somebody went in and the air, %s, was not found right", x.Level)
			}
		}
	}
	if p.State() != HandedBack && !p.State().IsOver() || p.State() == Cancelled && p.Accepted().IsZero() {
		return
	}
	for _, x := range p.Inhibited() {
		if x.Back.IsZero() {
			t.Fatalf("%s, and %s is inhibited", p.State(), x.What)
		}
	}
	for _, post := range p.Posts() {
		if x, stands := p.AtPost(post); stands {
			t.Fatalf("%s, and %s stands by", p.State(), x.By)
		}
	}
}

// checkHands wants a permit to pass from one officer to the next by two signatures and by nothing else, to nobody who
// ever fitted one of its locks, and nothing to lead on to work meanwhile.
func checkHands(t *rapid.T, before, p Permit, a PermitAct) {
	offer, offered := before.Offered()
	_, taken := a.(TakeWatch)
	if was, is := before.InHand(), p.InHand(); was != "" && was != is && !(taken && offered && offer.To == is) {
		t.Fatalf("%s brought the permit from the hands of %s into those of %s", a.Kind(), was, is)
	}
	if p.InHand() != "" && (p.hasFitted(p.InHand()) || p.InHand() == p.Requested().By) {
		t.Fatalf("%s answers for the isolation and worked at it", p.InHand())
	}
	if p.Entries() == before.Entries() {
		return
	}
	switch a.(type) {
	case Issue, Accept, SignOn, Resume, Extend:
		if offered {
			t.Fatalf("%s went through between two watches", a.Kind())
		}
	}
}

// checkOwners wants each lock that hangs to have an owner who authorised nothing, and to change owners by nothing but a
// new lock or a change of shift that was signed on both sides; and the person in charge likewise.
func checkOwners(t *rapid.T, before, p Permit, a PermitAct) {
	taken, taking := a.(TakeWork)
	for i, l := range p.Locks() {
		was := before.Locks()
		if !l.IsOn() || i >= len(was) || !was[i].IsOn() || was[i].Owner == l.Owner {
			continue
		}
		_, fitting := a.(FitLock)
		given := slices.ContainsFunc(before.Shifts(), func(x Shift) bool { return x.From == was[i].Owner && x.To == l.Owner })
		if !fitting && !(taking && given && taken.From == was[i].Owner) {
			t.Fatalf("%s made lock %d the lock of %s, which was of %s", a.Kind(), l.Step.N, l.Owner, was[i].Owner)
		}
	}
	for _, l := range p.Locks() {
		if l.IsOn() && (l.Owner == "" || p.hasSigned(l.Owner, authorising...)) {
			t.Fatalf("after %s lock %d is of %q, who answers for the isolation or is nobody", a.Kind(), l.Step.N, l.Owner)
		}
	}
	if p.State() == Live && p.hasSigned(p.Accepted().By, KindProve) {
		t.Fatalf("%s proved and is in charge of the work", p.Accepted().By)
	}
}

// checkWork looks at the bare log, without any of the permit's own fields: while a permit is live every lock hangs and
// was seen right, by another than who fitted it, since it was fitted and since the work was last stopped.
func checkWork(t *rapid.T, r *rig, id PermitID) {
	if r.permits[id].State() != Live || r.permits[id].Under() != 0 {
		return
	}
	fitted, seen, looked := map[int]PersonID{}, map[int]PersonID{}, map[int]PersonID{}
	for _, e := range r.entries {
		if e.Permit != id {
			continue
		}
		switch a := e.Act.(type) {
		case FitLock:
			l, _ := r.permits[id].LockByTag(a.Tag)
			fitted[l.Step.N] = e.By
			delete(seen, l.Step.N)
			delete(looked, l.Step.N)
		case CheckLock:
			seen[a.N] = e.By
		case Look:
			looked[a.N] = e.By
		case SignLooks:
			for _, n := range a.Steps {
				if looked[n] == e.By {
					seen[n] = e.By
				}
				delete(looked, n)
			}
		case RemoveLock:
			l, _ := r.permits[id].LockByTag(a.Tag)
			delete(fitted, l.Step.N)
		case LiftLock:
			l, _ := r.permits[id].LockByTag(a.Tag)
			delete(fitted, l.Step.N)
		case OpenAtOnce:
			l, _ := r.permits[id].LockByTag(a.Tag)
			delete(fitted, l.Step.N)
		case Suspend, EndTest, StopForEmergency, AskChange, AuthoriseChange:
			clear(seen)
			clear(looked)
		case FindWrong:
			delete(fitted, a.N)
			delete(seen, a.N)
			delete(looked, a.N)
		}
	}
	for _, l := range r.permits[id].Locks() {
		n := l.Step.N
		if fitted[n] == "" || seen[n] == "" || fitted[n] == seen[n] {
			t.Fatalf("permit %d is live: step %d was fitted by %q and seen by %q since the last stop", id, n, fitted[n], seen[n])
		}
	}
}

// checkTogether looks at all permits and at the bare log: where a lock hangs right its point stands as that lock holds
// it, whatever was done under other permits; who works under a permit without locks works under one that is live; who
// works where there is a group box has a lock of their own on it, each another; and in an emergency nobody works.
func checkTogether(t *rapid.T, r *rig) {
	stands := map[isolation.NodeID]isolation.Position{}
	for _, e := range r.entries {
		p := r.permits[e.Permit]
		switch a := e.Act.(type) {
		case FitLock:
			l, _ := p.LockByTag(a.Tag)
			stands[l.Step.Point] = a.Position
		case RemoveLock:
			l, _ := p.LockByTag(a.Tag)
			stands[l.Step.Point] = a.Position
		case LiftLock:
			l, _ := p.LockByTag(a.Tag)
			stands[l.Step.Point] = a.Position
		case OpenAtOnce:
			l, _ := p.LockByTag(a.Tag)
			stands[l.Step.Point] = a.Position
		}
	}
	own, s := map[Padlock]bool{}, r.setting(vera, Suspend{})
	for id, p := range r.permits {
		for _, l := range p.Locks() {
			if l.IsOn() && stands[l.Step.Point] != l.Step.Position {
				t.Fatalf("permit %d has its lock on %s, held %s, and it was left %s", id, l.Step.Point, l.Step.Position,
					stands[l.Step.Point])
			}
		}
		for _, a := range p.OwnLocks() {
			if own[a.Padlock] || p.Has(KindRemoveLock) || p.State() == Testing || p.State().IsOver() {
				t.Fatalf("lock %s of %s hangs on the box of permit %d, which is %s, or hangs twice", a.Padlock, a.Person, id,
					p.State())
			}
			own[a.Padlock] = true
		}
		checkParent(t, r, s, p)
	}
	checkPlaces(t, r)
}

// checkPlaces wants nobody inside two spaces, at two posts, or at a post and at work.
func checkPlaces(t *rapid.T, r *rig) {
	inside, stands, works := map[PersonID]PermitID{}, map[PersonID]PermitID{}, map[PersonID]PermitID{}
	once := func(at map[PersonID]PermitID, who PersonID, id PermitID, what string) {
		if other, twice := at[who]; twice {
			t.Fatalf("%s %s on permit %d and on permit %d", who, what, other, id)
		}
		at[who] = id
	}
	for id, p := range r.permits {
		for _, who := range p.Inside() {
			once(inside, who, id, "is inside")
		}
		for _, x := range p.Stood() {
			if x.Until.IsZero() {
				once(stands, x.By, id, "stands by")
			}
		}
		for _, who := range p.SignedOn() {
			works[who] = id
		}
	}
	for who, id := range stands {
		if at, both := works[who]; both {
			t.Fatalf("%s stands by on permit %d and works on permit %d", who, id, at)
		}
	}
}

// checkLifted wants each point whose lock came off, for a test or on the way back, to be locked again or seen by
// somebody else before the permit ends. It looks at the bare log.
func checkLifted(t *rapid.T, r *rig, id PermitID) {
	off, looked := map[TagDigest]PersonID{}, map[TagDigest]PersonID{}
	for _, e := range r.entries {
		if e.Permit != id {
			continue
		}
		tag := func(n int) TagDigest { l, _ := r.permits[id].Lock(n); return l.Tag }
		switch a := e.Act.(type) {
		case LiftLock:
			off[a.Tag] = e.By
		case RemoveLock:
			off[a.Tag] = e.By
		case OpenAtOnce:
			off[a.Tag] = e.By
		case FitLock:
			delete(off, a.Tag)
		case Look:
			looked[tag(a.N)] = e.By
		case CheckRestored:
			if by := off[tag(a.N)]; by != e.By && a.Wrong == "" {
				delete(off, tag(a.N))
			}
		case SignLooks:
			for _, n := range a.Steps {
				if by := off[tag(n)]; looked[tag(n)] == e.By && by != e.By {
					delete(off, tag(n))
				}
			}
		}
		if e.To.IsOver() && len(off) > 0 {
			t.Fatalf("permit %d ended and nobody else saw what came off: %v", id, off)
		}
	}
}

// checkParent looks at what a permit's state asks of the one it works under, of the group box and of an emergency.
func checkParent(t *rapid.T, r *rig, s Setting, p Permit) {
	if p.State() == Live && !r.ship.Emergency.IsZero() {
		t.Fatalf("permit %d is live in an emergency", p.ID())
	}
	if p.State() == Live && p.Box(s) != "" {
		for _, who := range p.SignedOn() {
			if _, hangs := p.ownLockOf(who); !hangs {
				t.Fatalf("%s works under permit %d and has no lock on the group box", who, p.ID())
			}
		}
	}
	if p.Under() == 0 {
		return
	}
	of := r.permits[p.Under()]
	switch of.State() {
	case Live:
	case HandedBack, Restoring, Testing, Closed, Cancelled:
		if p.isBusy() {
			t.Fatalf("permit %d is %s and permit %d is at work under its locks", of.ID(), of.State(), p.ID())
		}
	default:
		if p.State() == Live {
			t.Fatalf("permit %d is live under permit %d, which is %s", p.ID(), of.ID(), of.State())
		}
	}
}

// checkHistory looks at the whole log of a permit: nobody stood on both sides, locks came off in reverse, what went out
// was counted in, and the log makes the same permit again.
func checkHistory(t *rapid.T, r *rig, id PermitID) {
	var stack []TagDigest
	var own []Entry
	var prover, issuer PersonID
	var asked PersonID
	told, back := false, map[int]bool{} // people told; what was done between the locks
	valves, desk := map[PersonID]bool{}, map[PersonID]bool{}
	out, owed := 0, false
	for _, e := range r.entries {
		if e.Permit != id {
			continue
		}
		own = append(own, e)
		switch a := e.Act.(type) {
		case AskChange:
			asked = e.By
		case Authorise, Extend, Countersign, Resume, AnswerUnproved, Issue, SanctionTest, AuthoriseChange:
			desk[e.By] = true
			if e.Kind == KindAuthoriseChange && e.By == asked {
				t.Fatalf("%s asked for added work and authorised it", e.By)
			}
			if e.Kind == KindIssue {
				issuer = e.By
			}
		case Prove:
			prover, issuer = e.By, ""
		case FitLock:
			valves[e.By] = true
			if !slices.Contains(stack, a.Tag) {
				stack = append(stack, a.Tag)
				slices.SortFunc(stack, func(a, b TagDigest) int { // what was off for a test goes back to its place
					x, _ := r.permits[id].LockByTag(a)
					y, _ := r.permits[id].LockByTag(b)
					return x.Step.N - y.Step.N
				})
			}
		case RemoveLock:
			valves[e.By] = true
			if len(stack) == 0 || stack[len(stack)-1] != a.Tag {
				t.Fatalf("%s came off out of turn", a.Tag)
			}
			stack = stack[:len(stack)-1]
			l, _ := r.permits[id].LockByTag(a.Tag)
			for _, add := range r.permits[id].Added() {
				if add.Before >= l.Step.N && !back[add.N] {
					t.Fatalf("lock %d came off before %q", l.Step.N, add.Do)
				}
			}
			if l.Step.Phase == isolation.PhaseIsolate && !told { // a blank comes off behind points that still hang
				t.Fatalf("lock %d let energy back and nobody was told", l.Step.N)
			}
		case LiftLock:
			valves[e.By] = true
			stack = slices.DeleteFunc(stack, func(tag TagDigest) bool { return tag == a.Tag })
		case OpenAtOnce:
			stack = slices.DeleteFunc(stack, func(tag TagDigest) bool { return tag == a.Tag })
		case AskTest:
			out, owed = 0, owed && !(a.ToolsBack == out && a.Closed)
		case RestoreStep:
			back[a.N] = true
			told = told || r.permits[id].added[a.N-1].Kind == isolation.RestoreTell
		case LeaveOut:
			back[a.N] = true
		case Accept:
			if r.permits[id].Under() == 0 && (prover == "" ||
				issuer == "" || prover == e.By || issuer == e.By || prover == issuer) {
				t.Fatalf("proved by %q, issued by %q, accepted by %q: want three people", prover, issuer, e.By)
			}
			if a.ToolsOut < out {
				t.Fatalf("an acceptance of %d tools made %d forgotten", a.ToolsOut, out)
			}
			out, owed = a.ToolsOut, true
		case HandBack:
			owed = owed && !(a.ToolsBack == out && a.GuardsBack)
		case Cancel:
			owed = owed && !(a.ToolsBack == out && a.GuardsBack)
		}
		if e.To.IsOver() && owed {
			t.Fatalf("permit %d ended and %d tools, or the guards, were never counted in", id, out)
		}
	}
	for who := range desk {
		if valves[who] {
			t.Fatalf("%s answered for the isolation and worked at its locks", who)
		}
	}
	if got, want := Fold(own), r.permits[id]; got.State() != want.State() || got.LocksOn() != want.LocksOn() {
		t.Fatalf("the log folds to %s with %d on, want %s with %d", got.State(), got.LocksOn(), want.State(), want.LocksOn())
	}
}
