package permits

import (
	"errors"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"stillwatch/isolation"
)

// The crew of the random histories: two people share each role, and two have roles on both sides.
var (
	otto    = Person{ID: "otto", Name: "Otto", Roles: []Role{Officer}}
	second  = Person{ID: "second", Name: "Second", Roles: []Role{ChiefEngineer}}
	both    = Person{ID: "both", Name: "Both", Roles: []Role{Officer, Technician}}
	fitCrew = Person{ID: "ola", Name: "Ola", Roles: []Role{Crew, Technician}}
)

var everybody = []Person{olga, otto, tomas, ines, karim, chief, vera, both, fitCrew, second}

// TestNoHistoryBreaksTheRules lets many people do random things, right and wrong, to three permits of one machine, by a
// clock that is moved to and fro, and looks after each act at what must never be.
func TestNoHistoryBreaksTheRules(t *testing.T) {
	seen := map[State]int{}
	rapid.Check(t, func(t *rapid.T) {
		r := newRig(t)
		for _, p := range everybody {
			r.ship.People[p.ID] = p
		}
		permits := PermitID(rapid.IntRange(1, 3).Draw(t, "permits"))
		plan := r.plan()
		if rapid.Bool().Draw(t, "energies that stay, and a part that keeps its current") {
			plan = r.rich()
		}
		for range permits {
			r.must(0, tomas, Request{Plan: plan, Work: "Shaft seal"})
		}
		for range rapid.IntRange(40, 160).Draw(t, "acts") {
			id := PermitID(rapid.IntRange(1, int(permits)).Draw(t, "permit"))
			moveClock(t, r)
			before := r.permits[id]
			a := drawAct(t, r, id)
			who := drawPerson(t, r.permits[id], a)
			entries := len(r.entries)
			err := r.try(id, who, a)
			var no *Refusal
			if err != nil && !errors.As(err, &no) {
				t.Fatalf("%s = %v, want a refusal or nothing", a.Kind(), err)
			}
			if err != nil && (no.What == "" || no.Gate == "") {
				t.Fatalf("%s was refused without a word: %+v", a.Kind(), no)
			}
			if len(r.entries) > entries && slices.Contains(onward, a.Kind()) && r.behind > clockBehind {
				t.Fatalf("%s went through by a clock that was %s behind", a.Kind(), r.behind)
			}
			checkInvariants(t, before, r.permits[id], a)
			checkWork(t, r, id)
			seen[r.permits[id].State()]++
		}
		for id := range r.permits {
			checkHistory(t, r, id)
		}
	})
	for _, s := range States() {
		if seen[s] == 0 {
			t.Errorf("no random history reached %s: the test looks at too little", s)
		}
	}
}

// moveClock puts the server's clock back now and then, and right again.
func moveClock(t *rapid.T, r *rig) {
	switch rapid.IntRange(0, 39).Draw(t, "clock") {
	case 0:
		r.behind = time.Duration(rapid.IntRange(1, 600).Draw(t, "minutes behind")) * time.Minute
	case 1, 2, 3, 4:
		r.behind = 0
	case 5, 6:
		if err := r.putClockRight(chief); (err == nil) != (r.behind == 0) && err == nil {
			t.Fatalf("the clock was put right and stands %s behind", r.behind)
		}
	}
}

// drawPerson draws mostly somebody who may do the act, and often somebody who may not.
func drawPerson(t *rapid.T, p Permit, a PermitAct) Person {
	if rapid.IntRange(0, 9).Draw(t, "right or wrong person") < 3 {
		return rapid.SampledFrom(everybody).Draw(t, "who")
	}
	switch a := a.(type) {
	case Extend, Resume, Issue, OfferWatch:
		if id := p.InHand(); id != "" {
			return personOf(id)
		}
	case TakeWatch:
		if o, ok := p.Offered(); ok {
			return personOf(o.To)
		}
	case Authorise, Cancel:
		return rapid.SampledFrom([]Person{olga, otto}).Draw(t, "officer")
	case CheckLock, CheckRestored, Look, SignLooks:
		return karim
	case SignOff:
		if on := p.SignedOn(); len(on) > 0 {
			return personOf(on[0])
		}
	case Accept:
		return ines
	case HandBack:
		if by := p.Accepted().By; by != "" {
			return personOf(by)
		}
	case AcceptDeviation, AnswerUnproved, ReleaseOwner, LeaveOut, Close:
		return chief
	case TakeWork:
		for _, x := range p.Shifts() {
			return personOf(x.To)
		}
	case RemoveLock:
		if l, ok := p.LockByTag(a.Tag); ok {
			return personOf(l.Owner)
		}
	}
	return tomas
}

func personOf(id PersonID) Person {
	return everybody[max(0, slices.IndexFunc(everybody, func(p Person) bool { return p.ID == id }))]
}

// drawAct draws mostly the act that comes next, so that histories get far, and often a wrong one.
func drawAct(t *rapid.T, r *rig, id PermitID) PermitAct {
	p := r.permits[id]
	if rapid.IntRange(0, 9).Draw(t, "right or wrong") < 8 {
		if a := nextAct(r, p); a != nil {
			return a
		}
	}
	return anyAct(t, r, p)
}

func nextAct(r *rig, p Permit) PermitAct {
	if len(p.SignedOn()) > 0 && p.State() != Live {
		return SignOff{}
	}
	switch p.State() {
	case Draft:
		return Authorise{Hours: 24, Tags: r.tags(p.ID()), Unproved: true}
	case Authorised, Isolating:
		if p.State() == Authorised && p.NeedsAnswer() {
			return AnswerUnproved{}
		}
		for _, c := range p.FirstReadings(r.at) {
			return RecordStored{Check: c.Check.ID, Value: c.Check.Limit, Words: "read twice"}
		}
		if _, ok := p.NextFit(); ok {
			return r.fit(p.ID())
		}
		for _, l := range p.Unchecked() {
			return CheckLock{N: l.Step.N}
		}
	case Proving:
		return nextProof(p)
	case Live:
		if len(p.SignedOn()) == 0 && p.Entries()%5 == 0 {
			return r.asks(p.ID())
		}
		if p.Entries()%3 == 0 || len(p.SignedOn()) == 0 && p.Entries()%2 == 0 {
			return HandBack{ToolsBack: p.ToolsOut(), GuardsBack: true}
		}
		if len(p.SignedOn()) > 0 {
			return SignOff{}
		}
		return SignOn{}
	case Suspended:
		return Resume{}
	case Testing:
		return nextOfTest(p)
	case HandedBack, Restoring:
		added, due, _ := p.NextAdded()
		if due && (added.Before > 0 || len(p.Unseen()) == 0) {
			return RestoreStep{N: added.N}
		}
		if _, ok := p.NextRemove(); ok {
			return r.remove(p.ID())
		}
		for _, l := range p.Unseen() {
			return CheckRestored{N: l.Step.N}
		}
		return Close{Positions: true, Told: true}
	}
	return nil
}

// nextOfTest goes on with a test run.
func nextOfTest(p Permit) PermitAct {
	test, _ := p.Testing()
	l, more := p.NextLift()
	switch {
	case test.Sanctioned.IsZero():
		return SanctionTest{}
	case more:
		return LiftLock{Tag: l.Tag, Position: l.Step.Clearance}
	case test.Recorded.IsZero():
		return RecordTest{Words: "it runs the right way"}
	}
	return EndTest{Stopped: true}
}

func nextProof(p Permit) PermitAct {
	for _, d := range p.Drains() {
		if !d.Finding.OK || d.Stale {
			return drained(d.Section)
		}
	}
	for _, c := range p.Stored() {
		if openStored(c, time.Time{}) != "" {
			return RecordStored{Check: c.Check.ID, Value: c.Check.Limit, Words: "read twice"}
		}
	}
	for _, d := range p.Dead() {
		if !d.OK {
			return RecordDead{Test: d.Test.ID, ProvedBefore: true, Dead: true, ProvedAfter: true, Words: "tested again"}
		}
	}
	switch {
	case !p.Start().OK:
		return RecordStart{Still: true, ControlsOff: true}
	case p.Proved().IsZero():
		return Prove{}
	case p.Issued().IsZero():
		return Issue{}
	}
	return Accept{ToolsOut: max(3, p.ToolsOut())}
}

func anyAct(t *rapid.T, r *rig, p Permit) PermitAct {
	n := rapid.IntRange(0, len(p.Locks())+1).Draw(t, "n")
	l, _ := p.Lock(n)
	yes := rapid.Bool().Draw(t, "yes")
	position := rapid.SampledFrom([]isolation.Position{isolation.Open, isolation.Closed}).Draw(t, "position")
	wrong := ""
	if !yes {
		wrong = "stands in the wrong position"
	}
	section := ""
	if d := p.Drains(); len(d) > 0 {
		section = d[0].Section.ID
	}
	return rapid.SampledFrom([]PermitAct{
		Authorise{Hours: 24, Tags: r.tags(p.ID()), Unproved: yes}, Extend{Hours: 24}, Extend{Hours: 1e-6}, Prove{},
		Issue{}, AnswerUnproved{}, Accept{}, SignOn{},
		SignOff{}, FitLock{Tag: l.Tag, Position: position, Padlock: "X1"}, r.fit(p.ID()), CheckLock{N: n}, CheckLock{N: n},
		Look{N: n}, Look{N: n}, Look{N: n}, signsLooks(p, karim.ID), signsLooks(p, karim.ID), signsLooks(p, tomas.ID),
		FindWrong{N: n, Words: "gone"}, RemoveLock{Tag: l.Tag, Position: position},
		HandBack{ToolsBack: 3, GuardsBack: yes}, CheckRestored{N: n, Wrong: wrong}, Close{Positions: true, Told: yes},
		Cancel{Words: "not needed any more"}, Cancel{Words: "not needed", ToolsBack: 3, GuardsBack: yes},
		Request{Plan: p.plan, Work: "again"}, RecordStart{Still: yes, ControlsOff: true},
		RecordDrain{Section: section, Reading: isolation.DrainReading{OutL: 1, HoldS: 600, HoldInL: 3}, Words: "tried again"},
		Suspend{Words: "general alarm"}, Resume{}, RestoreStep{N: n}, RestoreStep{N: n},
		LeaveOut{N: n, Words: "nothing was opened at all"},
		ReleaseOwner{Owner: "tomas", Verified: true, Tried: true, WillTell: yes, Words: "went ashore this morning"},
		AcceptDeviation{Section: section, Words: "seen to be dry by two of us"},
		OfferWatch{To: rapid.SampledFrom(everybody).Draw(t, "oncoming").ID}, TakeWatch{}, TakeWatch{},
		OfferWork{To: rapid.SampledFrom([]PersonID{tomas.ID, ines.ID, both.ID, fitCrew.ID}).Draw(t, "next shift")},
		takesWork(t, p), takesWork(t, p),
		AskTest{Lifting: isolation.Lifting{Run: "motor", Steps: []int{n}}, ToolsBack: p.ToolsOut(), Closed: yes},
		SanctionTest{}, LiftLock{Tag: l.Tag, Position: position}, RecordTest{Words: "it ran"}, EndTest{Stopped: yes},
	}).Draw(t, "act")
}

// takesWork takes over what somebody hands over, mostly rightly counted.
func takesWork(t *rapid.T, p Permit) TakeWork {
	a := TakeWork{From: tomas.ID, Locks: rapid.IntRange(0, 1).Draw(t, "miscounted"), Tools: p.ToolsOut()}
	for _, x := range p.Shifts() {
		a.From = x.From
	}
	a.Locks += p.OwnedBy(a.From)
	return a
}

// signsLooks is the signature under what somebody has looked at.
func signsLooks(p Permit, who PersonID) SignLooks {
	var a SignLooks
	for _, l := range p.LooksOf(who) {
		a.Steps = append(a.Steps, l.Step.N)
	}
	return a
}

// checkInvariants looks at one permit before and after an act.
func checkInvariants(t *rapid.T, before, p Permit, a PermitAct) {
	on, tested := 0, before.State() == Testing || p.State() == Testing || p.hasSigned(olga.ID, KindSanctionTest) ||
		p.hasSigned(otto.ID, KindSanctionTest)
	for i, l := range p.Locks() {
		if l.IsOn() {
			if on != i && !tested { // only a test run takes some off and leaves others on
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

	if p.State() == Live &&
		(p.Proved().IsZero() || p.Issued().IsZero() || p.Accepted().IsZero() || len(p.Unproved(time.Time{})) > 0) {
		t.Fatalf("live without proof: %v", p.Unproved(time.Time{}))
	}
	_, removing := a.(RemoveLock)
	_, lifting := a.(LiftLock)
	if !removing && !lifting && on < before.LocksOn() {
		t.Fatalf("%s dropped a lock", a.Kind())
	}
	if was, _ := before.Testing(); lifting && on < before.LocksOn() && (was.Sanctioned.IsZero() || len(p.SignedOn()) > 0) {
		t.Fatalf("a lock came off for a test that is sanctioned %v with %d people at the work", was.Sanctioned,
			len(p.SignedOn()))
	}
	checkHands(t, before, p, a)
	checkOwners(t, before, p, a)
	if before.State().IsOver() && p.Entries() != before.Entries() {
		t.Fatalf("%s changed a permit that was %s", a.Kind(), before.State())
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
	if r.permits[id].State() != Live {
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
		case Suspend, EndTest:
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

// checkHistory looks at the whole log of a permit: nobody stood on both sides, locks came off in reverse, what went out
// was counted in, and the log makes the same permit again.
func checkHistory(t *rapid.T, r *rig, id PermitID) {
	var stack []TagDigest
	var own []Entry
	var prover, issuer PersonID
	told, back := false, map[int]bool{} // people told; what was done between the locks
	valves, desk := map[PersonID]bool{}, map[PersonID]bool{}
	out, owed := 0, false
	for _, e := range r.entries {
		if e.Permit != id {
			continue
		}
		own = append(own, e)
		switch a := e.Act.(type) {
		case Authorise, Extend, Countersign, Resume, AnswerUnproved, Issue, SanctionTest:
			desk[e.By] = true
			if e.Kind == KindIssue {
				issuer = e.By
			}
		case Prove:
			prover, issuer = e.By, ""
		case FitLock:
			valves[e.By] = true
			if !slices.Contains(stack, a.Tag) {
				stack = append(stack, a.Tag)
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
			if l.Step.Isolates() && !told {
				t.Fatalf("lock %d let energy back and nobody was told", l.Step.N)
			}
		case LiftLock:
			valves[e.By] = true
			stack = slices.DeleteFunc(stack, func(tag TagDigest) bool { return tag == a.Tag })
		case AskTest:
			out, owed = 0, owed && !(a.ToolsBack == out && a.Closed)
		case RestoreStep:
			back[a.N] = true
			told = told || r.permits[id].added[a.N-1].Kind == isolation.RestoreTell
		case LeaveOut:
			back[a.N] = true
		case Accept:
			if prover == "" || issuer == "" || prover == e.By || issuer == e.By || prover == issuer {
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
