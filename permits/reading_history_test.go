package permits

import (
	"strings"
	"testing"
	"time"

	"stillwatch/isolation"
)

func TestHistoryKeepsEveryReadingWithItsMoment(t *testing.T) {
	r, plan := storedRig(t)
	other := r.beginUngated(plan)
	id := other
	for range r.permits[id].Locks() {
		r.must(id, tomas, r.fit(id))
	}
	for _, l := range r.permits[id].Locks() {
		r.must(id, karim, CheckLock{N: l.Step.N})
	}
	r.must(id, tomas, RecordStored{Check: "rotation", Value: 700})
	first := r.at
	r.at = r.at.Add(25 * time.Minute)
	r.must(id, tomas, RecordStored{Check: "rotation", Value: 0})
	s := r.permits[id].Drains()[0].Section
	r.must(id, tomas, RecordDrain{Section: s.ID, Reading: isolation.DrainReading{OutL: 1, HoldS: 600, HoldInL: 0.5,
		TempC: s.TempC}, Into: " Sludge  tank "})
	r.at = r.at.Add(10 * time.Minute)
	r.must(id, tomas, RecordDrain{Section: s.ID, Reading: isolation.DrainReading{OutL: s.OutL, HoldS: 600, TempC: s.TempC},
		Words: "valve shut again"})
	long := r.entries[len(r.entries)-1].Act.(RecordDrain) // as an earlier program would have taken it
	long.Reading.HoldS = 86400
	r.entries[len(r.entries)-1].Act = long
	h := Readings(r.entries)
	rotor := h.Stored["rotation"]
	if len(rotor) != 2 || rotor[0].Value != 700 || rotor[0].Finding.OK || !rotor[1].Finding.OK ||
		!rotor[0].At.Equal(first) {
		t.Fatalf("readings of the rotor = %+v, want 700 above the limit, then 0 within", rotor)
	}
	since := waitFor(t, r.permits[id], "rotation").Since
	if d, ok := rotor[1].After(); !ok || d != rotor[1].At.Sub(since) {
		t.Errorf("the second reading = %v after the cut (%v), want %v", d, ok, rotor[1].At.Sub(since))
	}
	drains := h.Sections[s.ID]
	if len(drains) != 2 || drains[0].HoldL != 0.5 || drains[0].Into != "Sludge tank" || drains[0].Since.IsZero() {
		t.Fatalf("records of the section = %+v, want two, the first into the sludge tank", drains)
	}
	if drains[0].Doubt != "" || !strings.Contains(drains[1].Doubt, "longer than the drain") {
		t.Errorf("doubts = %q, %q, want one about a hold of a day", drains[0].Doubt, drains[1].Doubt)
	}
}

func TestHistoryPassesOverOtherPermitsAndSurvivesATornList(t *testing.T) {
	r := newRig(t)
	id := r.untilProving()
	r.record(id)
	h := Readings(r.entries)
	sections := len(h.Sections)
	if sections == 0 {
		t.Fatal("no record in the history")
	}
	stranger := Entry{Permit: id + 1, Kind: KindRecordStored, Act: RecordStored{Check: "x", Value: 1}, To: Proving}
	refused := Entry{Kind: KindRefusedAct, Permit: id, Act: RefusedAct{}}
	if got := Readings(append(append([]Entry{}, r.entries...), stranger, refused)); len(got.Stored["x"]) != 0 ||
		len(got.Sections) != sections {
		t.Errorf("a stranger's reading is in the history: %+v", got.Stored)
	}
	torn := Readings(r.entries[3:])
	for id, list := range torn.Sections {
		if len(list) != len(h.Sections[id]) || !list[0].Since.IsZero() {
			t.Errorf("history of a torn list = %+v, want every record without its moment", list)
		}
	}
}
