package planner

import (
	"slices"

	"stillwatch/isolation"
	"stillwatch/isolation/cut"
	"stillwatch/isolation/graph"
)

// serviceNodes is how many nodes the search for a set that takes less from others may use, for each question asked of
// the solver on a plant of n vertices: each costs about n. One machine needs a handful.
func serviceNodes(n int) int { return min(3000, 50+3_000_000/n) }

// supply is a part of the plant outside the work with a source that feeds it in the normal line-up: a consumer, or a
// vessel or junction of a machine that is not worked on.
type supply struct{ source, consumer int32 }

// toll is what a set of points takes from others. Of two sets the one that takes less from the standby is better, and
// of equals the one that takes a supply from fewer others.
type toll struct{ standby, others int }

func (t toll) less(u toll) bool {
	return t.standby < u.standby || t.standby == u.standby && t.others < u.others
}

// normalSupplies lists what lives on what outside the work, part by part of each source in file order.
func (k *task) normalSupplies() []supply {
	if k.fed == nil {
		none := make([]bool, len(k.Plant.Nodes))
		k.fed = k.ownSupplies(k.suppliesWith(none), k.suppliesWith(k.InZone))
	}
	return k.fed
}

// ownSupplies leaves of all supplies of machines' parts those that come past the work. What comes to a part only
// through what is opened counts only where nothing of that nature comes to it otherwise: else every source that could
// push backwards through the opened machine would pass for something that its neighbours live on. Consumers keep all.
func (k *task) ownSupplies(all, past []supply) []supply {
	type need struct {
		part   int32
		nature isolation.Nature
	}
	own, fed := map[supply]bool{}, map[need]bool{}
	of := func(s supply) need { return need{s.consumer, k.At(s.source).Energy.Nature()} }
	for _, s := range past {
		own[s], fed[of(s)] = true, true
	}
	return slices.DeleteFunc(all, func(s supply) bool {
		return k.At(s.consumer).Kind != isolation.Consumer && !own[s] && fed[of(s)]
	})
}

// suppliesWith lists the supplies of the normal line-up that are left with these points shut.
func (k *task) suppliesWith(shut []bool) []supply {
	part := k.machineParts()
	return k.suppliesIn(shut, k.normallyShut, func(c int32, e isolation.Energy) bool {
		return !k.InZone[c] && (k.At(c).Kind == isolation.Consumer || part[c]) && k.livesOn(c, e)
	})
}

// machineParts marks the nodes of the machines that are not worked on.
func (k *task) machineParts() []bool {
	if k.apart == nil {
		k.apart = make([]bool, len(k.Plant.Nodes))
		for i := range k.Plant.Machines {
			if m := &k.Plant.Machines[i]; !k.touched(m) {
				for _, n := range k.Numbers(m.Nodes) {
					k.apart[n] = true
				}
			}
		}
	}
	return k.apart
}

// livesOn reports whether a part of the plant uses an energy that comes to it: a consumer its own, a vessel or junction
// any, and nothing else.
func (k *task) livesOn(c int32, e isolation.Energy) bool {
	n := k.At(c)
	return n.Kind == isolation.Vessel || n.Kind == isolation.Junction || k.uses(n, e)
}

// suppliesIn lists what each source still feeds in a line-up with these points shut, of what counts.
func (k *task) suppliesIn(shut []bool, stands func(int32) bool, counts func(int32, isolation.Energy) bool) []supply {
	out := []supply{}
	for s := range k.Plant.Nodes {
		n := &k.Plant.Nodes[s]
		if n.Kind != isolation.Source {
			continue
		}
		reach := graph.Flood(k.feedsOf(n.Energy.Nature()), []int32{int32(s)}, func(i int32) bool {
			return shut[i] || stands(i) || k.At(i).Kind == isolation.Source && i != int32(s)
		})
		for c := range k.Plant.Nodes {
			if reach[c] && counts(int32(c), n.Energy) {
				out = append(out, supply{int32(s), int32(c)})
			}
		}
	}
	return out
}

// gone lists the supplies of before that are not left.
func gone(before, left []supply) []supply {
	still := map[supply]bool{}
	for _, s := range left {
		still[s] = true
	}
	var out []supply
	for _, s := range before {
		if !still[s] {
			out = append(out, s)
		}
	}
	return out
}

// lostWith lists the supplies that are gone with these points shut.
func (k *task) lostWith(shut []bool) []supply {
	return gone(k.normalSupplies(), k.suppliesWith(shut))
}

// tollOf counts what a set takes from others: parts of the standbys, and whatever loses a supply and belongs neither to
// the work nor to its machine, which stands still anyway.
func (k *task) tollOf(chosen []int32) toll {
	shut := k.Marks(chosen)
	lost, standby := map[int32]bool{}, map[int32]bool{}
	for _, s := range k.lostWith(shut) {
		if m := k.machineOf(k.At(s.consumer).ID); m == nil || m != k.Machine {
			lost[s.consumer] = true
		}
	}
	for _, s := range k.standbyLost(shut) {
		standby[s.consumer] = true
	}
	return toll{len(standby), len(lost)}
}

// mostCopies bounds by how much a part of the standby outweighs a part of another machine in one question to the
// solver.
const mostCopies = 100

// sparing looks for a set that takes less from others than s does, whatever it costs in points: the standby's supplies
// come before those of others, and services before locks. It returns s back where there is none, or where the search was
// not ended.
func (k *task) sparing(p cut.Problem, s cut.Solution) cut.Solution {
	best, took := s, k.tollOf(k.withSupplies(s.Chosen))
	if took == (toll{}) {
		return s
	}
	ask := func(p cut.Problem, q cut.Supply, better func(toll) bool) bool {
		p.NodeLimit = serviceNodes(p.N)
		got, err := cut.SolveServices(p, q)
		if err != nil || !got.Exact() || !k.deadDrains(p, got.Chosen) || len(k.tight(got.Chosen)) > 0 {
			return false
		}
		now := k.tollOf(k.withSupplies(got.Chosen))
		if !better(now) {
			return false
		}
		best, took = got.Solution, now
		return true
	}
	less := func(t toll) bool { return t.less(took) }
	ask(p, k.serviceQuestion(p.N), less)
	if took.standby == 0 {
		return best
	}
	// The standby loses something all the same: first as little of it as can be, then of those sets the one that takes
	// least from others. What only the first of the two found is not known to have the fewest points.
	alone, needs := k.needsOfStandby(p, 1)
	if !ask(alone, needs, less) {
		return best
	}
	best.Bound, best.Unique = min(best.Bound, s.Bound), false
	weighed, needs := k.needsOfStandby(p, min(took.others+1, mostCopies))
	needs.Services = append(needs.Services, k.serviceQuestion(p.N).Services...)
	ask(weighed, needs, func(t toll) bool { return !took.less(t) })
	return best
}

// serviceQuestion says to the solver what others live on.
func (k *task) serviceQuestion(n int) cut.Supply {
	q := cut.Supply{Shut: make([]bool, n)}
	for i := range k.Plant.Nodes {
		q.Shut[i] = k.normallyShut(int32(i))
	}
	for _, s := range k.normalSupplies() {
		if m := k.machineOf(k.At(s.consumer).ID); m == nil || m != k.Machine {
			q.Services = append(q.Services, cut.Service{Consumer: s.consumer, From: []int32{s.source}})
		}
	}
	return q
}
