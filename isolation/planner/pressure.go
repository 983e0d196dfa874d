package planner

import (
	"fmt"
	"slices"
	"strings"

	"stillwatch/isolation"
	"stillwatch/isolation/graph"
)

// A running pump presses more than the tank from which it draws. So a source is judged, and named, by the pressure that
// it has at most where it comes to the work in service: its own and that of the pumps on the way, one behind the other.
// Every pump may run, but one that is opened or whose drive is kept off; the valves stand as in service, those beside a
// pump or another machine open. (Own reasoning; the pressure of a pump that is dead-ended is what its maker gives,
// lifts_bar.)

// pressing returns a source as it presses on the work, or on what is kept off: with the pressure of the pumps that may
// run on the way.
func (k *task) pressing(i int32) *isolation.Node {
	return k.pressingOn(i, append(slices.Clone(k.Zone), k.keptNodes()...))
}

// pressingOn returns a source as it presses on some nodes.
func (k *task) pressingOn(i int32, ends []int32) *isolation.Node {
	n := *k.At(i)
	if n.Energy.Nature() == isolation.Liquid {
		n.GaugeBar += k.lift(i, ends)
	}
	return &n
}

// mostPumps is up to how many pumps the worst way through them is looked for; of more the sum of all is taken.
const mostPumps = 9

// lift returns by how many bar pumps raise what comes from a source to some nodes at most: the sum along the worst way
// that passes none of them twice.
func (k *task) lift(source int32, ends []int32) float64 {
	if k.line == nil {
		k.line = k.newPumpLine()
	}
	l := k.line
	first := k.inService([]int32{source}, source)
	used := make([]bool, len(l.pumps))
	var most func(reach []bool) float64 // -1 where no way leads to the work
	most = func(reach []bool) float64 {
		best := -1.0
		if slices.ContainsFunc(ends, func(z int32) bool { return reach[z] }) {
			best = 0
		}
		for n, p := range l.pumps {
			if !reach[p] || used[n] {
				continue
			}
			used[n] = true
			if further := most(l.beyond[n]); further >= 0 {
				best = max(best, further+k.At(p).LiftsBar)
			}
			used[n] = false
		}
		return best
	}
	if len(l.pumps) <= mostPumps {
		return max(0, most(first))
	}
	sum := 0.0
	for _, p := range l.pumps {
		sum += k.At(p).LiftsBar
	}
	return sum
}

// pumpLine is what the pumps that may run press on, one list for all sources.
type pumpLine struct {
	pumps  []int32
	beyond [][]bool // per pump: what stands behind it in service
}

func (k *task) newPumpLine() *pumpLine {
	l := &pumpLine{pumps: k.mayRun()}
	for _, p := range l.pumps {
		l.beyond = append(l.beyond, k.inService(k.beyond(p), p))
	}
	return l
}

// inService marks where a liquid comes to from some nodes in service, not back over the node itself from which it came.
func (k *task) inService(starts []int32, itself int32) []bool {
	return graph.Flood(k.feedsOf(isolation.Liquid), starts, func(j int32) bool {
		return (j == itself || k.At(j).Kind == isolation.Source) && !slices.Contains(starts, j) || k.shutInService(j) ||
			k.InZone[j]
	})
}

// mayRun lists the pumps that may run while the plan is on.
func (k *task) mayRun() []int32 {
	var out []int32
	for i := range k.Plant.Nodes {
		n := &k.Plant.Nodes[i]
		d := k.Number(n.Drive)
		if n.LiftsBar > 0 && !k.InZone[i] && (d < 0 || !k.InZone[d] && !k.isKept(d)) {
			out = append(out, int32(i))
		}
	}
	return out
}

// shutInService reports whether a node is shut in service: normally, and beside no pump and no machine but those that
// are worked on, because any other may be put into service meanwhile.
func (k *task) shutInService(i int32) bool {
	if !k.normallyShut(i) {
		return false
	}
	part := k.machineParts()
	return !part[i] && !slices.ContainsFunc(append(slices.Clone(k.Out[i]), k.In[i]...),
		func(j int32) bool { return k.At(j).LiftsBar > 0 || part[j] })
}

// beyond lists what stands behind a pump: the far ends of the links that the file writes away from it; of a pump whose
// links are all written towards it, those of all.
func (k *task) beyond(p int32) []int32 {
	var away, all []int32
	for _, e := range k.Ends {
		switch {
		case e[0] == p && e[1] >= 0:
			away = append(away, e[1])
			all = append(all, e[1])
		case e[1] == p && e[0] >= 0:
			all = append(all, e[0])
		}
	}
	if len(away) > 0 {
		return away
	}
	return all
}

// keptNodes lists what is kept off without being opened.
func (k *task) keptNodes() []int32 {
	var out []int32
	for _, h := range k.Keeps {
		out = append(out, h.Node)
	}
	return out
}

// pressingBy returns a source as it presses along one way: with the pumps on it that may run.
func (k *task) pressingBy(way []int32) *isolation.Node {
	n := *k.At(way[0])
	if n.Energy.Nature() == isolation.Liquid {
		for _, p := range k.mayRun() {
			if slices.Contains(way, p) {
				n.GaugeBar += k.At(p).LiftsBar
			}
		}
	}
	return &n
}

// whatFrom says what a source would bring, with the figures that make it dangerous.
func (k *task) whatFrom(n *isolation.Node) string {
	s := strings.ReplaceAll(string(n.Energy), "-", " ")
	switch {
	case s == "":
		s = "energy"
	case n.Energy == "electrical":
		s = "current"
	case n.Energy == "lube":
		s = "lubricating oil"
	}
	if n.Energy.Nature() == isolation.Liquid && n.Fluid != "" && n.Fluid != s {
		s += " (" + n.Fluid + ")"
	}
	switch {
	case n.Volt > 0:
		s += fmt.Sprintf(" at %g V", n.Volt)
	case n.GaugeBar > 0 && n.TempC > 0:
		s += fmt.Sprintf(" at %g bar and %g °C", n.GaugeBar, n.TempC)
	case n.GaugeBar > 0:
		s += fmt.Sprintf(" at %g bar", n.GaugeBar)
	}
	return s
}
