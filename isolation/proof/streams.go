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
	if !v.leads(down, at, bars) {
		return false
	}
	come, is := v.fed(up, at, bars, drawn)
	if !is {
		return false
	}
	for _, u := range come { // what lies on every way from a tank lies on this one
		through := func(j int32) bool { return j == u || bars(j) }
		if _, still := v.fed(up, at, through, drawn); !still && !v.leads(down, at, through) {
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

// fed looks upstream from a node for a tank that gives, and returns what lies between. What is looked at is a place
// together with whether a pump stands between it and the node, or draws from there: place 2i, or 2i+1 with a pump.
func (v *prover) fed(up [][]int32, at int32, bars func(int32) bool, drawn bool) (between []int32, is bool) {
	came := v.search.places
	clear(came)
	place := func(i int32, pumped bool) int32 {
		if pumped {
			return 2*i + 1
		}
		return 2 * i
	}
	begin := place(at, drawn)
	list := []int32{begin}
	for len(list) > 0 {
		here := list[len(list)-1]
		list = list[:len(list)-1]
		for _, from := range up[here/2] {
			pumped := here%2 == 1 || v.lifts(from)
			next := place(from, pumped)
			if from == at || bars(from) || came[next] != 0 {
				continue
			}
			came[next] = here + 1
			switch n := &v.plant.Nodes[from]; {
			case v.isTank(from) && (pumped || v.above(n, &v.plant.Nodes[at])):
				for ; here != begin; here = came[here] - 1 {
					between = append(between, here/2)
				}
				return between, true
			case n.Kind != isolation.Source:
				list = append(list, next)
			}
		}
	}
	return nil, false
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
