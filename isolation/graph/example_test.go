package graph_test

import (
	"fmt"

	"stillwatch/isolation"
	"stillwatch/isolation/graph"
)

// A way through the plant, in node numbers and in names.
func ExampleWayTo() {
	p := &isolation.Plant{Links: []isolation.Link{{A: "tank", B: "V1"}, {A: "V1", B: "filter"}}}
	for _, id := range []isolation.NodeID{"tank", "V1", "filter"} {
		p.AddNode(isolation.Node{ID: id})
	}
	g := graph.New(p)
	way := graph.WayTo(g.Out, []int32{0}, func(i int32) bool { return g.At(i).ID == "filter" }, nil)
	fmt.Println(way, g.IDs(way))
	// Output: [0 1 2] [tank V1 filter]
}
