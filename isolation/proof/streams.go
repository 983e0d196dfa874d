package proof

import (
	"slices"

	"stillwatch/isolation"
)

// standsStill reports whether a liquid ran through a node in service and does not with what bars now, by either of two
// looks: as if every pipe led both ways, or with the directions and levels that the plant file shows.
func (v *prover) standsStill(at int32, normally, now func(int32) bool) bool {
	ran := v.runs(at, normally)
	if ran && !v.runs(at, now) {
		return true
	}
	return ran && v.edition >= 5 && v.streams(at, normally) && !v.streams(at, now)
}

// streams reports whether a liquid comes to a node downstream from a tank and goes on from it to a tank or a consumer,
// with no one node that it crosses both times in every case. A tank that lies too low gives only by way of a pump: one
// before the node, the node itself, or one behind it.
func (v *prover) streams(at int32, bars func(int32) bool) bool {
	down, up := v.currents()
	drawn := v.lifts(at)
	for i, on := range v.spread(down, []int32{at}, func(j int32) bool { return bars(j) || v.isTank(j) }) {
		drawn = drawn || on && v.lifts(int32(i))
	}
	if !v.leads(down, at, bars) || !v.fed(up, at, bars, drawn) {
		return false
	}
	for u := range v.plant.Nodes {
		through := func(j int32) bool { return j == int32(u) || bars(j) }
		if int32(u) == at || bars(int32(u)) || v.plant.Nodes[u].Kind == isolation.Source || len(down[u]) == 0 {
			continue
		}
		if !v.leads(down, at, through) && !v.fed(up, at, through, drawn) {
			return false
		}
	}
	return true
}

// leads reports whether something that leaves a node comes to a tank or a consumer.
func (v *prover) leads(down [][]int32, at int32, bars func(int32) bool) bool {
	_, ends := v.pipework()
	on := v.spread(down, []int32{at}, bars)
	return slices.ContainsFunc(ends, func(e int32) bool { return e != at && on[e] })
}

// fed looks upstream from a node for a tank that gives. What is looked at is a place together with whether a pump
// stands between it and the node, or draws from there.
func (v *prover) fed(up [][]int32, at int32, bars func(int32) bool, drawn bool) bool {
	type stand struct {
		at     int32
		pumped bool
	}
	seen := map[stand]bool{}
	list := []stand{{at, drawn}}
	for len(list) > 0 {
		s := list[len(list)-1]
		list = list[:len(list)-1]
		for _, from := range up[s.at] {
			n := &v.plant.Nodes[from]
			next := stand{from, s.pumped || v.lifts(from)}
			if from == at || bars(from) || seen[next] {
				continue
			}
			seen[next] = true
			switch {
			case v.isTank(from) && (next.pumped || v.above(n, &v.plant.Nodes[at])):
				return true
			case n.Kind != isolation.Source:
				list = append(list, next)
			}
		}
	}
	return false
}

// lifts reports whether a node is a pump.
func (v *prover) lifts(i int32) bool {
	return v.plant.Nodes[i].LiftsBar > 0 || v.plant.Nodes[i].Drive != ""
}

func (v *prover) isTank(i int32) bool {
	return v.plant.Nodes[i].Kind == isolation.Source && v.plant.Nodes[i].Energy.Nature() == isolation.Liquid
}

// above reports whether the head of a tank, its level and its pressure together, comes up to a node. Not knowing is
// taken for yes.
func (v *prover) above(tank, to *isolation.Node) bool {
	weight := 9.81 * 1000.0 // N/m³
	if f, known := v.plant.Fluids[tank.Fluid]; known && f.Density15 > 0 {
		weight = 9.81 * f.Density15
	}
	short := to.ElevationM - tank.ElevationM // by so many metres
	return !tank.HasElevation || !to.HasElevation || short*weight <= 1e5*max(tank.GaugeBar, 0)
}

// currents returns the way in which a liquid runs through pipes, and against it.
func (v *prover) currents() (down, up [][]int32) {
	if v.down == nil {
		pipes, _ := v.pipework()
		v.down, v.up = make([][]int32, len(pipes)), make([][]int32, len(pipes))
		for a, list := range v.flowing() {
			for _, b := range list {
				if slices.Contains(pipes[a], b) {
					v.down[a], v.up[b] = append(v.down[a], b), append(v.up[b], int32(a))
				}
			}
		}
	}
	return v.down, v.up
}
