package permits

import (
	"errors"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"stillwatch/isolation"
)

// TestNoHistoryBreaksTheRules lets many people do random things, right and wrong, to a permit, and looks after each
// act at what must never be.
func TestNoHistoryBreaksTheRules(t *testing.T) {
	seen := map[State]int{}
	rapid.Check(t, func(t *rapid.T) {
		r := newRig(t)
		r.must(0, tomas, Request{Plan: r.plan(), Work: "Shaft seal"})
		for range rapid.IntRange(40, 160).Draw(t, "acts") {
			before := r.permits[1]
			a := drawAct(t, r)
			who := drawPerson(t, r.permits[1], a)
			err := r.try(1, who, a)
			var no *Refusal
			if err != nil && !errors.As(err, &no) {
				t.Fatalf("%s = %v, want a refusal or nothing", a.Kind(), err)
			}
			if err != nil && (no.What == "" || no.Gate == "") {
				t.Fatalf("%s was refused without a word: %+v", a.Kind(), no)
			}
			checkInvariants(t, before, r.permits[1], a)
			seen[r.permits[1].State()]++
		}
		checkHistory(t, r)
	})
	for _, s := range []State{Draft, Authorised, Isolating, Proving, Live, Suspended, HandedBack, Restoring, Closed,
		Cancelled} {
		if seen[s] == 0 {
			t.Errorf("no random history reached %s: the test looks at too little", s)
		}
	}
}

var everybody = []Person{olga, tomas, tomas, tomas, ines, karim, karim, chief, vera,
	{ID: "olga", Name: "Olga", Roles: []Role{Officer, Technician}},
	{ID: "karim", Name: "Karim", Roles: []Role{Crew, Technician}}}

// drawPerson draws mostly somebody who may do the act, and often somebody who may not.
func drawPerson(t *rapid.T, p Permit, a PermitAct) Person {
	if rapid.IntRange(0, 9).Draw(t, "right or wrong person") < 3 {
		return rapid.SampledFrom(everybody).Draw(t, "who")
	}
	switch a.(type) {
	case Authorise, Extend, Cancel, Resume:
		return olga
	case CheckLock:
		return karim
	case SignOff:
		if on := p.SignedOn(); len(on) > 0 {
			return map[PersonID]Person{"olga": olga, "tomas": tomas, "ines": ines, "karim": karim, "chief": chief}[on[0]]
		}
	case AcceptDeviation, ReleaseOwner, Close:
		return chief
	case RemoveLock:
		if l, ok := p.NextRemove(); ok && l.Fitted.By == ines.ID {
			return ines
		}
	}
	return tomas
}

// drawAct draws mostly the act that comes next, so that histories get far, and often a wrong one.
func drawAct(t *rapid.T, r *rig) PermitAct {
	p := r.permits[1]
	if rapid.IntRange(0, 9).Draw(t, "right or wrong") < 7 {
		if a := nextAct(r, p); a != nil {
			return a
		}
	}
	return anyAct(t, r, p)
}

func nextAct(r *rig, p Permit) PermitAct {
	switch p.State() {
	case Draft:
		return Authorise{Hours: 24, Tags: r.tags(1)}
	case Authorised, Isolating:
		if _, ok := p.NextFit(); ok {
			return r.fit(1)
		}
		for _, l := range p.Locks() {
			if !l.IsChecked() {
				return CheckLock{N: l.Step.N}
			}
		}
	case Proving:
		return nextProof(p)
	case Live:
		if p.Entries()%3 == 0 || len(p.SignedOn()) == 0 && p.Entries()%2 == 0 {
			return HandBack{ToolsBack: p.ToolsOut(), GuardsBack: true}
		}
		if len(p.SignedOn()) > 0 {
			return SignOff{}
		}
		return SignOn{}
	case Suspended:
		if len(p.SignedOn()) > 0 {
			return SignOff{}
		}
		return Resume{}
	case HandedBack, Restoring:
		if _, ok := p.NextRemove(); ok {
			return r.remove(1)
		}
		return Close{Positions: true, Told: true}
	}
	return nil
}

func nextProof(p Permit) PermitAct {
	for _, d := range p.Drains() {
		if !d.Finding.OK {
			return drained(d.Section)
		}
	}
	for _, s := range p.Stored() {
		if !s.Finding.OK {
			return RecordStored{Check: s.Check.ID, Value: s.Check.Limit, Words: "waited and read again"}
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
	}
	return Accept{ToolsOut: 3}
}

func anyAct(t *rapid.T, r *rig, p Permit) PermitAct {
	n := rapid.IntRange(0, len(p.Locks())+1).Draw(t, "n")
	l, _ := p.Lock(n)
	yes := rapid.Bool().Draw(t, "yes")
	position := rapid.SampledFrom([]isolation.Position{isolation.Open, isolation.Closed}).Draw(t, "position")
	wrong := ""
	if !yes {
		wrong = "hangs on the wrong valve"
	}
	section := ""
	if d := p.Drains(); len(d) > 0 {
		section = d[0].Section.ID
	}
	return rapid.SampledFrom([]PermitAct{
		Authorise{Hours: 24, Tags: r.tags(1)}, Extend{Hours: 24}, Prove{}, Accept{}, SignOn{}, SignOff{},
		FitLock{Tag: l.Tag, Position: position, Padlock: "X1"}, CheckLock{N: n, Wrong: wrong}, CheckLock{N: n},
		RemoveLock{Tag: l.Tag, Position: position}, HandBack{ToolsBack: 3, GuardsBack: yes},
		Close{Positions: true, Told: yes}, Cancel{Words: "not needed any more"}, Request{Plan: p.plan, Work: "again"},
		RecordStart{Still: yes, ControlsOff: true}, RecordDrain{Section: section,
			Reading: isolation.DrainReading{OutL: 1, HoldS: 600, HoldInL: 3}, Words: "tried again"},
		Suspend{Words: "general alarm"}, Resume{},
		ReleaseOwner{Owner: "tomas", Verified: true, Tried: true, WillTell: yes, Words: "went ashore this morning"},
		AcceptDeviation{Section: section, Words: "seen to be dry by two of us"},
	}).Draw(t, "act")
}

// checkInvariants looks at one permit before and after an act.
func checkInvariants(t *rapid.T, before, p Permit, a PermitAct) {
	on := 0
	for i, l := range p.Locks() {
		if l.IsOn() {
			if on != i {
				t.Fatalf("after %s lock %d hangs and one before it does not", a.Kind(), l.Step.N)
			}
			on++
		}
		if l.Fitted.By != "" && l.Fitted.By == l.Checked.By {
			t.Fatalf("%s fitted and checked lock %d", l.Fitted.By, l.Step.N)
		}
	}
	if p.State().IsOver() && on > 0 {
		t.Fatalf("permit is %s with %d locks on", p.State(), on)
	}
	if p.State() == Live && (p.Proved().IsZero() || p.Accepted().IsZero() || len(p.Unproved()) > 0) {
		t.Fatalf("live without proof: %v", p.Unproved())
	}
	if _, removing := a.(RemoveLock); !removing && on < before.LocksOn() {
		t.Fatalf("%s dropped a lock", a.Kind())
	}
	if before.State().IsOver() && p.Entries() != before.Entries() {
		t.Fatalf("%s changed a permit that was %s", a.Kind(), before.State())
	}
}

// checkHistory looks at the whole log: nobody both authorised and fitted, locks came off in reverse, and the log makes
// the same permit again.
func checkHistory(t *rapid.T, r *rig) {
	var stack []TagDigest
	fitted, authorised := map[PersonID]bool{}, map[PersonID]bool{}
	for _, e := range r.entries {
		switch a := e.Act.(type) {
		case Authorise, Extend:
			authorised[e.By] = true
		case FitLock:
			fitted[e.By] = true
			if !slices.Contains(stack, a.Tag) {
				stack = append(stack, a.Tag)
			}
		case RemoveLock:
			if len(stack) == 0 || stack[len(stack)-1] != a.Tag {
				t.Fatalf("%s came off out of turn", a.Tag)
			}
			stack = stack[:len(stack)-1]
		}
	}
	for id := range authorised {
		if fitted[id] {
			t.Fatalf("%s authorised and fitted", id)
		}
	}
	if got := Fold(r.entries); got.State() != r.permits[1].State() || got.LocksOn() != r.permits[1].LocksOn() {
		t.Fatalf("the log folds to %s with %d on, want %s with %d", got.State(), got.LocksOn(), r.permits[1].State(),
			r.permits[1].LocksOn())
	}
}
