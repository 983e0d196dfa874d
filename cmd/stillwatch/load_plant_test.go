package main

import (
	"fmt"
	"strings"
)

// loadPlant is as many separators as there are permits, each with lines and tanks of its own, so that no permit's point
// is another's. Each has three motors, fuel in and out, sludge, operating and displacement water and heating steam
// behind two valves: a plan of about as many steps as such a machine has.
func loadPlant() string {
	var b strings.Builder
	b.WriteString("plant: Separators\nfluids:\n  MDO: {family: distillate fuel, density_15: 870, viscosity: [{at: 40, " +
		"cst: 5.5}, {at: 100, cst: 1.9}], tension: 0.028}\n  fresh water: {family: water, density_15: 999, viscosity: " +
		"[{at: 20, cst: 1.0}, {at: 80, cst: 0.365}], tension: 0.072}\n  condensate: {family: water, density_15: 999, " +
		"viscosity: [{at: 20, cst: 1.0}, {at: 80, cst: 0.365}], tension: 0.060}\nnodes:\n")
	each := func(format string) {
		for i := range loadPermits {
			b.WriteString(strings.ReplaceAll(format, "#", fmt.Sprint(i)))
		}
	}
	each(`  - {id: board#, kind: source, energy: electrical, volt: 440}
  - {id: QB#, kind: breaker, lockable: true, place: {deck: 2, frame: 10, side: port}}
  - {id: QP#, kind: breaker, lockable: true, place: {deck: 2, frame: 10, side: port}}
  - {id: QA#, kind: breaker, lockable: true, place: {deck: 2, frame: 10, side: port}}
  - {id: motor#, kind: consumer}
  - {id: pump-motor#, kind: consumer}
  - {id: actuator#, kind: consumer}
  - {id: a#, kind: source, energy: fuel, fluid: MDO, gauge_bar: 0.3, temp_c: 30, elevation_m: 5.0}
  - {id: V#, kind: valve, lockable: true, place: {deck: 1, frame: 11, side: port}}
  - {id: bowl#, kind: vessel, fluid: MDO, volume_l: 4, elevation_m: 1.2, top_m: 1.5}
  - {id: W#, kind: valve, lockable: true, place: {deck: 1, frame: 12, side: port}}
  - {id: b#, kind: source, energy: fuel, fluid: MDO, gauge_bar: 0.5, temp_c: 30, elevation_m: 6.0}
  - {id: X#, kind: valve, lockable: true, place: {deck: 0, frame: 11, side: port}}
  - {id: c#, kind: source, energy: fuel, fluid: MDO, gauge_bar: 0.1, temp_c: 30, elevation_m: 0.8}
  - {id: D#, kind: opening, role: drain, bore_mm: 15, elevation_m: 1.1, place: {deck: 1, frame: 11, side: port}}
  - {id: A#, kind: opening, role: vent, bore_mm: 15, elevation_m: 1.6, place: {deck: 1, frame: 11, side: port}}
  - {id: w#, kind: source, energy: fresh-water, fluid: fresh water, gauge_bar: 3, temp_c: 20, elevation_m: 4}
  - {id: O#, kind: valve, lockable: true, place: {deck: 1, frame: 13, side: port}}
  - {id: P#, kind: valve, lockable: true, place: {deck: 1, frame: 13, side: port}}
  - {id: t#, kind: source, energy: steam, fluid: condensate, gauge_bar: 7, temp_c: 170, elevation_m: 3}
  - {id: S#, kind: valve, lockable: true, place: {deck: 1, frame: 14, side: port}}
  - {id: Y#, kind: opening, role: drain, bore_mm: 10, elevation_m: 1.9, place: {deck: 1, frame: 14, side: port}}
  - {id: y#, kind: junction}
  - {id: T#, kind: valve, lockable: true, place: {deck: 1, frame: 14, side: port}}
  - {id: jacket#, kind: vessel, fluid: condensate, volume_l: 6, elevation_m: 1.5, top_m: 2}
  - {id: K#, kind: opening, role: drain, bore_mm: 15, elevation_m: 1.4, place: {deck: 1, frame: 14, side: port}}
  - {id: H#, kind: opening, role: vent, bore_mm: 15, elevation_m: 2.1, place: {deck: 1, frame: 14, side: port}}
`)
	b.WriteString("links:\n")
	each(`  - {a: board#, b: QB#}
  - {a: board#, b: QP#}
  - {a: board#, b: QA#}
  - {a: QB#, b: motor#}
  - {a: QP#, b: pump-motor#}
  - {a: QA#, b: actuator#}
  - {a: a#, b: V#, bore_mm: 50, length_m: 4, invert_m: [3.0, 1.3]}
  - {a: V#, b: bowl#, bore_mm: 50, length_m: 0.5, invert_m: [1.3, 1.3]}
  - {a: bowl#, b: W#, bore_mm: 40, length_m: 0.5, invert_m: [1.5, 1.7]}
  - {a: W#, b: b#, bore_mm: 40, length_m: 6, invert_m: [1.7, 4.0]}
  - {a: bowl#, b: X#, bore_mm: 40, length_m: 0.5, invert_m: [1.2, 1.0]}
  - {a: X#, b: c#, bore_mm: 40, length_m: 3, invert_m: [1.0, 0.9]}
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
`)
	b.WriteString("machines:\n")
	each("  - {id: M#, name: Separator #, nodes: [bowl#, jacket#, motor#, pump-motor#, actuator#]}\n")
	b.WriteString("jobs:\n")
	each("  - {id: J#, machine: M#, title: Bowl overhaul, opens: [bowl#, jacket#, motor#, pump-motor#, actuator#], " +
		"exposure: open}\n")
	return b.String()
}
