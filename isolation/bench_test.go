package isolation

import (
	"fmt"
	"os"
	"strings"
	"testing"
)

func BenchmarkMakeAndProveDemo(b *testing.B) {
	text, err := os.ReadFile(demoPlant)
	if err != nil {
		b.Fatal(err)
	}
	p, err := Read(demoPlant, text)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		plan, err := Make(p, ShippedRules(), "S1-bowl", Circumstances{})
		if err != nil {
			b.Fatal(err)
		}
		if _, err := Prove(p, ShippedRules(), plan, Circumstances{}); err != nil {
			b.Fatal(err)
		}
	}
}

// fleet writes a plant of many pumps on two headers, each with drain, vent and breaker: nine nodes a pump.
func fleet(pumps int) string {
	var nodes, links strings.Builder
	nodes.WriteString("plant: fleet\nnodes:\n  - {id: board, kind: source, energy: electrical, volt: 440}\n  - {id: tank, kind: source, energy: fuel}\n  - {id: far, kind: source, energy: fuel}\n")
	for i := range pumps {
		fmt.Fprintf(&nodes, "  - {id: S%[1]d, kind: junction}\n  - {id: R%[1]d, kind: junction}\n  - {id: Q%[1]d, kind: breaker}\n  - {id: M%[1]d, kind: consumer}\n  - {id: V%[1]d, kind: valve}\n  - {id: W%[1]d, kind: valve}\n  - {id: P%[1]d, kind: vessel, volume_l: 4, elevation_m: 1, top_m: 1.3}\n  - {id: D%[1]d, kind: opening, role: drain, bore_mm: 15, elevation_m: 0.9}\n  - {id: A%[1]d, kind: opening, role: vent, bore_mm: 15, elevation_m: 1.4}\n", i)
		before, after := "tank", "far"
		if i > 0 {
			before, after = fmt.Sprintf("S%d", i-1), fmt.Sprintf("R%d", i-1)
		}
		fmt.Fprintf(&links, "  - {a: %[2]s, b: S%[1]d, bore_mm: 80, length_m: 2, invert_m: [1.2, 1.2]}\n  - {a: R%[1]d, b: %[3]s, bore_mm: 80, length_m: 2, invert_m: [1.5, 1.5]}\n  - {a: S%[1]d, b: V%[1]d, bore_mm: 50, length_m: 1, invert_m: [1.2, 1.2]}\n  - {a: V%[1]d, b: P%[1]d, bore_mm: 50, length_m: 1, invert_m: [1.2, 1.1]}\n  - {a: P%[1]d, b: W%[1]d, bore_mm: 50, length_m: 1, invert_m: [1.2, 1.2]}\n  - {a: W%[1]d, b: R%[1]d, bore_mm: 50, length_m: 1, invert_m: [1.2, 1.5]}\n  - {a: board, b: Q%[1]d}\n  - {a: Q%[1]d, b: M%[1]d}\n  - {a: M%[1]d, b: P%[1]d}\n  - {a: P%[1]d, b: D%[1]d, bore_mm: 15, length_m: 0.2, invert_m: [1, 0.9]}\n  - {a: P%[1]d, b: A%[1]d, bore_mm: 15, length_m: 0.2, invert_m: [1.3, 1.4]}\n", i, before, after)
	}
	return nodes.String() + "links:\n" + links.String() + "jobs:\n  - {id: j, opens: [P7, M7]}\n"
}

func BenchmarkMakeAndProveFleet(b *testing.B) {
	for _, pumps := range []int{100, 1000} {
		b.Run(fmt.Sprintf("%d nodes", 9*pumps), func(b *testing.B) {
			p, err := Read("fleet", []byte(fleet(pumps)))
			if err != nil {
				b.Fatal(err)
			}
			for b.Loop() {
				plan, err := Make(p, ShippedRules(), "j", Circumstances{})
				if err != nil || !plan.Feasible {
					b.Fatal(err, plan.Words)
				}
				if _, err := Prove(p, ShippedRules(), plan, Circumstances{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
