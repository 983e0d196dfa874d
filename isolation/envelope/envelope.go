package envelope

import (
	"math"
	"slices"

	"stillwatch/isolation"
	"stillwatch/isolation/graph"
)

// region is one part of the isolated envelope that is emptied as one: nodes joined by pipes, without a shut point
// between them. Points that are shut stand at its edge.
type region struct {
	nodes  []int32 // ascending; no shut points, openings included
	ends   []int32 // shut points, and vessels of another region, at which its pipes end
	airy   []int32 // vessels among the ends to which air gets, so that it also gets to the mouths of the pipes there
	feeder int32   // the source that would fill it, or -1
	gas    bool    // some source behind its edge brings gas or steam: it is vented, and holds no countable liquid
}

// envelope marks what is still joined to the work once the points are shut: everything from which something could come
// to the work, and the openings to which it could run from there.
func (k *Work) envelope(shut []bool) []bool {
	env := graph.Flood(k.In, k.Zone, func(i int32) bool { return shut[i] })
	for i := range env {
		env[i] = env[i] && !shut[i]
	}
	for i := range env {
		if !env[i] {
			continue
		}
		for _, j := range k.Out[i] {
			if k.At(j).Kind == isolation.Opening && !shut[j] {
				env[j] = true
			}
		}
	}
	return env
}

// regions splits the wet part of the envelope. It is split at a vessel that the work opens where two or more of the
// lines joined to it have drains of their own: an engineer drains the inlet and the outlet line of a separator each by
// itself, and the bowl between them is open. The vessel then belongs to the line whose mouth at it lies lowest, unless
// it has a drain of its own; lines without a drain belong to the vessel. Nothing else splits: an automatic valve on the
// way is taken as open, because liquid behind it that does not come is missed in what is drained, not overlooked.
func (k *Work) regions(shut []bool) []region {
	wet := k.wetNodes(k.envelope(shut))
	cut := map[int32]bool{}
	for _, z := range k.Zone {
		if wet[z] && k.At(z).Kind == isolation.Vessel {
			cut[z] = true
		}
	}
	parts, of := k.parts(wet, cut)
	for _, v := range k.Zone {
		if cut[v] {
			parts, of = k.joinVessel(v, parts, of)
		}
	}
	var out []region
	for _, p := range parts {
		if len(p) == 0 {
			continue
		}
		slices.Sort(p)
		out = append(out, k.describe(region{nodes: p}, shut))
	}
	slices.SortFunc(out, func(a, b region) int { return int(a.nodes[0] - b.nodes[0]) })
	return out
}

// wetNodes narrows the envelope to what pipes and vessels make up; a plant file without any bore is taken as wet where
// no cable runs.
func (k *Work) wetNodes(env []bool) []bool {
	wet := make([]bool, len(env))
	for i := range env {
		if n := k.At(int32(i)); env[i] {
			wet[i] = n.Kind == isolation.Opening || n.Kind == isolation.Vessel
		}
	}
	for i, l := range k.Plant.Links {
		if a, b := k.Ends[i][0], k.Ends[i][1]; a >= 0 && b >= 0 && l.BoreMM > 0 {
			wet[a], wet[b] = wet[a] || env[a], wet[b] || env[b]
		}
	}
	for again := true; again; { // what joins a wet node to an opening or another wet node by a link of unknown bore
		again = false
		for i := range k.Plant.Links {
			a, b := k.Ends[i][0], k.Ends[i][1]
			if a < 0 || b < 0 || !env[a] || !env[b] || wet[a] == wet[b] {
				continue
			}
			for _, j := range []int32{a, b} {
				if kind := k.At(j).Kind; !wet[j] && kind != isolation.Consumer && !kind.IsElectrical() {
					wet[j], again = true, true
				}
			}
		}
	}
	return wet
}

// parts returns the connected parts of what is wet, not going through the vessels in cut, and the part of each node.
func (k *Work) parts(wet []bool, cut map[int32]bool) ([][]int32, map[int32]int) {
	var parts [][]int32
	of := map[int32]int{}
	for s := range wet {
		start := int32(s)
		if _, done := of[start]; !wet[s] || done || cut[start] {
			continue
		}
		number := len(parts)
		of[start] = number
		list := []int32{start}
		for at := 0; at < len(list); at++ {
			for _, next := range [][]int32{k.Out[list[at]], k.In[list[at]]} {
				for _, j := range next {
					if _, done := of[j]; wet[j] && !done && !cut[j] {
						of[j] = number
						list = append(list, j)
					}
				}
			}
		}
		parts = append(parts, list)
	}
	return parts, of
}

// joinVessel returns an opened vessel its place among the parts that were cut apart at it.
func (k *Work) joinVessel(v int32, parts [][]int32, of map[int32]int) ([][]int32, map[int32]int) {
	own := []int32{v}
	ownDrain := false
	var drained []int
	for _, p := range k.partsAt(v, of) {
		switch {
		case len(parts[p]) == 1 && k.At(parts[p][0]).Kind == isolation.Opening:
			ownDrain = ownDrain || k.At(parts[p][0]).Role != "vent"
			own, parts[p] = append(own, parts[p]...), nil
		case !k.hasDrain(parts[p]):
			own, parts[p] = append(own, parts[p]...), nil
		default:
			drained = append(drained, p)
		}
	}
	into := -1
	switch {
	case len(drained) == 1:
		into = drained[0]
	case len(drained) > 0 && !ownDrain:
		into = k.lowestMouth(v, drained, of)
	}
	if into < 0 {
		into = len(parts)
		parts = append(parts, nil)
	}
	parts[into] = append(parts[into], own...)
	for _, i := range own {
		of[i] = into
	}
	return parts, of
}

// partsAt lists the parts next to a vessel, in order.
func (k *Work) partsAt(v int32, of map[int32]int) []int {
	var out []int
	for _, next := range [][]int32{k.Out[v], k.In[v]} {
		for _, j := range next {
			if p, has := of[j]; has && !slices.Contains(out, p) {
				out = append(out, p)
			}
		}
	}
	slices.Sort(out)
	return out
}

func (k *Work) hasDrain(part []int32) bool {
	return slices.ContainsFunc(
		part,
		func(i int32) bool { return k.At(i).Kind == isolation.Opening && k.At(i).Role != "vent" },
	)
}

// lowestMouth returns the part whose pipe meets vessel v lowest; of those without a level the first in the file.
func (k *Work) lowestMouth(v int32, parts []int, of map[int32]int) int {
	best, level := parts[0], math.Inf(1)
	for i, l := range k.Plant.Links {
		a, b := k.Ends[i][0], k.Ends[i][1]
		at, other := l.InvertM[0], b
		switch v {
		case a:
		case b:
			at, other = l.InvertM[1], a
		default:
			continue
		}
		if p, has := of[other]; has && l.HasLevel && slices.Contains(parts, p) && at < level {
			best, level = p, at
		}
	}
	return best
}

// describe fills in what stands at the edge of a region and what would fill it.
func (k *Work) describe(r region, shut []bool) region {
	in := k.Marks(r.nodes)
	for i := range k.Plant.Nodes {
		v := int32(i)
		if in[i] || !shut[i] && !(k.InZone[i] && k.At(v).Kind == isolation.Vessel) || k.At(v).Kind.IsElectrical() {
			continue
		}
		if slices.ContainsFunc(append(slices.Clone(k.Out[i]), k.In[i]...), func(j int32) bool { return in[j] }) {
			r.ends = append(r.ends, v)
		}
	}
	r.feeder = -1
	for _, e := range r.ends {
		if !shut[e] {
			continue
		}
		s := k.behind(e, in)
		if s < 0 {
			continue
		}
		if r.feeder < 0 {
			r.feeder = s
		}
		r.gas = r.gas || k.At(s).Energy.Nature() == isolation.Gas
	}
	if r.feeder < 0 {
		r.feeder = k.sourceNear(r.nodes)
	}
	if r.feeder >= 0 && k.At(r.feeder).Energy.Nature() == isolation.Gas {
		r.gas = true
	}
	return r
}

// behind returns the nearest source that flows to point e from the side away from the region; -1 of none.
func (k *Work) behind(e int32, in []bool) int32 {
	return k.flowing(graph.WayTo(k.In, []int32{e}, k.flows, func(j int32) bool { return in[j] || k.InZone[j] }))
}

func (k *Work) flows(i int32) bool { return k.At(i).Kind == isolation.Source && k.At(i).Energy.Flows() }

func (k *Work) flowing(way []int32) int32 {
	if way == nil {
		return -1
	}
	return way[len(way)-1]
}

// sourceNear returns the source nearest to some nodes that flows to them when nothing is shut; -1 of none.
func (k *Work) sourceNear(nodes []int32) int32 {
	return k.flowing(graph.WayTo(k.In, nodes, k.flows, nil))
}
