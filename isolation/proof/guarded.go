package proof

import (
	"fmt"

	"stillwatch/isolation"
)

// guarded checks that no step relies on a point which only the boundary of another permit keeps from every source:
// nothing that is done under this permit could show that it holds. What this plan holds itself, also with others, is
// passed.
func (v *prover) guarded() error {
	others, some := make([]bool, len(v.plant.Nodes)), false
	for _, h := range v.facts.Held {
		if i := v.number(h.Point); i >= 0 && v.plant.Nodes[i].Kind != isolation.Opening &&
			h.Position == v.plant.Nodes[i].Kind.Isolating() {
			others[i], some = h.Permit != "", true
		}
	}
	if !some {
		return nil
	}
	pressed := v.pressed(func(i int32) bool { return v.work[i] || others[i] && v.shut[i] == nil })
	ever := v.pressed(func(i int32) bool { return v.work[i] })
	for _, s := range v.plan.Steps {
		if i := v.number(s.Point); s.Isolates() && !others[i] && ever[i] && !pressed[i] {
			return fmt.Errorf("step %d relies on %s, which stands behind the boundary of another permit and is proved by "+
				"nothing", s.N, s.Point)
		}
	}
	return nil
}

// pressed marks what some source can come to without crossing a node that bars.
func (v *prover) pressed(bars func(int32) bool) []bool {
	var sources []int32
	for i := range v.plant.Nodes {
		if v.plant.Nodes[i].Kind == isolation.Source {
			sources = append(sources, int32(i))
		}
	}
	return v.spread(v.next, sources, bars)
}
