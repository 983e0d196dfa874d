package planner

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proof"
)

// readPlant reads a plant written out in a test.
func readPlant(t *testing.T, text string) *isolation.Plant {
	t.Helper()
	p, err := plantfile.Read("test", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// makeProved makes the plan of a job and has it proved; it fails the test where either does not work.
func makeProved(t *testing.T, p *isolation.Plant, job string, c isolation.Circumstances) isolation.Plan {
	t.Helper()
	plan, err := Make(p, plantfile.ShippedRules(), job, c)
	if err != nil {
		t.Fatal(err)
	}
	if !plan.Feasible {
		t.Fatalf("Make(%s) = no plan: %s", job, plan.Words)
	}
	if _, err := proof.Prove(p, plantfile.ShippedRules(), plan, c); err != nil {
		t.Fatalf("Prove = %v, want proved", err)
	}
	return plan
}

// shown returns a plan's steps in short: "lock V1 closed".
func shown(plan isolation.Plan) []string {
	out := []string{}
	for _, s := range plan.Steps {
		hang := "tag"
		if s.Lock {
			hang = "lock"
		}
		out = append(out, hang+" "+string(s.Point)+" "+string(s.Position))
	}
	return out
}

const pump = `
plant: pump between two tanks
nodes:
  - {id: board, kind: source, energy: electrical, volt: 440}
  - {id: tank, kind: source, energy: fuel, gauge_bar: 0.5}
  - {id: far, kind: source, energy: fuel, gauge_bar: 0.8}
  - {id: Q1, kind: breaker}
  - {id: motor, kind: consumer}
  - {id: V1, kind: valve}
  - {id: casing, kind: vessel}
  - {id: NRV, kind: check-valve}
  - {id: V2, kind: valve}
links:
  - {a: board, b: Q1}
  - {a: Q1, b: motor}
  - {a: motor, b: casing}
  - {a: tank, b: V1}
  - {a: V1, b: casing}
  - {a: casing, b: NRV}
  - {a: NRV, b: V2}
  - {a: V2, b: far}
jobs:
  - {id: seal, opens: [casing]}
`

// DOE-STD-1030-96, 4.2.3.1: a pump's motor locked off is not enough, because flow turns it.
func TestPumpNeedsSuctionAndDischargeBesideItsMotor(t *testing.T) {
	plan := makeProved(t, readPlant(t, pump), "seal", isolation.Circumstances{})
	want := []string{"lock Q1 open", "lock V1 closed", "lock V2 closed"}
	if d := cmp.Diff(want, shown(plan)); d != "" {
		t.Errorf("steps (-want +got):\n%s", d)
	}
}

// DOE-STD-1030-96: a check valve is no boundary unless gagged.
func TestCheckValveIsNoBoundary(t *testing.T) {
	text := strings.NewReplacer("  - {id: V2, kind: valve}\n", "", "{a: NRV, b: V2}", "{a: NRV, b: far}",
		"  - {a: V2, b: far}\n", "").Replace(pump)
	plan, err := Make(readPlant(t, text), plantfile.ShippedRules(), "seal", isolation.Circumstances{})
	if err != nil {
		t.Fatal(err)
	}
	want := []isolation.NodeID{"far", "NRV", "casing"}
	if plan.Feasible || !slices.Equal(plan.Uncut, want) {
		t.Errorf("feasible %v, uncut %v; want no plan and the way %v", plan.Feasible, plan.Uncut, want)
	}
	if !strings.Contains(plan.Words, "check valve does not isolate") {
		t.Errorf("words = %q, want the check valve named as the reason", plan.Words)
	}
}

const steamLine = `
plant: steam to a heater
nodes:
  - {id: main, kind: source, energy: steam, gauge_bar: 7, temp_c: 170}
  - {id: V1, kind: valve}
  - {id: leg, kind: junction}
  - {id: D1, kind: opening}
  - {id: V2, kind: valve}
  - {id: heater, kind: vessel}
links:
  - {a: main, b: V1}
  - {a: V1, b: leg}
  - {a: leg, b: D1}
  - {a: leg, b: V2}
  - {a: V2, b: heater}
jobs:
  - {id: tubes, opens: [heater]}
  - {id: inside, opens: [heater], exposure: enter}
`

// 29 CFR 1915.163(a)(1)-(2): valves welded in: at least two in series secured, and the drains open.
func TestWeldedSteamValvesAreShutInSeriesWithTheDrainBetweenOpen(t *testing.T) {
	plan := makeProved(t, readPlant(t, steamLine), "tubes", isolation.Circumstances{})
	want := []string{"lock V1 closed", "lock V2 closed", "tag D1 open"}
	if d := cmp.Diff(want, shown(plan)); d != "" {
		t.Errorf("steps (-want +got):\n%s", d)
	}
}

// 29 CFR 1915.163(a)(1): where valves are bolted, the blank goes between dead and live, here by a rule of the company.
func TestBoltedSteamValveIsBlanked(t *testing.T) {
	p := readPlant(t, strings.Replace(steamLine, "{id: V2, kind: valve}", "{id: V2, kind: blank}", 1))
	r, err := plantfile.ReadRules(
		"company",
		[]byte("rules:\n  - {energy: steam, demand: blank, because: bolted joints are "+
			"blanked}\n"),
	)
	if err != nil {
		t.Fatal(err)
	}
	plan, err := Make(p, r, "tubes", isolation.Circumstances{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := proof.Prove(p, r, plan, isolation.Circumstances{}); err != nil {
		t.Errorf("Prove = %v, want proved", err)
	}
	if got, want := shown(plan), []string{"lock V1 closed", "tag D1 open", "lock V2 fitted"}; !slices.Equal(got, want) {
		t.Errorf("steps = %v, want %v", got, want)
	}
}

// HSG253 (from memory), A.1050(27): entry on valves alone is not allowed.
func TestNobodyEntersOnValvesAlone(t *testing.T) {
	plan, err := Make(readPlant(t, steamLine), plantfile.ShippedRules(), "inside", isolation.Circumstances{})
	if err != nil {
		t.Fatal(err)
	}
	if plan.Feasible || len(plan.Uncut) == 0 || !strings.Contains(plan.Words, "blank") {
		t.Errorf("feasible %v, uncut %v, words %q; want no plan, and the way without a blank", plan.Feasible, plan.Uncut,
			plan.Words)
	}
}

func automatic(fails, supply string) string {
	return `
plant: fuel through an automatic valve
nodes:
  - {id: tank, kind: source, energy: fuel}
  - {id: air, kind: source, energy: control-air}
  - {id: A1, kind: valve}
  - {id: actuator, kind: consumer}
  - {id: AV, kind: automatic-valve, fails: ` + fails + supply + `}
  - {id: filter, kind: vessel}
links:
  - {a: tank, b: AV}
  - {a: AV, b: filter}
  - {a: air, b: A1}
  - {a: A1, b: actuator}
jobs:
  - {id: clean, opens: [filter]}
`
}

// DOE-STD-1030-96: a fail-closed valve counts only with its air isolated and tagged, and seen shut.
func TestFailClosedValveCountsOnlyWithItsAirIsolated(t *testing.T) {
	plan := makeProved(t, readPlant(t, automatic("closed", ", supply: A1")), "clean", isolation.Circumstances{})
	if got, want := shown(plan), []string{"lock A1 closed", "tag AV closed"}; !slices.Equal(got, want) {
		t.Errorf("steps = %v, want %v", got, want)
	}
	if plan.Cost != 2 || plan.LowerBound != 2 {
		t.Errorf("cost %d, bound %d; want 2 and 2, the valve and its air", plan.Cost, plan.LowerBound)
	}
	for _, tc := range []struct{ name, text string }{
		{"its supply is not known", automatic("closed", "")},
		{"it opens without air", automatic("open", ", supply: A1")},
	} {
		if plan, err := Make(readPlant(t, tc.text), plantfile.ShippedRules(), "clean",
			isolation.Circumstances{}); err != nil ||
			plan.Feasible {
			t.Errorf("%s: feasible %v, error %v; want no plan", tc.name, plan.Feasible, err)
		}
	}
	passing := isolation.Circumstances{Passing: []isolation.NodeID{"A1"}}
	if plan, err := Make(readPlant(t, automatic("closed", ", supply: A1")), plantfile.ShippedRules(), "clean",
		passing); err != nil || plan.Feasible {
		t.Errorf("with its air valve passing: feasible %v, error %v; want no plan", plan.Feasible, err)
	}
}

// 29 CFR 1915.89(c)(4): a tag instead of a lock needs a further physical measure.
func TestTagAloneDoesNotIsolate(t *testing.T) {
	bare := strings.Replace(pump, "{id: V1, kind: valve}", "{id: V1, kind: valve, lockable: false}", 1)
	if plan, err := Make(readPlant(t, bare), plantfile.ShippedRules(), "seal", isolation.Circumstances{}); err != nil ||
		plan.Feasible {
		t.Errorf("tag alone: feasible %v, error %v; want no plan", plan.Feasible, err)
	}
	wired := strings.Replace(pump, "{id: V1, kind: valve}",
		"{id: V1, kind: valve, lockable: false, measure: handle wired}", 1)
	plan := makeProved(t, readPlant(t, wired), "seal", isolation.Circumstances{})
	i := slices.IndexFunc(plan.Steps, func(s isolation.Step) bool { return s.Point == "V1" })
	if i < 0 || plan.Steps[i].Lock || plan.Steps[i].Measure != "handle wired" || plan.Locks != 2 || plan.Cost != 3 {
		t.Errorf("steps %v, locks %d, cost %d; want V1 tagged with its handle wired, 2 locks, 3 points", shown(plan),
			plan.Locks, plan.Cost)
	}
}

func TestPassingPointIsNotChosen(t *testing.T) {
	text := strings.Replace(pump, "{a: tank, b: V1}", "{a: tank, b: V0}", 1)
	text = strings.Replace(text, "  - {id: V1, kind: valve}\n", "  - {id: V0, kind: valve}\n  - {id: V1, kind: valve}\n",
		1)
	text = strings.Replace(text, "  - {a: V1, b: casing}\n", "  - {a: V0, b: V1}\n  - {a: V1, b: casing}\n", 1)
	p := readPlant(t, text)
	plan := makeProved(t, p, "seal", isolation.Circumstances{Passing: []isolation.NodeID{"V1"}})
	if got := shown(plan); !slices.Contains(got, "lock V0 closed") || slices.Contains(got, "lock V1 closed") {
		t.Errorf("steps = %v, want V0 in place of V1, which passes", got)
	}
	nearest := makeProved(t, p, "seal", isolation.Circumstances{})
	if got := shown(nearest); !slices.Contains(got, "lock V1 closed") {
		t.Errorf("steps = %v, want V1, which is nearest to the work", got)
	}
	if _, err := proof.Prove(p, plantfile.ShippedRules(), nearest,
		isolation.Circumstances{Passing: []isolation.NodeID{"V1"}}); err == nil {
		t.Error("Prove accepts a plan that relies on a point recorded as passing")
	}
}

// A drain between two points that another source can come to would run for ever: it is never relied on.
func TestDrainBetweenIsNeverLive(t *testing.T) {
	text := strings.Replace(steamLine, "  - {id: V1,", "  - {id: cold, kind: source, energy: water}\n  - {id: V1,", 1)
	text = strings.Replace(text, "links:\n", "links:\n  - {a: cold, b: leg}\n", 1)
	plan, err := Make(readPlant(t, text), plantfile.ShippedRules(), "tubes", isolation.Circumstances{})
	if err != nil {
		t.Fatal(err)
	}
	if plan.Feasible {
		t.Errorf("steps = %v, want no plan: the drain between the valves is fed with water", shown(plan))
	}
	held := strings.Replace(text, "{a: cold, b: leg}", "{a: cold, b: V3}\n  - {a: V3, b: leg}", 1)
	held = strings.Replace(held, "  - {id: leg,", "  - {id: V3, kind: valve}\n  - {id: leg,", 1)
	got := shown(makeProved(t, readPlant(t, held), "tubes", isolation.Circumstances{}))
	if want := []string{"lock V3 closed", "lock V1 closed", "lock V2 closed", "tag D1 open"}; len(got) != len(want) {
		t.Errorf("steps = %v, want those of %v: the water is shut too, so that the drain can be opened", got, want)
	}
}

func TestWhatCannotBePlannedSaysSo(t *testing.T) {
	p := readPlant(t, pump)
	if _, err := Make(p, plantfile.ShippedRules(), "nonsense", isolation.Circumstances{}); err == nil ||
		!strings.Contains(err.Error(), "no such job; it has seal") {
		t.Errorf("unknown job: %v, want the jobs that there are", err)
	}
	hand := *p // Read refuses such jobs; a plant made by hand may still have them
	hand.Jobs = []isolation.Job{{ID: "seal"}}
	if _, err := Make(&hand, plantfile.ShippedRules(), "seal", isolation.Circumstances{}); err == nil ||
		!strings.Contains(err.Error(), "opens nothing") {
		t.Errorf("opens nothing: %v, want a sentence that says so", err)
	}
	hand.Jobs = []isolation.Job{{ID: "seal", Opens: []isolation.NodeID{"casing", "tank"}}}
	if _, err := Make(&hand, plantfile.ShippedRules(), "seal", isolation.Circumstances{}); err == nil ||
		!strings.Contains(err.Error(), "source tank itself") {
		t.Errorf("a source in the work: %v, want a sentence that names it", err)
	}
	r, err := plantfile.ReadRules("company", []byte("rules:\n  - {energy: fuel, demand: single, because: fuel only}\n"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Make(p, r, "seal", isolation.Circumstances{}); err == nil || !strings.Contains(err.Error(), "board") {
		t.Errorf("a source without a rule: %v, want it named", err)
	}
}

func TestWorkThatNoSourceReachesNeedsNoPoint(t *testing.T) {
	p := readFile(t, "../../testdata/plants/two-pieces.yaml")
	for _, j := range p.Jobs {
		plan := makeProved(t, p, j.ID, isolation.Circumstances{})
		if len(plan.Sources) == 0 && (plan.Cost != 0 || strings.Contains(plan.Words, "nothing to isolate") ||
			len(plan.Unproved) == 0) {
			t.Errorf("job %s: cost %d, words %q, not proved %q; want no point, and that this proves nothing", j.ID, plan.Cost,
				plan.Words, plan.Unproved)
		}
	}
}

// Services come before locks: one valve in the header would do, two in the branches keep the third machine running.
func TestPlanTakesLittleFromOthersBeforeItSavesLocks(t *testing.T) {
	p := readPlant(t, `
plant: header
nodes:
  - {id: tank, kind: source, energy: fuel}
  - {id: V0, kind: valve}
  - {id: header, kind: junction}
  - {id: V1, kind: valve}
  - {id: V2, kind: valve}
  - {id: left, kind: vessel}
  - {id: right, kind: vessel}
  - {id: engine, kind: consumer}
links:
  - {a: tank, b: V0}
  - {a: V0, b: header}
  - {a: header, b: V1}
  - {a: header, b: V2}
  - {a: V1, b: left}
  - {a: V2, b: right}
  - {a: header, b: engine}
jobs:
  - {id: both, opens: [left, right]}
`)
	plan := makeProved(t, p, "both", isolation.Circumstances{})
	if plan.Cost != 2 || plan.SearchBound != 2 || len(plan.Lost) != 0 {
		t.Errorf("cost %d, bound %d, lost %v; want two branch valves and nothing lost", plan.Cost, plan.SearchBound,
			plan.Lost)
	}
	plan = makeProved(t, p, "both", isolation.Circumstances{Passing: []isolation.NodeID{"V1"}})
	if got, want := plan.Lost, []isolation.NodeID{"engine"}; plan.Cost != 1 || !slices.Equal(got, want) {
		t.Errorf("cost %d, lost %v; want the header valve alone, and %v lost", plan.Cost, got, want)
	}
}

func TestConflictsTellSharedFromContrary(t *testing.T) {
	plan := makeProved(t, readPlant(t, pump), "seal", isolation.Circumstances{})
	got := isolation.Conflicts(
		plan,
		[]isolation.Held{{Point: "V1", Position: isolation.Closed, Permit: "12"},
			{Point: "V2", Position: isolation.Open, Permit: "13"},
			{Point: "elsewhere", Position: isolation.Open, Permit: "14"}},
	)
	want := []isolation.Conflict{
		{Point: "V1", Wanted: isolation.Closed, Held: isolation.Closed, Permit: "12", Shared: true},
		{Point: "V2", Wanted: isolation.Closed, Held: isolation.Open, Permit: "13"},
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("Conflicts (-want +got):\n%s", d)
	}
}

func TestPassesNameWhatWouldComeIfOnePointPassed(t *testing.T) {
	plan := makeProved(t, readPlant(t, pump), "seal", isolation.Circumstances{})
	want := map[isolation.NodeID]string{"Q1": "board Q1 motor casing", "V1": "tank V1 casing", "V2": "far V2 NRV casing"}
	got := map[isolation.NodeID]string{}
	for _, p := range plan.Passes {
		var way []string
		for _, id := range p.Path {
			way = append(way, string(id))
		}
		got[p.Point] = strings.Join(way, " ")
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("passes (-want +got):\n%s", d)
	}
	if double := makeProved(t, readPlant(t, steamLine), "tubes", isolation.Circumstances{}); len(double.Passes) != 0 {
		t.Errorf("passes of a double = %v, want none: the other point still stands", double.Passes)
	}
}

// A spool is not taken out of a live line where a valve does as well, though the spool is nearer to the work.
func TestValveComesBeforeSpool(t *testing.T) {
	p := readPlant(t, `
plant: spool behind a valve
nodes:
  - {id: main, kind: source, energy: water}
  - {id: V1, kind: valve, awkward: 9}
  - {id: B1, kind: spool}
  - {id: tank, kind: vessel}
links:
  - {a: main, b: V1}
  - {a: V1, b: B1}
  - {a: B1, b: tank}
jobs:
  - {id: look, opens: [tank]}
`)
	if got, want := shown(makeProved(t, p, "look", isolation.Circumstances{})),
		[]string{"lock V1 closed"}; !slices.Equal(got, want) {
		t.Errorf("steps = %v, want %v", got, want)
	}
}

func TestAwkwardPlacesDecideBetweenEquals(t *testing.T) {
	p := readPlant(t, strings.Replace(strings.Replace(pump, "{a: tank, b: V1}", "{a: tank, b: V0}\n  - {a: V0, b: V1}", 1),
		"{id: V1, kind: valve}", "{id: V0, kind: valve}\n  - {id: V1, kind: valve, awkward: 3}", 1))
	if got := shown(makeProved(t, p, "seal", isolation.Circumstances{})); !slices.Contains(got, "lock V0 closed") ||
		len(got) != 3 {
		t.Errorf("steps = %v, want V0, which is easier to reach than V1", got)
	}
}

// A motive supply that stands in the line itself is shut with its valve, and then parts the stretch whose drain is
// needed.
func TestSupplyInTheLinePartsTheDrainBetween(t *testing.T) {
	p := readPlant(t, `
plant: supply in the line
nodes:
  - {id: s, kind: source, energy: steam}
  - {id: V1, kind: valve}
  - {id: V2, kind: valve}
  - {id: D, kind: opening}
  - {id: AV, kind: automatic-valve, fails: closed, supply: V2}
  - {id: work, kind: vessel}
links:
  - {a: s, b: V1}
  - {a: V1, b: V2}
  - {a: V2, b: D}
  - {a: V2, b: AV}
  - {a: AV, b: work}
jobs:
  - {id: j, opens: [work]}
`)
	plan, err := Make(p, plantfile.ShippedRules(), "j", isolation.Circumstances{})
	if err != nil || plan.Feasible || len(plan.Uncut) == 0 {
		t.Errorf("Make = %v, feasible %v, uncut %v; want no plan, and the way that cannot be cut", err, plan.Feasible,
			plan.Uncut)
	}
}

// A rule about wide lines must not be escaped through the narrow end of one, nor caught by a dead end beside the way.
func TestRuleAboutBoresSeesTheWideEnd(t *testing.T) {
	p := readPlant(t, `
plant: narrow end
nodes:
  - {id: s, kind: source, energy: water}
  - {id: V1, kind: valve}
  - {id: j, kind: junction}
  - {id: D, kind: opening}
  - {id: V2, kind: valve}
  - {id: work, kind: vessel}
  - {id: stump, kind: junction}
links:
  - {a: s, b: V1, bore_mm: 80}
  - {a: V1, b: j, bore_mm: 80}
  - {a: j, b: D, bore_mm: 10}
  - {a: j, b: stump, bore_mm: 400}
  - {a: j, b: V2, bore_mm: 15}
  - {a: V2, b: work, bore_mm: 15}
jobs:
  - {id: j, opens: [work]}
`)
	for _, tc := range []struct {
		above string
		cost  int64
	}{{"79", 2}, {"80", 1}} {
		r, err := plantfile.ReadRules(
			"bores",
			[]byte("rules:\n  - {above_bore_mm: "+tc.above+", demand: double, because: wide}\n  - "+
				"{demand: single, because: narrow}\n"),
		)
		if err != nil {
			t.Fatal(err)
		}
		plan, err := Make(p, r, "j", isolation.Circumstances{})
		if err != nil || plan.Cost != tc.cost {
			t.Errorf("above %s mm: cost %d, %v; want %d", tc.above, plan.Cost, err, tc.cost)
		}
		if _, err := proof.Prove(p, r, plan, isolation.Circumstances{}); err != nil {
			t.Errorf("above %s mm: Prove = %v, want proved", tc.above, err)
		}
	}
}
