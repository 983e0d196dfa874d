package isolation

import "fmt"

// guarded checks that no step relies on a point which only the boundary of another permit keeps from every source: nothing
// that is done under this permit could show that it holds. What this plan holds itself, also with others, is passed.
func (v *prover) guarded() error {
	others := map[NodeID]string{}
	for _, h := range v.facts.Held {
		if n := v.plant.Node(h.Point); n != nil && n.Kind != Opening && h.Position == n.Kind.Isolating() {
			others[h.Point] = h.Permit
		}
	}
	if len(others) == 0 {
		return nil
	}
	pressed := v.pressed(func(id NodeID) bool { return v.work[id] || others[id] != "" && v.shut[id] == nil })
	ever := v.pressed(func(id NodeID) bool { return v.work[id] })
	for _, s := range v.plan.Steps {
		if s.Isolates() && others[s.Point] == "" && ever[s.Point] && !pressed[s.Point] {
			return fmt.Errorf("step %d relies on %s, which stands behind the boundary of another permit and is proved by nothing", s.N, s.Point)
		}
	}
	return nil
}

// pressed marks what some source can come to without crossing a node that bars.
func (v *prover) pressed(bars func(NodeID) bool) map[NodeID]bool {
	seen := map[NodeID]bool{}
	var list []NodeID
	for i := range v.plant.Nodes {
		if n := &v.plant.Nodes[i]; n.Kind == Source {
			seen[n.ID] = true
			list = append(list, n.ID)
		}
	}
	for len(list) > 0 {
		at := list[0]
		list = list[1:]
		for _, to := range v.next[at] {
			if !seen[to] && !bars(to) {
				seen[to] = true
				list = append(list, to)
			}
		}
	}
	return seen
}
