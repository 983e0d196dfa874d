package planner

import (
	"slices"
	"strings"
	"testing"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proof"
)

// entryLine is one line of air into a tank that people enter, with a place for one drain or vent.
func entryLine(at string) string {
	text := `
plant: air to a tank
nodes:
  - {id: main, kind: source, energy: air, gauge_bar: 7}
  - {id: V1, kind: valve}
  - {id: a, kind: junction}
  - {id: V2, kind: valve}
  - {id: b, kind: junction}
  - {id: B1, kind: spool}
  - {id: tank, kind: vessel}
links:
  - {a: main, b: V1}
  - {a: V1, b: a}
  - {a: a, b: V2}
  - {a: V2, b: b}
  - {a: b, b: B1}
  - {a: B1, b: tank}
jobs:
  - {id: inside, opens: [tank], exposure: enter}
`
	if at == "" {
		return text
	}
	return strings.NewReplacer("links:\n",
		"  - {id: D1, kind: opening, role: vent}\nlinks:\n  - {a: D1, b: "+at+"}\n").Replace(text)
}

// A joint is broken only when the line is down: the drain comes before the spool, the valve before the drain.
func TestSpoolComesOutOnlyAfterItsLineIsLetDown(t *testing.T) {
	for at, valve := range map[string]string{"b": "V2", "tank": "V2", "a": "V1"} {
		plan := makeProved(t, readPlant(t, entryLine(at)), "inside", isolation.Circumstances{})
		if got, want := shown(plan), []string{"lock " + valve + " closed", "tag D1 open",
			"lock B1 removed"}; !slices.Equal(got, want) {
			t.Errorf("vent at %s: steps = %v, want %v", at, got, want)
		}
		last := plan.Steps[len(plan.Steps)-1]
		if last.Phase != isolation.PhaseBlank || !last.Isolates() || !strings.Contains(last.Why, "only when D1 is open") {
			t.Errorf("vent at %s: last step in phase %q, why %q; want it to wait for D1", at, last.Phase, last.Why)
		}
	}
}

func TestNoJointIsBrokenWhereNothingLetsItsLineDown(t *testing.T) {
	for _, at := range []string{"", "main"} { // with no drain at all, or one that only the source could feed
		plan, err := Make(readPlant(t, entryLine(at)), plantfile.ShippedRules(), "inside", isolation.Circumstances{})
		if err != nil || plan.Feasible || !strings.Contains(plan.Words, "let its line down") &&
			!strings.Contains(plan.Words, "every line can be let down") {
			t.Errorf("vent at %q: Make = %v, feasible %v, words %q; want no plan because the line cannot be let down", at, err,
				plan.Feasible, plan.Words)
		}
	}
}

// HSG253, from memory: a blank or a spool is one demand, two valves are another; neither stands in for the other.
func TestBlankCountsForTheBlankDemandAlone(t *testing.T) {
	p := readPlant(t, strings.Replace(steamLine, "{id: V2, kind: valve}", "{id: V2, kind: spool}", 1))
	plan, err := Make(p, plantfile.ShippedRules(), "tubes", isolation.Circumstances{})
	if err != nil || plan.Feasible || !strings.Contains(plan.Words, "V2 does not count") {
		t.Errorf("a valve and a spool for a double: Make = %v, feasible %v, words %q; want no plan, and why the spool does "+
			"not count", err, plan.Feasible, plan.Words)
	}
	single := readPlant(t, strings.Replace(pump, "{id: V1, kind: valve}", "{id: V1, kind: spool}", 1))
	if plan, err := Make(single, plantfile.ShippedRules(), "seal", isolation.Circumstances{}); err != nil ||
		plan.Feasible {
		t.Errorf("a spool for a single: Make = %v, feasible %v; want no plan", err, plan.Feasible)
	}
	words, err := Why(single, plantfile.ShippedRules(), "seal", isolation.Circumstances{}, "V1")
	if err != nil || !strings.Contains(words, "only where a blank is demanded") {
		t.Errorf("Why(V1) = %q, %v; want that no blank is demanded", words, err)
	}
}

// Where one source wants a blank and another two valves on the same line, each is met by what counts for it.
func TestMixedDemandsOnOneLineAreEachMetByTheirOwnKind(t *testing.T) {
	text := strings.Replace(entryLine("b"), "links:\n",
		"  - {id: tray, kind: source, energy: steam}\nlinks:\n  - {a: tray, b: V1}\n", 1)
	r, err := plantfile.ReadRules(
		"company",
		[]byte("rules:\n  - {energy: steam, demand: double, because: drawn}\n  - {demand: "+
			"blank, because: drawn}\n"),
	)
	if err != nil {
		t.Fatal(err)
	}
	p := readPlant(t, text)
	if plan, err := Make(p, r, "inside", isolation.Circumstances{}); err != nil || plan.Feasible ||
		!strings.Contains(plan.Words, "drain or bleed") {
		t.Errorf("no drain between the valves: Make = %v, feasible %v, words %q; want no plan", err, plan.Feasible,
			plan.Words)
	}
	p = readPlant(t, strings.Replace(text, "{a: D1, b: b}", "{a: D1, b: a}", 1))
	plan, err := Make(p, r, "inside", isolation.Circumstances{})
	if err != nil {
		t.Fatal(err)
	}
	// V2 cannot be shut without cutting the spool off from D1, its only way to be let down.
	if plan.Feasible {
		t.Errorf("one drain for both: steps = %v, want no plan", shown(plan))
	}
	p = readPlant(t, strings.Replace(strings.Replace(text, "{a: D1, b: b}", "{a: D1, b: a}\n  - {a: D2, b: b}", 1),
		"links:\n", "  - {id: D2, kind: opening}\nlinks:\n", 1))
	if plan, err = Make(p, r, "inside", isolation.Circumstances{}); err != nil {
		t.Fatal(err)
	}
	if _, err := proof.Prove(p, r, plan, isolation.Circumstances{}); err != nil {
		t.Fatalf("Prove = %v, want proved", err)
	}
	got := shown(plan)
	slices.Sort(got)
	if want := []string{"lock B1 removed", "lock V1 closed", "lock V2 closed", "tag D1 open",
		"tag D2 open"}; !slices.Equal(got, want) || plan.SearchBound != 3 {
		t.Errorf("steps = %v, bound of the search %d; want %v and 3", shown(plan), plan.SearchBound, want)
	}
}

// A blank that stands fitted anyway is tagged with the valves: no joint is broken for it.
func TestBlankThatStandsFittedIsHeldWithTheValves(t *testing.T) {
	text := strings.Replace(entryLine(""), "{id: B1, kind: spool}", "{id: B1, kind: blank, normal: fitted}", 1)
	plan := makeProved(t, readPlant(t, text), "inside", isolation.Circumstances{})
	for _, s := range plan.Steps {
		if s.Phase != isolation.PhaseIsolate {
			t.Errorf("%s is in phase %q, want %q", s.Point, s.Phase, isolation.PhaseIsolate)
		}
	}
}
