package isolation

import (
	"stillwatch/isolation/cut"
)

// serviceNodes is how many nodes the search for a set that takes less from others may use, for each question asked of
// the solver on a plant of n vertices: each costs about n. One machine needs a handful.
func serviceNodes(n int) int { return min(3000, 50+3_000_000/n) }

// supply is a consumer outside the work with a source that feeds it in the normal line-up.
type supply struct{ source, consumer int32 }

// normalSupplies lists what consumers outside the work live on, consumer by consumer of each source in file order.
func (k *task) normalSupplies() []supply {
	if k.fed == nil {
		k.fed = k.suppliesWith(make([]bool, len(k.plant.Nodes)))
	}
	return k.fed
}

// suppliesWith lists the supplies that are left with these points shut.
func (k *task) suppliesWith(shut []bool) []supply {
	out := []supply{}
	for s := range k.plant.Nodes {
		n := &k.plant.Nodes[s]
		if n.Kind != Source {
			continue
		}
		reach := flood(k.feedsOf(n.Energy.Nature()), []int32{int32(s)}, func(i int32) bool {
			return shut[i] || k.normallyShut(i) || k.at(i).Kind == Source && i != int32(s)
		})
		for c := range k.plant.Nodes {
			if reach[c] && !k.inZone[c] && k.uses(&k.plant.Nodes[c], n.Energy) {
				out = append(out, supply{int32(s), int32(c)})
			}
		}
	}
	return out
}

// lostWith lists the supplies that are gone with these points shut.
func (k *task) lostWith(shut []bool) []supply {
	left := map[supply]bool{}
	for _, s := range k.suppliesWith(shut) {
		left[s] = true
	}
	var out []supply
	for _, s := range k.normalSupplies() {
		if !left[s] {
			out = append(out, s)
		}
	}
	return out
}

// othersLost counts the consumers that lose a supply and belong neither to the work nor to its machine, which stands
// still anyway.
func (k *task) othersLost(chosen []int32) int {
	lost := map[int32]bool{}
	for _, s := range k.lostWith(k.marks(chosen)) {
		if m := k.machineOf(k.at(s.consumer).ID); m == nil || m != k.machine {
			lost[s.consumer] = true
		}
	}
	return len(lost)
}

// sparing looks for a set that takes less from others than s does, whatever it costs in points: services come before
// locks. It gives s back where there is none, or where the search was not ended.
func (k *task) sparing(p cut.Problem, s cut.Solution) cut.Solution {
	lost := k.othersLost(k.withSupplies(s.Chosen))
	if lost == 0 {
		return s
	}
	p.NodeLimit = serviceNodes(p.N)
	better, err := cut.SolveServices(p, k.serviceQuestion(p.N))
	if err != nil || !better.Exact() || !k.deadDrains(p, better.Chosen) || len(k.tight(better.Chosen)) > 0 || k.othersLost(k.withSupplies(better.Chosen)) >= lost {
		return s
	}
	return better.Solution
}

// serviceQuestion says to the solver what others live on.
func (k *task) serviceQuestion(n int) cut.Supply {
	q := cut.Supply{Shut: make([]bool, n)}
	for i := range k.plant.Nodes {
		q.Shut[i] = k.normallyShut(int32(i))
	}
	for _, s := range k.normalSupplies() {
		if m := k.machineOf(k.at(s.consumer).ID); m == nil || m != k.machine {
			q.Services = append(q.Services, cut.Service{Consumer: s.consumer, From: []int32{s.source}})
		}
	}
	return q
}
