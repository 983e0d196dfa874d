package permits

import (
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"stillwatch/isolation"
	"stillwatch/isolation/planner"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proof"
	"stillwatch/isolation/proved"
)

// growing is the plan of the pump's job on a plant with a filter behind the pump, which is a job of its own.
var growing = sync.OnceValues(func() (out richProved, err error) {
	text, err := os.ReadFile("../testdata/plants/growing.yaml")
	if err != nil {
		return out, err
	}
	if out.plant, err = plantfile.Read("growing.yaml", text); err != nil {
		return out, err
	}
	plan, err := planner.Make(out.plant, plantfile.ShippedRules(), "P1-seal", isolation.Circumstances{})
	if err != nil {
		return out, err
	}
	out.plan, err = proof.Prove(out.plant, plantfile.ShippedRules(), plan, isolation.Circumstances{})
	return out, err
})

// growing puts that plant in force and returns the plan of the pump's job.
func (r *rig) growing() proof.Proved {
	r.tb.Helper()
	p, err := growing()
	if err != nil {
		r.tb.Fatal(err)
	}
	r.plant, r.ship.PlantSHA256 = p.plant, p.plant.SHA256
	return p.plan
}

// untilGrowing walks a new permit of that plant to where it is live and nobody is at work.
func (r *rig) untilGrowing() PermitID {
	r.tb.Helper()
	id := r.begin(r.growing())
	r.workAnew(id)
	return id
}

// workAnew fits what does not hang, has all seen, proves, issues and accepts.
func (r *rig) workAnew(id PermitID) {
	r.tb.Helper()
	for _, more := r.permits[id].NextFit(); more; _, more = r.permits[id].NextFit() {
		r.must(id, tomas, r.fit(id))
	}
	r.check(id)
	r.record(id)
	r.must(id, tomas, Prove{})
	r.issue(id)
	r.must(id, ines, Accept{ToolsOut: max(12, r.permits[id].ToolsOut())})
}

var withFilter = isolation.Added{Jobs: []string{"P1-filter"}}

// grows is the wish to add work, with the plan for it.
func (r *rig) grows(id PermitID, a isolation.Added) AskChange {
	r.tb.Helper()
	p := r.permits[id]
	plan, err := proved.Change(r.plant, r.rules, p.Plan(), a, CircumstancesOf(r.ship, r.setting(olga, Extend{}).Held, id))
	if err != nil {
		r.tb.Fatal(err)
	}
	return AskChange{Plan: plan.Proved, Words: "the filter is full of sludge"}
}

// newTags returns one made-up digest for each new step of the work that is asked for.
func (r *rig) newTags(id PermitID) []TagDigest {
	var out []TagDigest
	c, _ := r.permits[id].Changing()
	for _, st := range c.Plan.Plan().NewSteps() {
		out = append(out, TagDigest("permit-"+itoa(int(id))+"-plan-"+itoa(c.Plan.Plan().Number())+"-tag-"+itoa(st.N)))
	}
	return out
}

// authorises is the officer's signature under it.
func (r *rig) authorises(id PermitID) AuthoriseChange {
	c, _ := r.permits[id].Changing()
	return AuthoriseChange{Number: c.Plan.Plan().Number(), Asked: c.Entry, Hours: 12, Tags: r.newTags(id), Unproved: true}
}

// TestWorkIsAddedByTheGates walks added work from the wish to the closed permit, and tries at each step what may not be
// done yet. (29 CFR 1910.147(d), read: the order of isolating; UK COSWP, second hand: only the stated work; that what
// hangs stays: own reasoning.)
func TestWorkIsAddedByTheGates(t *testing.T) {
	r := newRig(t)
	id := r.untilGrowing()
	before := r.permits[id].Locks()
	asks := r.grows(id, withFilter)
	r.must(id, karim, SignOn{})
	r.refuses(id, tomas, asks, "change") // karim is at work
	r.must(id, karim, SignOff{})
	r.refuses(id, tomas, AskChange{Words: asks.Words}, "form")
	r.refuses(id, tomas, AskChange{Plan: asks.Plan}, "form")
	r.refuses(id, karim, asks, "change") // crew
	r.must(id, tomas, asks)

	if p := r.permits[id]; p.State() != Suspended || !p.Proved().IsZero() || p.LocksOn() != len(before) {
		t.Fatalf("asked, the permit is %s with %d locks on, want the work stopped and every lock on", p.State(), p.LocksOn())
	}
	r.refuses(id, karim, SignOn{}, "live")
	r.refuses(id, olga, Resume{}, "resume")
	r.refuses(id, tomas, asks, "change") // once is enough
	signs := r.authorises(id)
	r.refuses(id, tomas, signs, "change") // no officer
	stale := signs
	stale.Number--
	r.refuses(id, olga, stale, "change")
	few := signs
	few.Tags = nil
	r.refuses(id, olga, few, "form")
	r.must(id, olga, signs)

	p := r.permits[id]
	if p.State() != Isolating || p.Plan().Number() != 2 || len(p.Former()) != 1 || len(p.Locks()) <= len(before) {
		t.Fatalf("authorised, the permit is %s by plan %d with %d steps", p.State(), p.Plan().Number(), len(p.Locks()))
	}
	for i, l := range p.Locks() {
		if i >= len(before) {
			if l.IsOn() || l.Tag == "" {
				t.Errorf("new step %d hangs, or has no tag", l.Step.N)
			}
			continue
		}
		was := before[i]
		if l.Tag != was.Tag || l.Fitted != was.Fitted || l.Padlock != was.Padlock || l.Owner != was.Owner || !l.IsOn() {
			t.Errorf("step %d has lost its lock's record", l.Step.N)
		}
	}
	r.refuses(id, olga, r.fit(id), "fit lock") // she authorised
	r.refuses(id, ines, Accept{ToolsOut: 12}, "live")
	r.workAnew(id)
	r.must(id, tomas, SignOn{})
	r.must(id, tomas, SignOff{})
	r.must(id, ines, HandBack{ToolsBack: 12, GuardsBack: true})
	var off []int
	for {
		l, on := r.permits[id].NextRemove()
		if !on {
			break
		}
		r.between(id)
		r.must(id, tomas, r.remove(id))
		off = append(off, l.Step.N)
	}
	if slices.Reverse(off); !slices.IsSorted(off) || len(off) != len(p.Locks()) {
		t.Errorf("came off %v backwards, want each of %d steps in the exact reverse", off, len(p.Locks()))
	}
	r.see(id)
	r.between(id)
	r.must(id, chief, Close{Positions: true, Told: true})
}

// TestChangeIsRefused holds the gates of the three acts against what a chief engineer would not have.
func TestChangeIsRefused(t *testing.T) {
	otherTrade := Person{ID: "both", Name: "Both", Roles: []Role{Officer, Technician}}
	for name, tc := range map[string]struct {
		before func(*rig, PermitID)
		who    Person
		act    func(*rig, PermitID) PermitAct
		gate   string
	}{
		"a step does not hang": {func(r *rig, id PermitID) {
			r.must(id, ines, r.asks(id))
			r.lift(id)
			r.must(id, tomas, EndTest{Stopped: true})
		}, tomas, asksFilter, "change"},
		"a lock was found wrong": {func(r *rig, id PermitID) { r.must(id, karim, FindWrong{N: 1, Words: "lock gone"}) },
			tomas, asksFilter, "change"},
		"a point leaks": {func(r *rig, _ PermitID) { r.aboard(tomas, RecordPassing{Point: "V1", Words: "drips"}) },
			tomas, asksFilter, "change"},
		"another works under its locks": {func(r *rig, id PermitID) {
			r.must(0, tomas, r.permits[id].RequestUnder("insulation"))
		}, tomas, asksFilter, "change"},
		"another wants to work under its locks": {func(r *rig, id PermitID) { r.must(id, tomas, asksFilter(r, id)) }, tomas,
			func(r *rig, id PermitID) PermitAct { return r.permits[id].RequestUnder("insulation") }, "request"},
		"who asked authorises": {func(r *rig, id PermitID) {
			r.handOver(id, olga, otherTrade)
			r.must(id, otherTrade, asksFilter(r, id))
		}, otherTrade, signsFilter, "change"},
		"an officer who has not the watch": {func(r *rig, id PermitID) { r.must(id, tomas, asksFilter(r, id)) }, otto,
			signsFilter, "change"},
		"the plant file was replaced": {func(r *rig, id PermitID) {
			r.must(id, tomas, asksFilter(r, id))
			r.ship.PlantSHA256 = "another"
		}, olga, signsFilter, "change"},
		"another permit needs a new point otherwise": {func(r *rig, id PermitID) {
			r.must(id, tomas, asksFilter(r, id))
			open := r.permits[id].clone()
			open.id, open.locks = 9, slices.Clone(open.locks)
			c, _ := r.permits[id].Changing()
			st := c.Plan.Plan().NewSteps()[0]
			st.Position = isolation.Open
			open.locks[0].Step = st
			r.permits[9] = open
		}, olga, signsFilter, "change"},
		"nobody asked": {func(r *rig, id PermitID) { r.must(id, karim, Suspend{Words: "dinner"}) }, olga,
			func(*rig, PermitID) PermitAct { return AuthoriseChange{Number: 2, Hours: 2} }, "change"},
		"a technician who did not ask drops it": {func(r *rig, id PermitID) { r.must(id, tomas, asksFilter(r, id)) }, ines,
			func(*rig, PermitID) PermitAct { return DropChange{Words: "no time"} }, "change"},
		"it comes off in the emergency": {func(r *rig, id PermitID) {
			r.must(id, tomas, asksFilter(r, id))
			r.aboard(olga, fire)
			r.must(id, olga, OrderOpening{Steps: []int{1}, By: ines.ID, Seen: karim.ID, Words: "fire pump"})
			l, _ := r.permits[id].NextOpening()
			r.must(id, ines, OpenAtOnce{Tag: l.Tag, Position: l.Step.Clearance})
			r.aboard(olga, EndEmergency{Words: "fire out"})
			r.must(id, olga, Account{Hang: r.permits[id].LocksOn(), Words: "the breaker was closed for the fire pump"})
		}, olga, signsFilter, "change"},
	} {
		t.Run(name, func(t *testing.T) {
			r := newRig(t)
			r.ship.People[otherTrade.ID], r.ship.People[otto.ID] = otherTrade, otto
			id := r.untilGrowing()
			tc.before(r, id)
			act := tc.act(r, id)
			if act.Kind() == KindRequest {
				id = 0
			}
			r.refuses(id, tc.who, act, tc.gate)
		})
	}
}

func asksFilter(r *rig, id PermitID) PermitAct { return r.grows(id, withFilter) }

func signsFilter(r *rig, id PermitID) PermitAct { return r.authorises(id) }

// TestDroppedWorkLeavesTheShortStop drops what was asked for: the permit goes on by its plan, as after a short stop.
func TestDroppedWorkLeavesTheShortStop(t *testing.T) {
	r := newRig(t)
	id := r.untilGrowing()
	r.must(id, tomas, asksFilter(r, id))
	read := r.authorises(id)
	r.must(id, tomas, DropChange{Words: "the filter is clean after all"})
	r.must(id, tomas, r.grows(id, isolation.Added{Points: []isolation.NodeID{"V4"}}))
	read.Tags = r.newTags(id)
	r.refuses(id, olga, read, "change") // she has read another plan of the same number
	r.must(id, tomas, DropChange{Words: "nor that"})
	r.must(id, olga, Resume{Short: true, Near: true, Untouched: true})
	r.check(id)
	r.must(id, ines, Accept{ToolsOut: 12})
	if p := r.permits[id]; p.State() != Live || p.Plan().Number() != 1 {
		t.Errorf("the permit is %s by plan %d, want live by plan 1", p.State(), p.Plan().Number())
	}
}

// TestPointIsAddedBesideThePlan adds a point that nothing asks for, then the filter: both come on and stay.
func TestPointIsAddedBesideThePlan(t *testing.T) {
	r := newRig(t)
	id := r.untilGrowing()
	r.must(id, ines, r.grows(id, isolation.Added{Points: []isolation.NodeID{"V4"}}))
	r.must(id, olga, r.authorises(id))
	r.workAnew(id)
	r.must(id, tomas, asksFilter(r, id))
	r.must(id, olga, r.authorises(id))
	p := r.permits[id]
	if p.Plan().Number() != 3 || len(p.Former()) != 2 {
		t.Fatalf("plan %d in place of %d, want 3 in place of 2", p.Plan().Number(), len(p.Former()))
	}
	for _, more := r.permits[id].NextFit(); more; _, more = r.permits[id].NextFit() {
		r.must(id, tomas, r.fit(id))
	}
	for _, point := range []isolation.NodeID{"V1", "V2", "V4"} {
		if !slices.ContainsFunc(r.permits[id].Locks(), func(l Lock) bool { return l.Step.Point == point && l.IsOn() }) {
			t.Errorf("%s does not hang any more", point)
		}
	}
	n := Names{Ship: r.ship, Permit: r.permits[id], Stamp: func(at time.Time) string { return at.Format("15:04") }}
	var said []string
	for _, e := range r.entries {
		if e.Kind == KindAskChange || e.Kind == KindAuthoriseChange {
			said = append(said, Tell(n, e))
		}
	}
	for i, want := range []string{"(V4 SHUT)", "(V4 SHUT)", "Plan 3, in place of plan 2", "Plan 3, in place of plan 2"} {
		if !strings.Contains(said[i], want) || !strings.Contains(said[i], "what hangs stays") {
			t.Errorf("the log says %q, want %q in it", said[i], want)
		}
	}
}
