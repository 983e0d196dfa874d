package envelope

import (
	"stillwatch/isolation"
	"stillwatch/isolation/graph"
)

// Work is what a job opens, on the plant's graph, with every source that can reach it: what the choice of points and
// the draining both start from.
type Work struct {
	*graph.Graph
	Machine *isolation.Machine // the job's; nil where it names none
	Zone    []int32            // what is opened
	InZone  []bool
	Sources []Wanted // those that can reach the work, in file order
	Keeps   []Keep   // what is not opened, and kept off all the same
	// machines on a cable that is cut: what is charged in them discharges into what is worked on
	Charged []*isolation.Machine
}

// Keep is a node to which nothing from some sources may come although nobody opens it.
type Keep struct {
	Node int32
	From []int32 // sources
	Why  string  // one sentence
}

// Wanted is one source that can reach the work, with the demand that the rules make for it.
type Wanted struct {
	Node int32
	Bore float64 // mm, see graph.Bores; 0 where no rule asks
	Rule isolation.DemandRule
}

// Marks returns one flag a node, set for those listed.
func (k *Work) Marks(list []int32) []bool {
	out := make([]bool, len(k.Plant.Nodes))
	for _, i := range list {
		out[i] = true
	}
	return out
}

// Nearest returns the source of those in cuts with the fewest links to point i: what this point is there for. -1 of
// none.
func (k *Work) Nearest(i int32, cuts []int32) int32 {
	is := k.Marks(cuts)
	way := graph.WayTo(k.In, []int32{i}, func(j int32) bool { return is[j] }, func(j int32) bool { return k.InZone[j] })
	if way == nil {
		return -1
	}
	return way[len(way)-1]
}
