package permits

import (
	"errors"
	"testing"

	"stillwatch/isolation"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"
)

// TestWhatIsForetoldIsWhatIsDecided walks random histories and asks, at every state reached, for every act and every
// person, what is foretold. Where that is a refusal, Decide must give this very refusal, whatever the form says. Where
// it is none, an act that Decide refuses must be refused for what its form says, never by its gate.
func TestWhatIsForetoldIsWhatIsDecided(t *testing.T) {
	allowed, refused := map[Kind]int{}, map[Kind]int{}
	rapid.Check(t, func(t *rapid.T) {
		r := newRig(t)
		for _, p := range everybody {
			r.ship.People[p.ID] = p
		}
		plan := r.plan()
		if rapid.Bool().Draw(t, "energies that stay, and a part that keeps its current") {
			plan = r.rich()
		}
		r.must(0, tomas, Request{Plan: plan, Work: "Shaft seal"})
		for range rapid.IntRange(10, 80).Draw(t, "acts") {
			a := drawAct(t, r, 1)
			for _, who := range everybody {
				foretell(t, r, 1, who, a, allowed, refused)
				if r.permits[1].Entries()%3 != 0 { // every kind at every third state: each takes people × kinds
					continue
				}
				for _, other := range everyKindOnce(r.permits[1]) {
					foretell(t, r, 1, who, other, allowed, refused)
				}
			}
			_ = r.try(1, drawPerson(t, r.permits[1], a), a)
		}
	})
	for _, stage := range stages { // random histories reach some of them too seldom
		r := newRig(t)
		for _, p := range everybody {
			r.ship.People[p.ID] = p
		}
		stage(r)
		for id, p := range r.permits {
			for _, who := range everybody {
				for _, a := range append(everyKindOnce(p), r.fit(id), CheckLock{N: 1}, SignOn{}, SignOff{},
					Suspend{Words: "general alarm"}, r.remove(id), CheckRestored{N: 1}, leavesOut(p)) {
					foretell(t, r, id, who, a, allowed, refused)
				}
			}
		}
	}
	for _, kind := range permitKinds() {
		// the small plan has none, and the register alone reckons anew
		seldom := kind == KindRequest || kind == KindCountersign || kind == KindRecordStored || kind == KindReckonAnew
		if !seldom && (allowed[kind] == 0 || refused[kind] == 0) {
			t.Errorf("%s was foretold as open %d times and as shut %d times: the test looks at too little", kind,
				allowed[kind], refused[kind])
		}
	}
}

// stages bring the first permit of a rig to where some act's gate is open.
var stages = []func(*rig){
	func(r *rig) { r.must(0, tomas, Request{Plan: r.rich(), Work: "Shaft seal"}) },
	func(r *rig) { r.untilSpaceProving("T1-coat") },
	func(r *rig) { r.undrained() },
	func(r *rig) {
		d := r.undrained()
		r.must(1, chief, AcceptDeviation{Section: d.ID, Words: "sludge is shovelled out by hand"})
	},
	func(r *rig) { r.untilSpaceLive("T1-coat") },
	func(r *rig) { r.must(r.untilSpaceLive("T1-coat"), karim, TakePost{Post: isolation.Attendant}) },
	func(r *rig) { r.peopleIn() },
	func(r *rig) { r.peopleIn(); r.must(1, tomas, Suspend{Words: "general alarm"}) },
	func(r *rig) {
		r.must(0, tomas, Request{Plan: r.rich(), Work: "Shaft seal"})
		r.must(1, olga, Authorise{Hours: 12, Tags: r.tags(1), Unproved: true})
	},
	func(r *rig) { r.untilAuthorised() },
	func(r *rig) { r.must(r.untilAuthorised(), tomas, r.fit(1)) },
	func(r *rig) { r.must(r.untilAuthorised(), tomas, r.fit(1)); r.must(1, karim, Look{N: 1}) },
	func(r *rig) { r.untilProving() },
	func(r *rig) {
		section := r.permits[r.untilProving()].Drains()[0].Section
		r.must(1, tomas, RecordDrain{Section: section.ID, Reading: isolation.DrainReading{OutL: section.OutL, HoldS: 60,
			TempC: section.TempC}, Into: "drain tank"})
	},
	func(r *rig) { r.record(r.untilProving()) },
	func(r *rig) { r.record(r.untilProving()); r.must(1, tomas, Prove{}) },
	func(r *rig) { r.record(r.untilProving()); r.must(1, tomas, Prove{}); r.must(1, olga, Issue{}) },
	func(r *rig) { r.must(r.untilProving(), olga, OfferWatch{To: otto.ID}) },
	func(r *rig) { r.must(r.untilProving(), tomas, OfferWork{To: ines.ID}) },
	func(r *rig) { r.untilLive() },
	func(r *rig) { r.must(r.untilLive(), tomas, SignOff{}) },
	func(r *rig) {
		r.must(r.untilLive(), tomas, SignOff{})
		r.must(1, tomas, Suspend{Words: "general alarm"})
	},
	func(r *rig) { r.untilGrowing() },
	func(r *rig) { id := r.untilGrowing(); r.must(id, tomas, r.grows(id, withFilter)) },
	func(r *rig) { r.untilTesting() },
	func(r *rig) { r.must(r.untilTesting(), olga, SanctionTest{}) },
	func(r *rig) { r.lift(r.untilTesting()) },
	func(r *rig) { r.untilHandedBack() },
	func(r *rig) {
		r.must(r.untilLive(), tomas, SignOff{})
		r.must(1, ines, r.boxes(1))
		r.must(1, tomas, SignOn{Lock: "T1"})
	},
	func(r *rig) { // out of stopped work without taking his own lock off
		r.must(r.untilLive(), tomas, SignOff{})
		r.must(1, ines, r.boxes(1))
		r.must(1, tomas, SignOn{Lock: "T1"})
		r.must(1, karim, Suspend{Words: "general alarm"})
		r.must(1, tomas, SignOff{})
	},
	func(r *rig) { r.untilUnder() },
	func(r *rig) {
		_, sub := r.untilUnder()
		r.must(sub, tomas, Accept{ToolsOut: 2})
		r.must(sub, karim, SignOn{Lock: "K1"})
	},
	func(r *rig) { r.untilLive(); r.aboard(olga, fire) },
	func(r *rig) {
		r.untilLive()
		r.aboard(olga, fire)
		r.must(1, olga, CountOut{Person: tomas.ID, Where: "station 2"})
		r.must(1, olga, OrderOpening{Steps: []int{1}, By: ines.ID, Seen: karim.ID, Words: "fire pump"})
	},
	func(r *rig) {
		r.untilHandedBack()
		r.aboard(olga, fire)
		r.aboard(olga, EndEmergency{Words: "fire out"})
	},
	func(r *rig) { r.takeOff(r.untilHandedBack()) },
	func(r *rig) { // up to the first step between the locks that may be left out
		for id := r.untilHandedBack(); ; {
			a, due, _ := r.permits[id].NextAdded()
			_, on := r.permits[id].NextRemove()
			switch {
			case due && a.Kind != isolation.RestoreTell:
				return
			case due:
				r.must(id, tomas, RestoreStep{N: a.N})
			case on:
				r.must(id, tomas, r.remove(id))
			default:
				r.see(id)
			}
		}
	},
	func(r *rig) {
		r.must(r.untilAuthorised(), tomas, r.fit(1))
		r.must(1, olga, Cancel{Words: "not needed any more"})
	},
	func(r *rig) {
		r.must(r.untilAuthorised(), tomas, r.fit(1))
		r.must(1, olga, Cancel{Words: "not needed any more"})
		r.between(1)
		r.must(1, tomas, r.remove(1))
	},
}

// leavesOut leaves out what is due between the locks.
func leavesOut(p Permit) LeaveOut {
	a, _, _ := p.NextAdded()
	return LeaveOut{N: a.N}
}

// everyKindOnce returns an act of each kind that random histories seldom draw.
func everyKindOnce(p Permit) []PermitAct {
	out := []PermitAct{RecordStart{}, HandBack{}, Close{}, Cancel{}, Resume{}, Extend{}, Authorise{},
		Prove{}, Issue{}, Accept{}, AnswerUnproved{}, RestoreStep{N: 1}, LeaveOut{N: 2},
		ReleaseOwner{Owner: tomas.ID}, FindWrong{N: 1}, SightTag{N: 1}, CheckRestored{N: len(p.Locks())},
		Look{N: 1}, Look{N: len(p.Locks())}, SignLooks{}, OfferWatch{To: otto.ID}, TakeWatch{},
		OfferWork{To: ines.ID}, TakeWork{From: tomas.ID}, AskTest{}, SanctionTest{}, RecordTest{}, EndTest{},
		LiftLock{Tag: lockOf(p, 1).Tag}, TakePost{Post: isolation.Attendant}, TakePost{Post: isolation.FireWatch},
		LeavePost{Post: isolation.Attendant}, LeavePost{Post: isolation.FireWatch}, GoIn{}, ComeOut{}, Inhibit{},
		PutBack{N: 1}, RecordAir{Level: "bottom"}, AnswerMeasures{}, UseBox{Box: "B1"}, TakeOwnLock{Person: tomas.ID},
		CountOut{Person: tomas.ID}, StopForEmergency{Words: "fire"}, OrderOpening{}, OpenAtOnce{Tag: lockOf(p, 1).Tag},
		Account{}, AskChange{}, AuthoriseChange{}, DropChange{}}
	for _, d := range p.Drains() {
		out = append(out, RecordDrain{Section: d.Section.ID}, AcceptDeviation{Section: d.Section.ID},
			ConsentDeviation{Section: d.Section.ID})
	}
	for _, d := range p.Dead() {
		out = append(out, RecordDead{Test: d.Test.ID})
	}
	return out
}

func lockOf(p Permit, n int) Lock {
	l, _ := p.Lock(n)
	return l
}

// foretell compares what is foretold to one person of one act with what Decide says of it.
func foretell(t tester, r *rig, id PermitID, who Person, a PermitAct, allowed, refused map[Kind]int) {
	s, p := r.setting(who, a), r.permits[id]
	told := Foresee(s, p, a.Kind(), targetOf(p, a))
	_, err := Decide(s, p, a)
	var no *Refusal
	if err != nil && !errors.As(err, &no) {
		t.Fatalf("%s by %s = %v, want a refusal or nothing", a.Kind(), who, err)
	}
	if told == nil {
		allowed[a.Kind()]++
		if gated := a.gate(s, p); gated != nil {
			t.Fatalf("%s by %s is foretold as open, and its gate says %v", a.Kind(), who, gated)
		}
		return
	}
	refused[a.Kind()]++
	same := cmp.Equal(told, no, cmpopts.IgnoreUnexported(Refusal{}))
	if no == nil || !same {
		t.Fatalf("%s by %s at %s is foretold as %v and decided as %v", a.Kind(), who, p.State(), told, err)
	}
}

// targetOf returns the part of a permit that an act is about.
func targetOf(p Permit, a PermitAct) Target {
	switch a := a.(type) {
	case FitLock:
		l, _ := p.LockByTag(a.Tag)
		return Target{Step: l.Step.N}
	case RemoveLock:
		l, _ := p.LockByTag(a.Tag)
		return Target{Step: l.Step.N}
	case LiftLock:
		l, _ := p.LockByTag(a.Tag)
		return Target{Step: l.Step.N}
	case CheckLock:
		return Target{Step: a.N}
	case Look:
		return Target{Step: a.N}
	case FindWrong:
		return Target{Step: a.N}
	case SightTag:
		return Target{Step: a.N}
	case CheckRestored:
		return Target{Step: a.N}
	case RestoreStep:
		return Target{Step: a.N}
	case LeaveOut:
		return Target{Step: a.N}
	case TakeWork:
		return Target{Person: a.From}
	case TakeOwnLock:
		return Target{Person: a.Person}
	case CountOut:
		return Target{Person: a.Person}
	case OpenAtOnce:
		l, _ := p.LockByTag(a.Tag)
		return Target{Step: l.Step.N}
	case RecordDrain:
		return Target{Section: a.Section}
	case AcceptDeviation:
		return Target{Section: a.Section}
	case ConsentDeviation:
		return Target{Section: a.Section}
	case RecordAir:
		return Target{Level: a.Level}
	case TakePost:
		return Target{Post: a.Post}
	case LeavePost:
		return Target{Post: a.Post}
	case PutBack:
		return Target{Step: a.N}
	case RecordStored:
		return Target{Check: a.Check}
	case RecordDead:
		return Target{Test: a.Test}
	case ReleaseOwner:
		return Target{Person: a.Owner}
	}
	return Target{}
}

// TestTheTagSaysWhatItsGateSays follows the whole job by what each tag is good for: what a tag offers is done and
// taken, what it does not offer is refused.
func TestTheTagSaysWhatItsGateSays(t *testing.T) {
	r := newRig(t)
	id := r.untilAuthorised()
	for range r.permits[id].Locks() {
		s := r.setting(tomas, FitLock{})
		walk := Walk(s, r.permits[id])
		next := walk[0]
		if next.Use != UseFit || next.No != nil {
			t.Fatalf("the walk begins with %+v, want a lock to fit", next)
		}
		for _, later := range walk[1:] {
			if later.No != nil {
				t.Errorf("step %d of the walk will be refused: %v", later.Lock.Step.N, later.No)
			}
			if now := UseOfTag(s, r.permits[id], later.Lock.Step.N); now.Use != UseWait || now.No == nil {
				t.Errorf("tag %d offers %q before its turn", later.Lock.Step.N, now.Use)
			}
		}
		if use := UseOfTag(s, r.permits[id], next.Lock.Step.N); use.Use != UseFit || use.No != nil {
			t.Fatalf("the walk's first tag offers %q (%v), want to be fitted", use.Use, use.No)
		}
		r.must(id, tomas, r.fit(id))
	}
	for _, l := range r.permits[id].Locks() {
		if use := UseOfTag(r.setting(vera, CheckLock{}), r.permits[id], l.Step.N); use.No == nil {
			t.Errorf("tag %d offers a visitor %q", l.Step.N, use.Use)
		}
		if use := UseOfTag(r.setting(tomas, CheckLock{}), r.permits[id], l.Step.N); use.Use != UseCheck || use.No != nil {
			t.Errorf("tag %d on its fitter's phone offers %q (%v), want a check that another signs", l.Step.N, use.Use, use.No)
		}
		r.must(id, karim, CheckLock{N: l.Step.N})
	}
}

// TestWhatStandsInTheWayGoesAway counts what stands in the way of the work, which must come to nothing when the permit
// is live.
func TestWhatStandsInTheWayGoesAway(t *testing.T) {
	r := newRig(t)
	id := r.untilProving()
	open := 0
	for _, i := range InTheWay(r.setting(tomas, Prove{}), r.permits[id]) {
		if i.Done+len(i.Open) != i.Total && i.Name != "Proof signed, permit issued and accepted" {
			t.Errorf("%s: %d of %d done and %d named", i.Name, i.Done, i.Total, len(i.Open))
		}
		if !i.IsDone() {
			open++
		}
	}
	if open == 0 {
		t.Fatal("nothing stands in the way of a permit that is not proved")
	}
	r.record(id)
	r.must(id, tomas, Prove{})
	r.issue(id)
	r.must(id, ines, Accept{ToolsOut: 1})
	for _, i := range InTheWay(r.setting(tomas, SignOn{}), r.permits[id]) {
		if !i.IsDone() {
			t.Errorf("%s still stands in the way of a live permit: %d of %d", i.Name, i.Done, i.Total)
		}
	}
}
