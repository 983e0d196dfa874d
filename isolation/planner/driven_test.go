package planner

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proof"
)

// drivenPlant draws a plant with boards and cables, motors that drive pumps, heaters of steam and current, and a
// machine of some of it.
func drivenPlant(t *rapid.T) string {
	var nodes, links []string
	var cables, pipes []string // what may be joined
	node := func(list *[]string, id, format string, a ...any) string {
		nodes = append(nodes, fmt.Sprintf("  - {id: %s, %s}", id, fmt.Sprintf(format, a...)))
		if list != nil {
			*list = append(*list, id)
		}
		return id
	}
	join := func(a, b, more string) { links = append(links, fmt.Sprintf("  - {a: %s, b: %s%s}", a, b, more)) }
	of := func(what string, list ...string) string { return rapid.SampledFrom(list).Draw(t, what) }
	var boards []string
	for i := range rapid.IntRange(1, 2).Draw(t, "boards") {
		node(&boards, fmt.Sprintf("board%d", i), "kind: source, energy: electrical, volt: %s%s",
			of("volt", "230", "440", "6600"),
			of("earthed", "", "", ", earthed: true"))
	}
	var motors []string
	for i := range rapid.IntRange(1, 3).Draw(t, "circuits") {
		at := of("board", boards...)
		for j := range rapid.IntRange(0, 3).Draw(t, "points") {
			kind := of("point", "breaker", "breaker", "disconnector", "fuse", "switch", "junction")
			id := node(&cables, fmt.Sprintf("q%d%d", i, j), "kind: %s", kind)
			join(at, id, "")
			at = id
		}
		join(at, node(&motors, fmt.Sprintf("motor%d", i), "kind: consumer"), "")
		if rapid.Bool().Draw(t, "earth") {
			join(of("earth at", at, motors[i]), node(nil, fmt.Sprintf("earth%d", i), "kind: earth"), "")
		}
	}
	level := func() string { return of("level", "", "", ", elevation_m: 1", ", elevation_m: 5", ", elevation_m: 9") }
	for i := range rapid.IntRange(1, 3).Draw(t, "tanks") {
		node(&pipes, fmt.Sprintf("tank%d", i), "kind: source, energy: fuel, gauge_bar: %s%s",
			of("bar", "0", "0", "0.2", "3", "9"), level())
	}
	steam := node(nil, "steam", "kind: source, energy: steam, gauge_bar: 7, temp_c: 170")
	if rapid.IntRange(0, 2).Draw(t, "turbine") == 0 {
		join(steam, node(nil, "turbine-v", "kind: valve"), "")
		join("turbine-v", node(&motors, "turbine", "kind: consumer, energy: steam"), "")
	}
	var vessels []string
	for i := range rapid.IntRange(2, 8).Draw(t, "pieces") {
		id := fmt.Sprintf("p%d", i)
		kind := of("piece", "valve", "valve", "valve", "junction", "pump", "heater", "vessel", "opening", "check-valve")
		switch kind {
		case "pump":
			node(&vessels, id, "kind: vessel, lifts_bar: %d, drive: %s%s", rapid.IntRange(1, 9).Draw(t, "lifts"),
				of("drive", motors...), level())
		case "heater":
			by := of("element", motors...)
			if rapid.Bool().Draw(t, "by steam") {
				by = node(nil, id+"s", "kind: vessel")
				join(steam, node(nil, id+"v", "kind: valve%s", of("steam valve", "", "", ", normal: closed")), "")
				join(id+"v", by, "")
			}
			node(&vessels, id, "kind: vessel, heated_by: %s%s%s", by, level(),
				of("makes", "", ", temp_c: 90", ", temp_c: 135"))
		case "vessel":
			node(&vessels, id, "kind: vessel")
		case "valve":
			node(nil, id, "kind: valve%s", of("stands", "", "", "", ", normal: closed"))
		default:
			node(nil, id, "kind: %s", kind)
		}
		pipes = append(pipes, id)
	}
	for i := 1; i < len(pipes); i++ {
		a, b := pipes[rapid.IntRange(max(0, i-2), i-1).Draw(t, "after")], pipes[i]
		join(a, b, of("link", "", "", "", "", ", bore_mm: 50", ", one_way: true", ", air_gap: true"))
	}
	for range rapid.IntRange(0, 3).Draw(t, "more links") {
		if a, b := of("a", pipes...), of("b", pipes...); a != b {
			join(a, b, "")
		}
	}
	opens := append(append([]string(nil), vessels...), motors...)
	var kept []string
	if rapid.IntRange(0, 3).Draw(t, "keeps") == 0 {
		kept = append(kept, of("kept", opens...))
	}
	live := ""
	if rapid.IntRange(0, 3).Draw(t, "lives") == 0 {
		live = fmt.Sprintf(", live: [{id: %s, because: It cools another machine}]", of("live", motors...))
	}
	return fmt.Sprintf("plant: driven\nnodes:\n%s\nlinks:\n%s\nmachines:\n  - {id: M, name: Machine, nodes: [%s]}\n"+
		"  - {id: N, name: Other, nodes: [%s]}\njobs:\n  - {id: j, machine: M, opens: [%s], kept_off: [%s]%s}\n",
		strings.Join(nodes, "\n"), strings.Join(links, "\n"), of("of M", opens...), of("of N", opens...),
		of("opens", opens...),
		strings.Join(kept, ", "), live)
}

// severe are rules that ask for more than one point although nothing is opened.
const severe = "  - {energy: [fuel], above_bar: 8, demand: double, because: pressure}\n" +
	"  - {energy: [fuel], above_bore_mm: 40, demand: double, because: bore}\n"

// TestPlansOfDrivenPlantsAreProved holds planner and proof, which share no code, against each other on plants with
// drives, pumps, heaters and switchgear: every plan that is made is proved, and none that lacks one of its points.
func TestPlansOfDrivenPlantsAreProved(t *testing.T) {
	feasible, kept, earths, hot := 0, 0, 0, 0
	strict := companyRules(t, severe)
	rapid.Check(t, func(t *rapid.T) {
		text, rules := drivenPlant(t), plantfile.ShippedRules()
		if rapid.IntRange(0, 2).Draw(t, "rules") == 0 {
			rules = strict
		}
		p, err := plantfile.Read("driven", []byte(text))
		if err != nil {
			t.Skip(err)
		}
		plan, err := Make(p, rules, "j", isolation.Circumstances{})
		if err != nil {
			t.Fatalf("Make = %v\n%s", err, text)
		}
		if !plan.Feasible {
			return
		}
		feasible++
		if len(plan.Kept) > 0 {
			kept++
		}
		for _, s := range plan.Steps {
			if s.Phase == isolation.PhaseEarth {
				earths++
			}
			if s.Isolates() && s.Clearance == s.Position {
				hot++
			}
		}
		if _, err := proof.Prove(p, rules, plan, isolation.Circumstances{}); err != nil {
			t.Fatalf("Prove = %v\n%s\n%s", err, text, plainly(plan))
		}
		for n := range plan.Steps {
			if !plan.Steps[n].Isolates() {
				continue
			}
			if err := proveWithout(p, rules, plan, n); err == nil || strings.Contains(err.Error(), "it counts") {
				t.Fatalf("Prove without step %d = %v, want what it leaves open named\n%s\n%s", n+1, err, text, plainly(plan))
			}
		}
		if plan.LowerBound > plan.Cost {
			t.Fatalf("bound %d of %d\n%s", plan.LowerBound, plan.Cost, text)
		}
	})
	t.Logf("%d feasible, %d keep something off, %d earths, %d left cold", feasible, kept, earths, hot)
	if feasible == 0 || kept == 0 || earths == 0 || hot == 0 {
		t.Error("want some of each")
	}
}

// proveWithout asks the proof about a plan that lacks one of its steps and is in order otherwise.
func proveWithout(p *isolation.Plant, rules *isolation.Rules, plan isolation.Plan, n int) error {
	plan.Steps = slices.Delete(slices.Clone(plan.Steps), n, n+1)
	plan.Restore = []isolation.Restoring{{Kind: isolation.RestoreTell}, {Kind: isolation.RestoreEarths}}
	for i := range plan.Steps {
		plan.Steps[i].N = i + 1
		plan.Restore = slices.Insert(plan.Restore, 2, isolation.Restoring{Step: i + 1})
	}
	plan.Restore = append(plan.Restore, isolation.Restoring{Kind: isolation.RestoreClose})
	_, err := proof.Prove(p, rules, plan, isolation.Circumstances{})
	return err
}
