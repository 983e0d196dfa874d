package planner

import (
	"slices"

	"stillwatch/isolation"
	"stillwatch/isolation/graph"
)

// A liquid stands still where it flowed before. Both are looked at twice, because the plant file may be wrong about the
// one or silent about the other: once as if every pipe led both ways and every tank gave, once with the directions that
// the file shows and with what a tank can press. Either is enough to keep the heat off.

// streaming is what is known of a node with everything as it stands in service.
type streaming struct{ known, flows, streams bool }

// comesToStand reports whether a liquid that flows through a node in service does not with what bars now.
func (k *task) comesToStand(i int32, bars func(int32) bool) bool {
	if k.service == nil {
		k.service = make([]streaming, len(k.Plant.Nodes))
	}
	before := &k.service[i]
	if !before.known {
		*before = streaming{known: true, flows: k.flowsThrough(i, k.normallyShut)}
		before.streams = before.flows && k.streams(i, k.normallyShut)
	}
	if !before.flows {
		return false
	}
	if !k.flowsThrough(i, bars) {
		return true
	}
	return before.streams && !k.streams(i, bars)
}

// streams reports whether a liquid can run through a node the way that pipes, check valves and pumps lead: to it from a
// tank that stands or presses high enough, or by a pump on the way, and on from it to a tank or a consumer; with no
// single node through which it must both come and go.
func (k *task) streams(i int32, bars func(int32) bool) bool {
	in, out := k.ways()
	stop := func(j int32) bool { return j != i && (bars(j) || k.At(j).Kind == isolation.Source) }
	drawn := k.isPump(i) // or what has come is drawn on by a pump
	for j, is := range graph.Flood(out, []int32{i}, stop) {
		drawn = drawn || is && !bars(int32(j)) && k.isPump(int32(j))
	}
	come, on := k.comesFromTank(in, i, bars, drawn), k.goesOn(out, i, bars)
	if come == nil || on == nil {
		return false
	}
	return !slices.ContainsFunc(come, func(u int32) bool { // whatever lies on every way of both lies on these
		without := func(j int32) bool { return j == u || bars(j) }
		return slices.Contains(on, u) && k.goesOn(out, i, without) == nil &&
			k.comesFromTank(in, i, without, drawn) == nil
	})
}

// goesOn returns a way on from a node to a tank or a consumer; nil of none.
func (k *task) goesOn(out [][]int32, i int32, bars func(int32) bool) []int32 {
	return graph.WayTo(out, []int32{i}, func(j int32) bool { return j != i && !bars(j) && k.isEnd(j) },
		func(j int32) bool { return j != i && bars(j) })
}

// comesFromTank returns what lies on a way back from a node to a tank that gives; nil where there is none. A tank gives
// that stands or presses high enough; where a pump stands on the way, or draws what has come, each does.
func (k *task) comesFromTank(in [][]int32, i int32, bars func(int32) bool, drawn bool) []int32 {
	stop := func(j int32) bool { return j != i && (bars(j) || k.At(j).Kind == isolation.Source) }
	way := graph.WayTo(in, []int32{i}, func(j int32) bool {
		return j != i && !bars(j) && k.isTank(j) && (drawn || k.standsAbove(j, i))
	}, stop)
	if way == nil && !drawn {
		way = k.pumpedTo(in, i, stop)
	}
	if way == nil {
		return nil
	}
	return way[1 : len(way)-1]
}

// pumpedTo returns a way back from a node over a pump to any tank; nil of none.
func (k *task) pumpedTo(in [][]int32, i int32, stop func(int32) bool) []int32 {
	for p, is := range graph.Flood(in, []int32{i}, stop) {
		if pump := int32(p); is && pump != i && !stop(pump) && k.isPump(pump) {
			to := graph.WayTo(in, []int32{i}, func(j int32) bool { return j == pump }, stop)
			from := graph.WayTo(in, []int32{pump}, k.isTank, func(j int32) bool { return j == i || stop(j) })
			if from != nil {
				return append(to, from[1:]...)
			}
		}
	}
	return nil
}

func (k *task) isPump(i int32) bool { return k.At(i).LiftsBar > 0 || k.At(i).Drive != "" }

// isTank reports whether a node is a source of liquid, and isEnd whether it gives or takes some.
func (k *task) isTank(i int32) bool {
	return k.At(i).Kind == isolation.Source && k.At(i).Energy.Nature() == isolation.Liquid
}

func (k *task) isEnd(i int32) bool {
	return len(k.pipes()[i]) > 0 && (k.At(i).Kind == isolation.Consumer || k.isTank(i))
}

// standsAbove reports whether a tank stands or presses high enough to come to a node by itself; true where the plant
// file does not say enough to tell.
func (k *task) standsAbove(tank, i int32) bool {
	n, at := k.At(tank), k.At(i)
	if !n.HasElevation || !at.HasElevation {
		return true
	}
	return n.ElevationM+max(0, n.GaugeBar)/k.BarPerMetre(tank) >= at.ElevationM
}

// ways returns from where a liquid comes to each node by pipes, and where it goes, the way that the file shows; made
// once.
func (k *task) ways() (in, out [][]int32) {
	if k.streamIn == nil {
		k.streamIn, k.streamOut = make([][]int32, len(k.Plant.Nodes)), make([][]int32, len(k.Plant.Nodes))
		for a, next := range k.feedsOf(isolation.Liquid) {
			for _, b := range next {
				if slices.Contains(k.pipes()[a], b) {
					k.streamOut[a] = append(k.streamOut[a], b)
					k.streamIn[b] = append(k.streamIn[b], int32(a))
				}
			}
		}
	}
	return k.streamIn, k.streamOut
}

// flowsThrough reports whether a liquid can flow through a node: in from one place that holds or takes some, and out to
// another by a way that shares nothing with the first. That is so if no single node between parts it from all of them
// (Menger 1927, from memory). Which way it flows is not asked: see streams.
func (k *task) flowsThrough(i int32, bars func(int32) bool) bool {
	beside := k.pipes()
	way := func(from, without int32) []int32 { // to an end
		return graph.WayTo(beside, []int32{from}, func(j int32) bool {
			return j != i && j != without && !bars(j) && k.isEnd(j)
		}, func(j int32) bool { return j != from && (j == i || j == without || bars(j)) })
	}
	to := way(i, -1)
	if to == nil {
		return false
	}
	for _, v := range to[1 : len(to)-1] {
		if way(i, v) == nil {
			return false
		}
	}
	// a single mouth parts it too, also where it is an end itself
	return slices.ContainsFunc(beside[i], func(j int32) bool { return j != to[1] && !bars(j) && way(j, -1) != nil })
}

// pipes returns for each node what pipes join to it, made once: links that are no cables, and end at no opening.
func (k *task) pipes() [][]int32 {
	if k.piped == nil {
		k.piped = make([][]int32, len(k.Plant.Nodes))
		wet := func(n *isolation.Node) bool {
			return !n.Kind.IsElectrical() && n.Kind != isolation.Opening && n.Kind != isolation.Earth &&
				!(n.Kind == isolation.Source && n.Energy.Nature() == isolation.Current)
		}
		for e, l := range k.Plant.Links {
			a, b := k.Ends[e][0], k.Ends[e][1]
			if a < 0 || b < 0 || !wet(k.At(a)) || !wet(k.At(b)) {
				continue
			}
			if drives := func(n *isolation.Node) bool { return n.Kind == isolation.Consumer }; l.BoreMM == 0 &&
				(drives(k.At(a)) || drives(k.At(b))) {
				continue // a shaft, or a cable to an element
			}
			k.piped[a], k.piped[b] = append(k.piped[a], b), append(k.piped[b], a)
		}
	}
	return k.piped
}
