package permits

import (
	"encoding/json"
	"slices"
	"testing"
	"time"

	"stillwatch/isolation"
	"stillwatch/isolation/proof"
)

// TestHeatIsAcceptedByTheChiefEngineer reads a casing above what skin bears for ten minutes' work, 48 °C, and has the
// chief engineer accept it: up to 65 °C, what skin bears for a second (both ISO 13732-1, from memory, to be confirmed).
// It counts for the step that waits for it and for the proof, until it is read anew.
func TestHeatIsAcceptedByTheChiefEngineer(t *testing.T) {
	r, plan := storedRig(t)
	id := r.begin(plan)
	accept := AcceptDeviation{Check: "heat", Words: "gloves to the elbow, the casing is shielded"}
	untilFirst(r, id)
	p := r.permits[id].clone()
	l, _ := p.NextFit()
	p.locks[l.Step.N-1].Step.First = append(slices.Clone(l.Step.First), "heat") // as before a joint is broken
	r.permits[id] = p
	r.at = r.at.Add(25 * time.Minute)
	for _, check := range l.Step.First {
		r.must(id, tomas, atRest(r.permits[id], check))
	}
	r.refuses(id, chief, accept, "deviation") // nobody has read it
	r.must(id, tomas, RecordStored{Check: "heat", Value: 66})
	r.refuses(id, chief, accept, "deviation") // it burns at once
	r.must(id, tomas, RecordStored{Check: "heat", Value: 60})
	r.refuses(id, tomas, r.fit(id), "fit lock")
	r.refuses(id, tomas, accept, "deviation")
	r.refuses(id, chief, AcceptDeviation{Check: "rotation", Words: accept.Words}, "deviation")
	r.refuses(id, chief, AcceptDeviation{Check: "heat", Section: r.permits[id].Drains()[0].Section.ID,
		Words: accept.Words}, "form")
	r.must(id, chief, accept)
	if d := r.permits[id].Deviations(); len(d) != 1 || d[0].On != "casing" || d[0].By != chief.ID {
		t.Errorf("Deviations = %+v, want one on the casing by the chief engineer", d)
	}
	r.must(id, tomas, RecordStored{Check: "heat", Value: 61})
	r.refuses(id, tomas, r.fit(id), "fit lock") // what was accepted was the reading before
	r.must(id, chief, accept)
	r.must(id, tomas, r.fit(id))
	state := r.permits[id].Stored()[r.permits[id].storedIndex("heat")]
	if missing := openStored(state, r.at); missing != "" {
		t.Errorf("after the acceptance the heat keeps the proof open: %s", missing)
	}
	if missing := openStored(state, r.at.Add(5*time.Hour)); missing == "" {
		t.Error("five hours later the accepted reading still counts")
	}
}

// TestStoppedWorkTakesAnAcceptedHeatBack stops the work: nothing that was read before counts, accepted or not.
func TestStoppedWorkTakesAnAcceptedHeatBack(t *testing.T) {
	r, plan := storedRig(t)
	id := r.begin(plan)
	p := r.permits[id].clone()
	p.stored[p.storedIndex("heat")].Accepted = true
	p.forgetReadings(Entry{})
	if state := p.stored[p.storedIndex("heat")]; state.Accepted || !state.Stale {
		t.Errorf("after the work was stopped the heat stands as %+v, want not accepted, to be read anew", state)
	}
}

// TestNobodyEntersOnAnAcceptedHeat holds the gate to the kinds of work: outside and open, never entry or hot work.
func TestNobodyEntersOnAnAcceptedHeat(t *testing.T) {
	r, plan := storedRig(t)
	id := r.begin(plan)
	accept := AcceptDeviation{Check: "heat", Words: "gloves to the elbow"}
	for _, e := range isolation.Exposures() {
		p := r.permits[id].clone()
		asked := *p.Plan()
		asked.Exposure = e
		text, err := json.Marshal(asked)
		if err != nil {
			t.Fatal(err)
		}
		p.plan = proof.Proved{}
		if err := json.Unmarshal(text, &p.plan); err != nil {
			t.Fatal(err)
		}
		i := p.storedIndex("heat")
		p.stored[i].Value, p.stored[i].Recorded = 60, Mark{tomas.ID, r.at}
		err = accept.gate(r.setting(chief, accept), p)
		if want := e == isolation.Outside || e == isolation.OpenUp; (err == nil) != want {
			t.Errorf("for work of the kind %q the gate says %v, want it open: %v", e, err, want)
		}
	}
}

// What its drain cannot prove waits for who can open it: the chief engineer, not the technician who has recorded it.
func TestADrainThatProvesNothingWaitsForTheChiefEngineer(t *testing.T) {
	r := newRig(t)
	id := r.untilProving()
	p := r.permits[id].clone()
	p.drains[0].Section.Provable, p.drains[0].Section.Why = false, "the drain stands too high"
	r.permits[id] = p
	r.must(id, tomas, drained(p.drains[0].Section))
	s := r.setting(chief, AcceptDeviation{})
	if n := WhatNext(s, r.permits[id])[0]; n.Kind != KindAcceptDeviation || !n.IsFor(chief) || n.IsFor(tomas) {
		t.Errorf("the permit waits for %q (%s) by %s, want the chief engineer's deviation", n.What, n.Kind, n.Who)
	}
	r.must(id, chief, AcceptDeviation{Section: p.drains[0].Section.ID, Words: "seen empty by two through the cover"})
	if n := WhatNext(s, r.permits[id])[0]; n.Kind == KindAcceptDeviation {
		t.Error("accepted, and still waited for")
	}
}
