package cut

// bound1 bounds from below the consumers lost at a loaded node. It reports
// false if one that must be kept can't be.
func (s *serving) bound1(b *branching, a *node) bool {
	s.recall(a)
	s.measure(b)
	s.markCertain(b)
	a.lost = 0
	for i, certain := range s.certain {
		if certain && s.keep[i] {
			return false
		}
		if certain || s.yielded[i] {
			a.lost++
		}
	}
	return true
}

// recall gathers which consumers the node keeps and gives up.
func (s *serving) recall(a *node) {
	clear(s.keep)
	clear(s.yielded)
	for ; a != nil; a = a.parent {
		if a.keeps > 0 {
			s.keep[a.keeps-1] = true
		}
		if a.yields > 0 {
			s.yielded[a.yields-1] = true
		}
	}
}

// measure finds, per vertex, the fewest points (at most 2) that could be closed
// on the way from there to the work. What stays joined to a source with a
// demand of k needs k of them.
func (s *serving) measure(b *branching) {
	for v := range s.near {
		s.near[v] = 2
	}
	var lists [2][]int32
	for _, z := range b.zone {
		s.near[z] = 0
		lists[0] = append(lists[0], z)
	}
	for k := range int8(2) {
		for len(lists[k]) > 0 {
			v := lists[k][len(lists[k])-1]
			lists[k] = lists[k][:len(lists[k])-1]
			if s.near[v] != k {
				continue
			}
			next := k
			if p := b.n.at[v]; p < 0 && b.n.link[^p].state != open {
				next++
			}
			for _, u := range s.in[s.inFirst[v]:s.inFirst[v+1]] {
				if next < s.near[u] {
					s.near[u] = next
					lists[next] = append(lists[next], u)
				}
			}
		}
	}
}

// markCertain marks the consumers that are lost whatever else is decided:
// every way of supply is closed, or would leave too few points to the work.
func (s *serving) markCertain(b *branching) {
	clear(s.certain)
	for _, g := range s.groups {
		s.reachKeepable(b, g)
		for _, c := range g.consumers {
			s.certain[c] = s.certain[c] || !s.reached[s.consumers[c]]
		}
	}
}

// reachKeepable marks where supply of the group could still get. Ways from
// sources with the greater demand come first: they ask more of each vertex.
func (s *serving) reachKeepable(b *branching, g supplyGroup) {
	clear(s.reached)
	union := make([]bool, s.p.N)
	parents := make([]int32, s.p.N)
	for k := int8(2); k >= 0; k-- {
		var from []int32
		for _, v := range g.from {
			if s.demanded[v] == k {
				from = append(from, v)
			}
		}
		if len(from) == 0 {
			continue
		}
		s.reach(from, func(v int32) bool {
			p := b.n.at[v]
			return s.near[v] < k || p < 0 && b.n.link[^p].state == closed
		})
		for v, r := range s.reached {
			if r && !union[v] {
				union[v], parents[v] = true, s.parent[v]
			}
		}
	}
	copy(s.reached, union)
	copy(s.parent, parents)
}

// children splits a node by a consumer that its cut loses without need: it is
// given up, or one way of its supply stays open, or that way is closed
// somewhere (at its first closed point) and another must do.
func (s *serving) children(b *branching, a *node) {
	s.recall(a)
	s.measure(b)
	s.markCertain(b)
	s.markLost(b.witness.closed)
	c := s.pick()
	if c < 0 {
		return
	}
	way := s.way(b, c)
	if way == nil {
		return
	}
	if !s.keep[c] {
		b.consider(&node{parent: a, yields: int32(c) + 1})
		b.load(a, b.sources)
	}
	var before []decision
	for _, v := range way {
		p := b.n.at[v]
		if p >= 0 || b.n.link[^p].state != usual {
			continue
		}
		made := append(append([]decision(nil), before...), decision{^p, closed})
		before = append(before, decision{^p, open})
		b.consider(&node{parent: a, made: made, keeps: int32(c) + 1})
		b.load(a, b.sources)
	}
	b.consider(&node{parent: a, made: before, keeps: int32(c) + 1})
}

// pick chooses a lost consumer that is neither certain to be nor given up; one
// that must be kept comes first.
func (s *serving) pick() int {
	found := -1
	for c, lost := range s.lostMark {
		if !lost || s.certain[c] || s.yielded[c] {
			continue
		}
		if s.keep[c] {
			return c
		}
		if found < 0 {
			found = c
		}
	}
	return found
}

// way is a way by which consumer c could keep a service that the cut loses.
func (s *serving) way(b *branching, c int) []int32 {
	consumer := s.consumers[c]
	for _, g := range s.groups {
		member := false
		for _, m := range g.consumers {
			member = member || m == c
		}
		if !member {
			continue
		}
		s.reach(g.from, func(v int32) bool { return b.witness.closed[v] })
		if s.reached[consumer] {
			continue
		}
		s.reachKeepable(b, g)
		if !s.reached[consumer] {
			return nil
		}
		var way []int32
		for v := consumer; v >= 0; v = s.parent[v] {
			way = append(way, v)
		}
		return way
	}
	return nil
}
