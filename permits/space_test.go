package permits

import (
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"stillwatch/isolation"
	"stillwatch/isolation/planner"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proof"
)

var mara = Person{ID: "mara", Name: "Mara", Roles: []Role{Master}}

// spacePlans are the plans of the tank that people enter and weld at.
var spacePlans = sync.OnceValues(func() (out map[string]richProved, err error) {
	text, err := os.ReadFile("../testdata/plants/space.yaml")
	if err != nil {
		return nil, err
	}
	plant, err := plantfile.Read("space.yaml", text)
	if err != nil {
		return nil, err
	}
	out = map[string]richProved{}
	for _, j := range plant.Jobs {
		plan, err := planner.Make(plant, plantfile.ShippedRules(), j.ID, isolation.Circumstances{})
		if err != nil {
			return nil, err
		}
		p, err := proof.Prove(plant, plantfile.ShippedRules(), plan, isolation.Circumstances{})
		if err != nil {
			return nil, err
		}
		out[j.ID] = richProved{plant, p}
	}
	return out, nil
})

// space puts the tank's plant in force and returns the plan of one of its jobs.
func (r *rig) space(job string) proof.Proved {
	r.tb.Helper()
	plans, err := spacePlans()
	if err != nil {
		r.tb.Fatal(err)
	}
	p := plans[job]
	r.plant, r.ship.PlantSHA256 = p.plant, p.plant.SHA256
	r.ship.People[mara.ID] = mara
	return p.plan
}

// answer says yes to every measure.
func (r *rig) answer(id PermitID) {
	r.tb.Helper()
	var a AnswerMeasures
	for _, m := range r.permits[id].Measures() {
		a.Checks = append(a.Checks, m.Check.ID)
	}
	r.must(id, tomas, a)
}

// air is a test of the air at a level with every gas as it should be.
func (r *rig) air(id PermitID, level string) RecordAir {
	a := RecordAir{Level: level, Meter: "G-07", Tested: true, Still: true, Words: "ventilated for two hours"}
	if test := r.permits[id].Plan().Air; test != nil {
		for _, l := range test.Limits {
			v := l.Most / 4
			if l.Gas == "O2" {
				v = 20.9
			}
			a.Values = append(a.Values, AirValue{l.Gas, v})
		}
	}
	return a
}

// testAir tests the air at every level.
func (r *rig) testAir(id PermitID, who Person) {
	r.tb.Helper()
	for _, a := range r.permits[id].Air() {
		r.must(id, who, r.air(id, a.Level))
	}
}

// untilSpaceProving walks a permit of the tank up to where all but the air is recorded.
func (r *rig) untilSpaceProving(job string) PermitID {
	r.tb.Helper()
	r.must(0, tomas, Request{Plan: r.space(job), Work: "Inspection and repair"})
	id := PermitID(len(r.permits))
	r.must(id, olga, Authorise{Hours: 8, Tags: r.tags(id)})
	if r.permits[id].NeedsCountersign(r.setting(mara, Countersign{})) {
		r.must(id, mara, Countersign{})
	}
	for range r.permits[id].Locks() {
		r.must(id, tomas, r.fit(id))
	}
	r.check(id)
	for _, d := range r.permits[id].Drains() {
		r.must(id, tomas, drained(d.Section))
	}
	for _, s := range r.permits[id].Stored() {
		if s.Check.Stored.Kind != isolation.KindMeasure {
			r.must(id, tomas, RecordStored{Check: s.Check.ID, Value: 1})
		}
	}
	r.answer(id)
	return id
}

// untilSpaceLive walks on to where the permit is live.
func (r *rig) untilSpaceLive(job string) PermitID {
	r.tb.Helper()
	id := r.untilSpaceProving(job)
	r.pace = time.Minute
	r.testAir(id, tomas)
	r.must(id, tomas, Prove{})
	r.issue(id)
	r.must(id, ines, Accept{ToolsOut: 4})
	return id
}

// peopleIn walks a new entry with hot work to where two are inside and a detector is inhibited.
func (r *rig) peopleIn() {
	r.tb.Helper()
	id := r.untilSpaceLive("T1-coat")
	r.must(id, karim, TakePost{Post: isolation.Attendant})
	r.must(id, chief, TakePost{Post: isolation.FireWatch})
	r.must(id, olga, Inhibit{What: "Detector 12, engine casing", Means: "the fire watch calls the bridge"})
	r.must(id, tomas, SignOn{})
	r.must(id, ines, SignOn{})
	r.must(id, karim, GoIn{People: []PersonID{tomas.ID, ines.ID}, Meters: true})
}

// undrained walks a new entry to where a section was not found drained and the air is tested.
func (r *rig) undrained() isolation.Section {
	r.tb.Helper()
	id := r.untilSpaceProving("T1-entry")
	d := r.permits[id].Drains()[0].Section
	r.must(id, tomas, RecordDrain{Section: d.ID, Reading: isolation.DrainReading{OutL: d.OutL / 2, HoldS: 900,
		TempC: d.TempC}, Into: "drain tank", Words: "sludge in the drain"})
	r.testAir(id, tomas)
	return d
}

// TestNobodyGoesInButByTheGates walks an entry: measures, air at three levels, an attendant, two who go in together and
// come out, a test that runs out, a break, an alarm. A.1050(27) 7.2 and 7.3, read; MSC.581(110), second hand.
func TestNobodyGoesInButByTheGates(t *testing.T) {
	r := newRig(t)
	id := r.untilSpaceProving("T1-entry")
	r.pace = time.Minute
	r.refuses(id, tomas, Prove{}, "prove") // no air was tested

	first := r.permits[id].Measures()[0].Check.ID
	r.refuses(id, tomas, AnswerMeasures{}, "form")
	r.refuses(id, tomas, AnswerMeasures{Checks: []string{first, first}}, "measures")
	r.refuses(id, tomas, AnswerMeasures{Checks: []string{"rotation"}}, "measures")
	r.must(id, tomas, RecordStored{Check: first, Value: 0})
	if open := strings.Join(r.permits[id].Unproved(r.at), "; "); !strings.Contains(open, "ventilated") {
		t.Errorf("open = %q, want the measure that was answered with no", open)
	}
	r.must(id, tomas, AnswerMeasures{Checks: []string{first}})

	low := r.air(id, "top")
	low.Values[0].Value = 20.5
	r.must(id, tomas, low)
	r.refuses(id, tomas, Prove{}, "prove")
	said := r.air(id, "top")
	said.Words = ""
	r.refuses(id, tomas, said, "form") // a bad reading is not wiped out in silence
	moving := r.air(id, "top")
	moving.Still = false
	r.refuses(id, tomas, moving, "air")
	untried := r.air(id, "top")
	untried.Tested = false
	r.refuses(id, tomas, untried, "air")
	short := r.air(id, "top")
	short.Values = short.Values[1:]
	r.refuses(id, tomas, short, "form")
	r.testAir(id, tomas)
	r.must(id, tomas, Prove{})
	r.refuses(id, chief, Issue{}, "issue") // the bridge must know
	r.issue(id)
	r.must(id, ines, Accept{ToolsOut: 4})

	r.must(id, tomas, SignOn{})
	r.must(id, ines, SignOn{})
	two := GoIn{People: []PersonID{tomas.ID, ines.ID}, Meters: true}
	r.refuses(id, karim, two, "go in") // nobody stands at the entrance
	r.refuses(id, tomas, TakePost{Post: isolation.Attendant}, "post")
	r.refuses(id, karim, TakePost{Post: isolation.FireWatch}, "post")
	r.must(id, karim, TakePost{Post: isolation.Attendant})
	r.refuses(id, karim, SignOn{}, "live") // who stands by does nothing else
	r.refuses(id, tomas, two, "go in")     // the attendant records it
	r.refuses(id, karim, GoIn{People: []PersonID{tomas.ID}, Meters: true}, "go in")
	r.refuses(id, karim, GoIn{People: two.People}, "go in")
	r.refuses(id, karim, GoIn{People: []PersonID{tomas.ID, chief.ID}, Meters: true}, "go in")
	r.must(id, karim, two)
	r.refuses(id, tomas, SignOff{}, "sign off") // he is inside
	r.refuses(id, karim, LeavePost{Post: isolation.Attendant}, "post")
	r.refuses(id, tomas, ComeOut{People: []PersonID{ines.ID}}, "come out")
	r.must(id, tomas, ComeOut{People: []PersonID{tomas.ID}})
	wantAlarm(t, r, id, "alone inside", true)
	r.must(id, karim, GoIn{People: []PersonID{tomas.ID}, Meters: true})
	wantAlarm(t, r, id, "alone inside", false)

	r.at = r.at.Add(time.Hour)
	wantAlarm(t, r, id, "run out", true)
	r.must(id, karim, ComeOut{People: two.People})
	r.refuses(id, karim, two, "go in")
	r.testAir(id, tomas)
	r.must(id, karim, two)
	r.must(id, karim, ComeOut{People: two.People})
	r.at = r.at.Add(35 * time.Minute)
	r.refuses(id, karim, two, "go in") // after every break
	r.testAir(id, tomas)
	r.must(id, karim, two)

	bad := r.air(id, "bottom")
	bad.Still, bad.Values[1].Value = false, 1
	r.must(id, ines, bad)
	if p := r.permits[id]; p.State() != Proving || !p.Proved().IsZero() {
		t.Errorf("flammable gas was found and the permit is %s", p.State())
	}
	wantAlarm(t, r, id, "air is not safe", true)
	r.refuses(id, karim, two, "go in")
	r.must(id, olga, ComeOut{People: two.People})
	r.must(id, tomas, SignOff{})
	r.must(id, ines, SignOff{})
	r.must(id, karim, LeavePost{Post: isolation.Attendant})
	if n := len(r.permits[id].Entrants()); n != 7 {
		t.Errorf("%d entries into the space are on the books, want 7", n)
	}
}

func wantAlarm(t *testing.T, r *rig, id PermitID, words string, want bool) {
	t.Helper()
	got := false
	for _, a := range Alarms(r.setting(tomas, SignOff{}), r.permits[id]) {
		got = got || strings.Contains(a.Words(), words)
	}
	if got != want {
		t.Errorf("an alarm of %q is %t, want %t", words, got, want)
	}
}

// TestHotWorkHasItsFireWatch walks hot work: the master's signature, fire watch, detectors out and back, and the watch
// after the work (29 CFR 1910.252(a)(2)(iii)(B), half an hour at least, from memory).
func TestHotWorkHasItsFireWatch(t *testing.T) {
	r := newRig(t)
	id := r.untilSpaceLive("T1-weld")
	if r.permits[id].Countersigned().By != mara.ID {
		t.Error("hot work began without the master")
	}
	r.refuses(id, tomas, SignOn{}, "live") // no fire watch
	r.must(id, karim, TakePost{Post: isolation.FireWatch})
	r.refuses(id, olga, Inhibit{What: "Detector 12"}, "form")
	r.must(id, olga, Inhibit{What: "Detector 12, engine casing", Means: "the fire watch calls the bridge"})
	r.must(id, tomas, SignOn{})
	r.refuses(id, karim, LeavePost{Post: isolation.FireWatch, Quiet: true}, "post")
	r.must(id, tomas, SignOff{})
	r.refuses(id, karim, LeavePost{Post: isolation.FireWatch, Quiet: true}, "post")
	back := HandBack{ToolsBack: 4, GuardsBack: true}
	r.refuses(id, ines, back, "hand back")
	r.waitsFor(id, KindPutBack)
	r.refuses(id, tomas, PutBack{N: 1}, "put back")
	r.must(id, tomas, PutBack{N: 1, Tried: true})
	r.waitsFor(id, KindLeavePost)
	r.refuses(id, tomas, PutBack{N: 1, Tried: true}, "put back")
	r.refuses(id, ines, back, "hand back") // the fire watch stands
	r.at = r.at.Add(30 * time.Minute)
	r.refuses(id, karim, LeavePost{Post: isolation.FireWatch}, "post")
	r.must(id, karim, LeavePost{Post: isolation.FireWatch, Quiet: true})
	r.waitsFor(id, KindHandBack)
	r.must(id, ines, back)
	r.takeOff(id)
	r.must(id, chief, Close{Positions: true, Told: true})
}

// waitsFor wants an act to be what a permit waits for first.
func (r *rig) waitsFor(id PermitID, want Kind) {
	r.tb.Helper()
	if next := WhatNext(r.setting(vera, Suspend{}), r.permits[id]); len(next) == 0 || next[0].Kind != want {
		r.tb.Fatalf("permit %d waits for %+v, want %q first", id, next, want)
	}
}

// TestHotWorkStartsOnFreshAirOnly lets the test of the air grow old before somebody signs on.
func TestHotWorkStartsOnFreshAirOnly(t *testing.T) {
	r := newRig(t)
	id := r.untilSpaceLive("T1-weld")
	r.must(id, karim, TakePost{Post: isolation.FireWatch})
	r.at = r.at.Add(31 * time.Minute)
	r.refuses(id, tomas, SignOn{}, "live")
	r.must(id, tomas, r.air(id, "at the work"))
	r.must(id, tomas, SignOn{})
	r.at = r.at.Add(56 * time.Minute)
	r.must(id, ines, SignOn{}) // while somebody works it holds for the interval
	r.at = r.at.Add(5 * time.Minute)
	wantAlarm(t, r, id, "run out", true)
}

// TestCancelledHotWorkKeepsItsFireWatch cancels after somebody has worked: nothing ends before all was seen cold.
func TestCancelledHotWorkKeepsItsFireWatch(t *testing.T) {
	r := newRig(t)
	id := r.untilSpaceLive("T1-weld")
	r.must(id, karim, TakePost{Post: isolation.FireWatch})
	r.must(id, olga, Inhibit{What: "Detector 12, engine casing", Means: "the fire watch calls the bridge"})
	r.must(id, tomas, SignOn{})
	r.must(id, tomas, SignOff{})
	r.must(id, olga, Cancel{Words: "orders to sail", ToolsBack: 4, GuardsBack: true})
	r.takeOff(id)
	r.refuses(id, chief, Close{Positions: true, Told: true}, "close")
	r.must(id, olga, PutBack{N: 1, Tried: true})
	r.refuses(id, chief, Close{Positions: true, Told: true}, "close")
	r.at = r.at.Add(time.Hour)
	r.must(id, karim, LeavePost{Post: isolation.FireWatch, Quiet: true})
	r.must(id, chief, Close{Positions: true, Told: true})
}

// TestSpaceThatIsNotProvedDrainedHasALawfulWay: behind blanks alone, the air within its limits, and two signatures; not
// where something still flows in, and not behind valves.
func TestSpaceThatIsNotProvedDrainedHasALawfulWay(t *testing.T) {
	r := newRig(t)
	id := r.untilSpaceProving("T1-entry")
	r.pace = time.Minute
	d := r.permits[id].Drains()[0].Section
	short := RecordDrain{Section: d.ID, Reading: isolation.DrainReading{OutL: d.OutL / 2, HoldS: 900, TempC: d.TempC},
		Into: "drain tank", Words: "sludge in the drain"}
	r.must(id, tomas, short)
	accept := AcceptDeviation{Section: d.ID, Words: "sludge on the bottom is shovelled out by hand"}
	consent := ConsentDeviation{Section: d.ID}
	r.refuses(id, chief, accept, "deviation") // no air was tested
	r.testAir(id, tomas)
	r.refuses(id, olga, consent, "deviation")
	r.must(id, chief, accept)
	r.refuses(id, tomas, Prove{}, "prove") // one signature
	r.must(id, olga, consent)
	r.refuses(id, olga, consent, "deviation")
	r.must(id, tomas, Prove{})

	short.Words = "drained for longer"
	r.must(id, tomas, short) // a new reading takes both back
	r.refuses(id, olga, consent, "deviation")
	passing := short
	passing.Reading.OutL, passing.Reading.HoldInL = d.OutL, 40
	r.must(id, tomas, passing)
	if f := r.permits[id].Drains()[0].Finding; f.Result != "passing" {
		t.Fatalf("40 L in the hold were found %q, want passing", f.Result)
	}
	r.refuses(id, chief, accept, "deviation")

	r = newRig(t) // hot work at a wall behind a valve alone
	id = r.untilSpaceProving("T1-weld")
	d = r.permits[id].Drains()[0].Section
	short.Section = d.ID
	r.must(id, tomas, short)
	r.testAir(id, tomas)
	r.refuses(id, chief, AcceptDeviation{Section: d.ID, Words: "a little water stays"}, "deviation")
}

// TestPeriodOfAKindOfWorkIsItsOwn: an entry runs for 8 h at most, whatever the rules file allows.
func TestPeriodOfAKindOfWorkIsItsOwn(t *testing.T) {
	r := newRig(t)
	r.must(0, tomas, Request{Plan: r.space("T1-entry"), Work: "Inspection"})
	r.refuses(1, olga, Authorise{Hours: 12, Tags: r.tags(1)}, "form")
	r.must(1, olga, Authorise{Hours: 8, Tags: r.tags(1)})
}
