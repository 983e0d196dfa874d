package isolation

// sayDeadTests lists the electrical parts of the work that must be proved dead: every node of the work, or of the
// isolated envelope next to it, that an electrical source of the plant would feed.
func (k *task) sayDeadTests(plan *Plan, shut []bool) {
	seen := map[int32]bool{}
	for _, w := range k.sources {
		src := k.at(w.node)
		if src.Energy.Nature() != Current {
			continue
		}
		for _, z := range k.zone {
			if seen[z] || !k.fedByCable(z, w.node) {
				continue
			}
			seen[z] = true
			n := k.at(z)
			name := n.Name
			if name == "" {
				name = string(n.ID)
			}
			plan.DeadTests = append(plan.DeadTests, DeadTest{ID: "dead-" + string(n.ID), Node: n.ID, Name: name, Volt: src.Volt})
		}
	}
}

// fedByCable reports whether current from a source can come to node i through points and consumers alone, not through
// a pipe, a vessel or another part of the work.
func (k *task) fedByCable(i, source int32) bool {
	reach := flood(k.out, []int32{source}, func(j int32) bool {
		kind := k.at(j).Kind
		return j != source && (k.inZone[j] || !kind.IsElectrical() && kind != Junction)
	})
	return reach[i]
}
