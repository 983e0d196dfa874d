package proof

import (
	"fmt"

	"stillwatch/isolation"
)

// switching checks that no load is broken by what is not made for it: of two electrical points on one cable the breaker
// is opened before the disconnector, and that before fuses are drawn.
func (v *prover) switching() error {
	for i := range v.plan.Steps {
		late := &v.plan.Steps[i]
		if !late.Isolates() || late.Kind.Switching() == 0 {
			continue
		}
		var cable []bool
		for j := range v.plan.Steps[:i] {
			early := &v.plan.Steps[j]
			if !early.Isolates() || early.Kind.Switching() <= late.Kind.Switching() {
				continue
			}
			if cable == nil {
				cable = v.spread(v.next, []int32{v.number(late.Point)}, func(n int32) bool { return !v.isCable(n) })
			}
			if cable[v.number(early.Point)] {
				return fmt.Errorf("step %d opens %s before step %d opens %s on the same cable, which alone may break the load",
					early.N, early.Point, late.N, late.Point)
			}
		}
	}
	return nil
}

// isCable reports whether current passes a node to what stands behind it: electrical points and junctions, not what is
// opened, and no consumer or source, where another circuit begins.
func (v *prover) isCable(i int32) bool {
	kind := v.plant.Nodes[i].Kind
	return !v.work[i] && (kind.IsElectrical() || kind == isolation.Junction)
}
