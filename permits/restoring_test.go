package permits

import (
	"slices"
	"strings"
	"testing"

	"stillwatch/isolation"
	"stillwatch/isolation/proof"
)

// TestNoEnergyComesBackBeforePeopleAreTold walks back to the first lock that lets energy in. (29 CFR
// 1910.147(e)(2)(ii), read: people are told after the devices are off and before start; that they are told before the
// first lock that lets energy back is stricter, by the design.)
func TestNoEnergyComesBackBeforePeopleAreTold(t *testing.T) {
	r := newRig(t)
	id := r.untilHandedBack()
	for {
		l, _ := r.permits[id].NextRemove()
		if l.Step.Isolates() {
			break
		}
		r.refuses(id, tomas, RestoreStep{N: 1}, "restore step") // too early
		r.must(id, tomas, r.remove(id))
	}
	r.refuses(id, tomas, r.remove(id), "remove lock")
	tell, due, _ := r.permits[id].NextAdded()
	if !due || tell.Kind != isolation.RestoreTell || !strings.Contains(tell.Do, "Tell them") {
		t.Fatalf("first on the way back stands %+v, want that people are told", tell)
	}
	r.refuses(id, chief, LeaveOut{N: tell.N, Words: "nobody is anywhere near it"}, "restore step")
	r.refuses(id, karim, RestoreStep{N: tell.N}, "restore step")
	r.refuses(id, tomas, RestoreStep{N: tell.N + 1}, "restore step")
	r.must(id, tomas, RestoreStep{N: tell.N})
	r.refuses(id, tomas, RestoreStep{N: tell.N}, "restore step")
	r.must(id, tomas, r.remove(id))
	r.refuses(id, tomas, r.remove(id), "remove lock") // the joints are looked at under the first pressure
	r.between(id)
	r.must(id, tomas, r.remove(id))
}

// TestNothingIsStartedBeforeEveryPointWasSeen asks to sign the trial before the second person came.
func TestNothingIsStartedBeforeEveryPointWasSeen(t *testing.T) {
	r := newRig(t)
	id := r.untilHandedBack()
	for range r.permits[id].Locks() {
		r.between(id)
		r.must(id, tomas, r.remove(id))
	}
	trial, _, _ := r.permits[id].NextAdded()
	r.refuses(id, tomas, RestoreStep{N: trial.N}, "restore step")
	r.see(id)
	r.refuses(id, chief, Close{Positions: true, Told: true}, "close")
	r.must(id, tomas, RestoreStep{N: trial.N})
	r.must(id, chief, Close{Positions: true, Told: true})
}

// TestOnlyTheChiefLeavesAStepOut leaves out what cannot be done, in words.
func TestOnlyTheChiefLeavesAStepOut(t *testing.T) {
	r := newRig(t)
	id := r.untilHandedBack()
	r.must(id, tomas, r.remove(id))
	r.must(id, tomas, r.remove(id))
	r.must(id, tomas, RestoreStep{N: 1})
	r.must(id, tomas, r.remove(id))
	next, _, _ := r.permits[id].NextAdded()
	out := LeaveOut{N: next.N, Words: "V1 stays shut for another permit"}
	r.refuses(id, tomas, out, "restore step")
	r.refuses(id, chief, LeaveOut{N: next.N, Words: "no"}, "form")
	r.must(id, chief, out)
	if got := r.permits[id].Added()[next.N-1]; got.LeftOut != out.Words || got.Done.By != chief.ID {
		t.Errorf("left out: %+v, want by whom and why", got)
	}
	r.must(id, tomas, r.remove(id))
}

// TestWhatWasNeverShutNeedsNoWayBack cancels after the first lock: only what belongs to it and to the whole is asked.
func TestWhatWasNeverShutNeedsNoWayBack(t *testing.T) {
	r := newRig(t)
	id := r.untilAuthorised()
	r.must(id, tomas, r.fit(id))
	all := len(r.permits[id].Added())
	r.must(id, olga, Cancel{Words: "sailing orders"})
	for _, a := range r.permits[id].Added() {
		if a.For > 1 {
			t.Errorf("asked for %q, which belongs to step %d that was never fitted", a.Do, a.For)
		}
	}
	if got := len(r.permits[id].Added()); got == 0 || got >= all {
		t.Errorf("%d of %d are asked for, want some and not all", got, all)
	}
	r.takeOff(id)
	r.must(id, chief, Close{Positions: true, Told: true})
}

// TestPlanWithoutAWayBackIsRefused asks for permits by plans that are proved and do not say how the plant comes back.
func TestPlanWithoutAWayBackIsRefused(t *testing.T) {
	r := newRig(t)
	proved := r.plan()
	good := *proved.Plan()
	untold := slices.DeleteFunc(slices.Clone(good.Restore), func(x isolation.Restoring) bool {
		return x.Kind == isolation.RestoreTell
	})
	swapped := slices.Clone(good.Restore)
	slices.Reverse(swapped)
	for name, restore := range map[string][]isolation.Restoring{"none": nil, "nobody told": untold, "forwards": swapped,
		"cut short": good.Restore[:2]} {
		plan := good
		plan.Restore = restore
		again, err := proof.Prove(r.plant, r.rules, plan, isolation.Circumstances{})
		if err != nil {
			t.Logf("%s: the proof refuses it already: %v", name, err)
			continue
		}
		r.refuses(0, tomas, Request{Plan: again, Work: "Shaft seal"}, "request")
	}
	r.must(0, tomas, Request{Plan: proved, Work: "Shaft seal"})
}

// TestNothingIsStartedThatAnotherPermitHolds takes one of two permits back whose points are the same: people are told
// what stays, nothing is looked at under pressure, nothing runs. (One point, several jobs: whoever clears the last line
// clears the tag; US naval training manuals, read.)
func TestNothingIsStartedThatAnotherPermitHolds(t *testing.T) {
	r := newRig(t)
	id, other := r.untilLive(), r.untilLive()
	r.must(id, tomas, SignOff{})
	r.must(id, ines, HandBack{ToolsBack: 12, GuardsBack: true})
	left := 0
	for {
		a, due, ok := r.permits[id].NextAdded()
		if due && len(r.permits[id].Unseen()) > 0 && a.Before == 0 {
			r.see(id)
		}
		next := WhatNext(r.setting(chief, LeaveOut{}), r.permits[id])
		n := next[len(next)-1]
		holds := strings.Contains(strings.ToLower(n.What), "permit "+itoa(int(other))+" still holds")
		if due && a.Kind == isolation.RestoreTell {
			if !holds {
				t.Errorf("people are told %q, want that what the other permit holds comes later", n.What)
			}
			r.refuses(id, chief, LeaveOut{N: a.N, Words: "permit 2 still holds the pump"}, "restore step")
			r.must(id, tomas, RestoreStep{N: a.N})
			continue
		}
		if due {
			r.refuses(id, tomas, RestoreStep{N: a.N}, "restore step")
			if n.Kind != KindLeaveOut || !n.IsFor(chief) || !holds || !CanNow(r.setting(chief, LeaveOut{}), r.permits[id], n) {
				t.Errorf("next stands %q for %s, want that it is left out", n.What, n.Who)
			}
			r.must(id, chief, LeaveOut{N: a.N, Words: "permit 2 still holds the pump"})
			left++
			continue
		}
		if _, on := r.permits[id].NextRemove(); !on && !ok {
			break
		}
		r.must(id, tomas, r.remove(id))
	}
	next := WhatNext(r.setting(chief, Close{}), r.permits[id])
	last := next[len(next)-1].What
	if left < 2 || strings.Contains(last, "trial is done") || !strings.Contains(last, "left out") {
		t.Errorf("%d were left out; then %q", left, last)
	}
	r.must(id, chief, Close{Positions: true, Told: true})
	r.must(other, tomas, SignOff{})
	r.must(other, ines, HandBack{ToolsBack: 12, GuardsBack: true})
	r.takeOff(other)
	for _, a := range r.permits[other].Added() {
		if a.LeftOut != "" {
			t.Errorf("left out where nobody else holds a point: %q", a.Do)
		}
	}
}
