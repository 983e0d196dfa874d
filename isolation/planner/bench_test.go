package planner

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proof"
)

// readDemo reads the demo's plant.
func readDemo(b *testing.B) *isolation.Plant {
	text, err := os.ReadFile(demoPlant)
	if err != nil {
		b.Fatal(err)
	}
	p, err := plantfile.Read(demoPlant, text)
	if err != nil {
		b.Fatal(err)
	}
	return p
}

func BenchmarkMakeAndProveDemo(b *testing.B) {
	p := readDemo(b)
	made, before := 0, cpuTime()
	for b.Loop() {
		made++
		plan, err := Make(p, plantfile.ShippedRules(), "S1-bowl", isolation.Circumstances{})
		if err != nil {
			b.Fatal(err)
		}
		if _, err := proof.Prove(p, plantfile.ShippedRules(), plan, isolation.Circumstances{}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(cpuTime()-before)/float64(made), "cpu-ns/op")
}

// BenchmarkProve is the proof alone, as every authorisation asks it inside the register's one writer: a separator of
// the demo's ship, and one of 50 separators that have nothing in common.
func BenchmarkProve(b *testing.B) {
	fifty, err := plantfile.Read("separators", []byte(separators(50)))
	if err != nil {
		b.Fatal(err)
	}
	for _, bc := range []struct {
		name  string
		plant *isolation.Plant
		job   string
	}{{"demo", readDemo(b), "S1-bowl"}, {"50 separators", fifty, "J7"}} {
		b.Run(bc.name, func(b *testing.B) {
			rules := plantfile.ShippedRules()
			plan, err := Make(bc.plant, rules, bc.job, isolation.Circumstances{})
			if err != nil || !plan.Feasible {
				b.Fatal(err, plan.Words)
			}
			b.ReportAllocs()
			for b.Loop() {
				if _, err := proof.Prove(bc.plant, rules, plan, isolation.Circumstances{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// separators writes a plant of many separators, each with motors, fuel, water, heating steam and tanks of its own: 27
// nodes a separator.
func separators(count int) string {
	each := func(text string) string {
		var out strings.Builder
		for i := range count {
			out.WriteString(strings.ReplaceAll(text, "#", fmt.Sprint(i)))
		}
		return out.String()
	}
	return `plant: separators
fluids:
  MDO: {family: distillate fuel, density_15: 870, viscosity: [{at: 40, cst: 5.5}, {at: 100, cst: 1.9}], tension: 0.028}
  water: {family: water, density_15: 999, viscosity: [{at: 20, cst: 1.0}, {at: 80, cst: 0.365}], tension: 0.072}
nodes:
` + each(`  - {id: board#, kind: source, energy: electrical, volt: 440}
  - {id: QB#, kind: breaker}
  - {id: QP#, kind: breaker}
  - {id: QA#, kind: breaker}
  - {id: motor#, kind: consumer}
  - {id: pump-motor#, kind: consumer}
  - {id: actuator#, kind: consumer}
  - {id: a#, kind: source, energy: fuel, fluid: MDO, gauge_bar: 0.3, temp_c: 30, elevation_m: 5}
  - {id: V#, kind: valve}
  - {id: bowl#, kind: vessel, fluid: MDO, volume_l: 4, elevation_m: 1.2, top_m: 1.5}
  - {id: W#, kind: valve}
  - {id: b#, kind: source, energy: fuel, fluid: MDO, gauge_bar: 0.5, temp_c: 30, elevation_m: 6}
  - {id: X#, kind: valve}
  - {id: c#, kind: source, energy: fuel, fluid: MDO, gauge_bar: 0.1, temp_c: 30, elevation_m: 0.8}
  - {id: D#, kind: opening, role: drain, bore_mm: 15, elevation_m: 1.1}
  - {id: A#, kind: opening, role: vent, bore_mm: 15, elevation_m: 1.6}
  - {id: w#, kind: source, energy: fresh-water, fluid: water, gauge_bar: 3, temp_c: 20, elevation_m: 4}
  - {id: O#, kind: valve}
  - {id: P#, kind: valve}
  - {id: t#, kind: source, energy: steam, fluid: water, gauge_bar: 7, temp_c: 170, elevation_m: 3}
  - {id: S#, kind: valve}
  - {id: Y#, kind: opening, role: drain, bore_mm: 10, elevation_m: 1.9}
  - {id: y#, kind: junction}
  - {id: T#, kind: valve}
  - {id: jacket#, kind: vessel, fluid: water, volume_l: 6, elevation_m: 1.5, top_m: 2}
  - {id: K#, kind: opening, role: drain, bore_mm: 15, elevation_m: 1.4}
  - {id: H#, kind: opening, role: vent, bore_mm: 15, elevation_m: 2.1}
`) + "links:\n" + each(`  - {a: board#, b: QB#}
  - {a: board#, b: QP#}
  - {a: board#, b: QA#}
  - {a: QB#, b: motor#}
  - {a: QP#, b: pump-motor#}
  - {a: QA#, b: actuator#}
  - {a: a#, b: V#, bore_mm: 50, length_m: 4, invert_m: [3, 1.3]}
  - {a: V#, b: bowl#, bore_mm: 50, length_m: 0.5, invert_m: [1.3, 1.3]}
  - {a: bowl#, b: W#, bore_mm: 40, length_m: 0.5, invert_m: [1.5, 1.7]}
  - {a: W#, b: b#, bore_mm: 40, length_m: 6, invert_m: [1.7, 4]}
  - {a: bowl#, b: X#, bore_mm: 40, length_m: 0.5, invert_m: [1.2, 1]}
  - {a: X#, b: c#, bore_mm: 40, length_m: 3, invert_m: [1, 0.9]}
  - {a: bowl#, b: D#, bore_mm: 15, length_m: 0.2, invert_m: [1.2, 1.1]}
  - {a: bowl#, b: A#, bore_mm: 15, length_m: 0.2, invert_m: [1.5, 1.6]}
  - {a: w#, b: O#, bore_mm: 20, length_m: 2, invert_m: [3, 1.6]}
  - {a: O#, b: bowl#, bore_mm: 20, length_m: 1, invert_m: [1.6, 1.5]}
  - {a: w#, b: P#, bore_mm: 20, length_m: 2, invert_m: [3, 1.6]}
  - {a: P#, b: bowl#, bore_mm: 20, length_m: 1, invert_m: [1.6, 1.5]}
  - {a: t#, b: S#, bore_mm: 25, length_m: 3, invert_m: [3, 2]}
  - {a: S#, b: y#, bore_mm: 25, length_m: 0.3, invert_m: [2, 2]}
  - {a: y#, b: Y#, bore_mm: 10, length_m: 0.2, invert_m: [2, 1.9]}
  - {a: y#, b: T#, bore_mm: 25, length_m: 0.3, invert_m: [2, 2]}
  - {a: T#, b: jacket#, bore_mm: 25, length_m: 1, invert_m: [2, 2]}
  - {a: jacket#, b: K#, bore_mm: 15, length_m: 0.2, invert_m: [1.5, 1.4]}
  - {a: jacket#, b: H#, bore_mm: 15, length_m: 0.2, invert_m: [2, 2.1]}
`) + "machines:\n" + each("  - {id: M#, name: Separator #, nodes: [bowl#, jacket#, motor#, pump-motor#, actuator#]}\n") +
		"jobs:\n" + each("  - {id: J#, machine: M#, title: Bowl overhaul, opens: [bowl#, jacket#, motor#, pump-motor#, "+
		"actuator#], exposure: open}\n")
}

// fleet writes a plant of many pumps on two headers, each with drain, vent and breaker: nine nodes a pump.
func fleet(pumps int) string {
	var nodes, links strings.Builder
	nodes.WriteString("plant: fleet\nnodes:\n  - {id: board, kind: source, energy: electrical, volt: 440}\n  - {id: " +
		"tank, kind: source, energy: fuel}\n  - {id: far, kind: source, energy: fuel}\n")
	for i := range pumps {
		fmt.Fprintf(&nodes, "  - {id: S%[1]d, kind: junction}\n  - {id: R%[1]d, kind: junction}\n  - {id: Q%[1]d, kind: "+
			"breaker}\n  - {id: M%[1]d, kind: consumer}\n  - {id: V%[1]d, kind: valve}\n  - {id: W%[1]d, kind: valve}\n  - "+
			"{id: P%[1]d, kind: vessel, volume_l: 4, elevation_m: 1, top_m: 1.3}\n  - {id: D%[1]d, kind: opening, role: "+
			"drain, bore_mm: 15, elevation_m: 0.9}\n  - {id: A%[1]d, kind: opening, role: vent, bore_mm: 15, elevation_m: "+
			"1.4}\n", i)
		before, after := "tank", "far"
		if i > 0 {
			before, after = fmt.Sprintf("S%d", i-1), fmt.Sprintf("R%d", i-1)
		}
		fmt.Fprintf(&links, "  - {a: %[2]s, b: S%[1]d, bore_mm: 80, length_m: 2, invert_m: [1.2, 1.2]}\n  - {a: R%[1]d, b: "+
			"%[3]s, bore_mm: 80, length_m: 2, invert_m: [1.5, 1.5]}\n  - {a: S%[1]d, b: V%[1]d, bore_mm: 50, length_m: 1, "+
			"invert_m: [1.2, 1.2]}\n  - {a: V%[1]d, b: P%[1]d, bore_mm: 50, length_m: 1, invert_m: [1.2, 1.1]}\n  - {a: "+
			"P%[1]d, b: W%[1]d, bore_mm: 50, length_m: 1, invert_m: [1.2, 1.2]}\n  - {a: W%[1]d, b: R%[1]d, bore_mm: 50, "+
			"length_m: 1, invert_m: [1.2, 1.5]}\n  - {a: board, b: Q%[1]d}\n  - {a: Q%[1]d, b: M%[1]d}\n  - {a: M%[1]d, b: "+
			"P%[1]d}\n  - {a: P%[1]d, b: D%[1]d, bore_mm: 15, length_m: 0.2, invert_m: [1, 0.9]}\n  - {a: P%[1]d, b: "+
			"A%[1]d, bore_mm: 15, length_m: 0.2, invert_m: [1.3, 1.4]}\n", i, before, after)
	}
	return nodes.String() + "links:\n" + links.String() + "jobs:\n  - {id: j, opens: [P7, M7]}\n"
}

func BenchmarkMakeAndProveFleet(b *testing.B) {
	for _, pumps := range []int{100, 1000} {
		b.Run(fmt.Sprintf("%d nodes", 9*pumps), func(b *testing.B) {
			p, err := plantfile.Read("fleet", []byte(fleet(pumps)))
			if err != nil {
				b.Fatal(err)
			}
			for b.Loop() {
				plan, err := Make(p, plantfile.ShippedRules(), "j", isolation.Circumstances{})
				if err != nil || !plan.Feasible {
					b.Fatal(err, plan.Words)
				}
				if _, err := proof.Prove(p, plantfile.ShippedRules(), plan, isolation.Circumstances{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
