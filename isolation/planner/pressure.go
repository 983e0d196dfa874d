package planner

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"stillwatch/isolation"
	"stillwatch/isolation/graph"
)

// A running pump presses more than the tank from which it draws. So a source is judged, and named, by the pressure that
// it has at most where it comes to the work in service: its own and that of the pumps on the way, one behind the other.
// Every pump may run, but one that is opened or whose drive is kept off; the valves stand as in service, those beside a
// pump or another machine open. (Own reasoning; the pressure of a pump that is dead-ended is what its maker gives,
// lifts_bar.) And it stands in a line that leads down to the work, whose foot bears its height as well, also when the
// line only stands full above what is shut: see pressure.

// pressing returns a source as it presses on the work, or on what is kept off: with the pumps that may run on the way,
// and with its height.
// Every part of a plan asks this of every source, so it is worked out once for what is opened and kept off by now.
func (k *task) pressing(i int32) *isolation.Node {
	l := k.pumpsInLine()
	if l.judged[i] == nil {
		l.judged[i] = k.pressingOn(i, append(slices.Clone(k.Zone), k.keptNodes()...))
	}
	return l.judged[i]
}

// pressingOn returns a source as it presses on some nodes.
func (k *task) pressingOn(i int32, ends []int32) *isolation.Node {
	n := *k.At(i)
	if n.Energy.Nature() == isolation.Liquid {
		n.GaugeBar = k.pressure(i, ends)
		n.TempC, n.HasTemp = k.heatedTo(i, ends)
	}
	return &n
}

// pressure returns what a source has at most at some nodes, bar gauge: its own pressure, that of the pumps on the way
// and that of its height above the lowest of them; or the weight of its line alone, where that rises above the source.
// Hundredths are rounded up. (Hydrostatics; which line is full nobody can see, so every one is.)
func (k *task) pressure(source int32, ends []int32) float64 {
	bar := k.At(source).GaugeBar
	if k.At(source).Energy.Nature() != isolation.Liquid {
		return bar
	}
	return k.atFoot(source, bar+k.lift(source, ends), ends)
}

// atFoot is pressure for a source that has bar where it stands, with the pumps.
func (k *task) atFoot(source int32, bar float64, ends []int32) float64 {
	bar = max(bar+k.Head(source, ends), k.BarPerMetre(source)*(k.crest(source)-k.LowestOf(ends)))
	return math.Ceil(100*bar-1e-6) / 100
}

// crest returns the highest place of the lines that a source fills on its side of the work, up to other sources and
// other machines; -Inf where the file tells of none.
func (k *task) crest(source int32) float64 {
	l := k.pumpsInLine()
	crest, known := l.crest[source]
	if !known {
		apart := k.machineParts()
		stop := func(j int32) bool {
			return j != source && (k.InZone[j] || apart[j] || k.At(j).Kind == isolation.Source)
		}
		line := graph.Flood(k.Out, []int32{source}, stop)
		for j := range line {
			line[j] = line[j] && !stop(int32(j))
		}
		crest = k.CrestOf(line)
		l.crest[source] = crest
	}
	return crest
}

// heatedTo returns how warm a liquid is at most that comes from a source to some nodes in service: as at the source, or
// as a heater on the way makes it. That is as warm as the plant file says of a heater (temp_c), and where it says
// nothing as warm as the hottest that heats it. A heater does not count that is opened, whose other side is opened,
// kept off or out of service, or from which the liquid can go on only by the way by which it came.
func (k *task) heatedTo(source int32, ends []int32) (float64, bool) {
	hottest, known := k.At(source).TempC, k.At(source).HasTemp
	for _, h := range k.pumpsInLine().heaters {
		if !math.IsInf(h.celsius, -1) && (!known || h.celsius > hottest) && k.comesBy(h, source, ends) {
			hottest, known = h.celsius, true
		}
	}
	return hottest, known
}

// heatedUntold returns a heater of which nobody can say how warm it makes what comes from a source to some nodes in
// service; nil of none.
func (k *task) heatedUntold(source int32, ends []int32) *isolation.Node {
	for _, h := range k.pumpsInLine().heaters {
		if h.untold && k.comesBy(h, source, ends) {
			return k.At(h.node)
		}
	}
	return nil
}

// comesBy reports whether what comes from a source to some nodes in service passes a heater.
func (k *task) comesBy(h heating, source int32, ends []int32) bool {
	return k.springs(source)[h.node] && slices.ContainsFunc(ends, func(i int32) bool { return h.beyond[i] }) &&
		k.passesOn(source, h.node, ends)
}

// heater returns what is told of a heater that may be hot while the plan is on; false for what is none. How far
// elements heat that say nothing of it nobody knows.
func (k *task) heater(h int32) (heating, bool) {
	n, out := k.At(h), heating{node: h, celsius: math.Inf(-1)}
	by := k.Number(n.HeatedBy)
	if by < 0 || k.InZone[h] || k.InZone[by] || k.isKept(by) || k.still[by] || !k.mayHeat(by) {
		return out, false
	}
	if n.HasTemp {
		out.celsius = n.TempC
		return out, true
	}
	reach := graph.Flood(k.In, []int32{by}, nil)
	for _, s := range k.allSources() {
		switch from := k.At(s); {
		case !reach[s] || !bringsHeat(k.At(by))(from):
		case from.HasTemp && slices.Contains(hot, from.Energy):
			out.celsius = max(out.celsius, from.TempC)
		default:
			out.untold = true
		}
	}
	return out, true
}

// mayHeat reports whether what heats can come to the other side of a heater in service.
func (k *task) mayHeat(by int32) bool {
	return slices.ContainsFunc(k.allSources(), func(s int32) bool {
		n := k.At(s)
		switch {
		case !bringsHeat(k.At(by))(n):
			return false
		case n.Energy.Nature() == isolation.Current:
			return graph.Flood(k.Out, []int32{s}, func(j int32) bool { return k.shutInService(j) || !k.carriesCurrent(j) })[by]
		}
		return graph.Flood(k.feedsOf(n.Energy.Nature()), []int32{s}, k.shutInService)[by]
	})
}

// isInRing reports whether a liquid can run round through a node in service, past no source and nothing opened.
func (k *task) isInRing(i int32) bool {
	bars := func(j int32) bool {
		return j == i || k.At(j).Kind == isolation.Source || k.shutInService(j) || k.InZone[j]
	}
	beside := k.pipes()
	return slices.ContainsFunc(beside[i], func(out int32) bool {
		return !bars(out) && graph.WayTo(beside, []int32{out}, func(j int32) bool {
			return j != out && !bars(j) && slices.Contains(beside[i], j)
		}, bars) != nil
	})
}

// passesOn reports whether a liquid comes from a source to some nodes through another node in service, with no single
// node between through which it must come and go, unless it runs round through that node: a ring is warm all over,
// however its expansion line joins it.
func (k *task) passesOn(source, through int32, ends []int32) bool {
	next := k.feedsOf(isolation.Liquid)
	way := func(from int32, ends func(int32) bool, without int32) []int32 {
		return graph.WayTo(next, []int32{from}, ends, func(j int32) bool {
			return j == without || j != from && (j == source || k.At(j).Kind == isolation.Source) ||
				k.shutInService(j) || k.InZone[j]
		})
	}
	is := func(j int32) bool { return j == through }
	work := func(j int32) bool { return slices.Contains(ends, j) }
	come, on := way(source, is, -1), way(through, work, -1)
	if come == nil || on == nil {
		return false
	}
	return k.isInRing(through) ||
		!slices.ContainsFunc(come[1:len(come)-1], func(u int32) bool { // it lies on every way of both, so on these
			return slices.Contains(on, u) && way(source, is, u) == nil && way(through, work, u) == nil
		})
}

// mostPumps is up to how many pumps the worst way through them is looked for; of more the sum of all is taken.
const mostPumps = 9

// pressedAt returns the pressure that a source has at most at a node, bar gauge.
func (k *task) pressedAt(source, node int32) float64 {
	key := [2]int32{source, node}
	bar, known := k.pressed[key]
	if !known {
		bar = k.pressure(source, []int32{node})
		if k.pressed == nil {
			k.pressed = map[[2]int32]float64{}
		}
		k.pressed[key] = bar
	}
	return bar
}

// atMost ends a sentence that named a lower pressure than a node bears at most; "" where it did not.
func (k *task) atMost(node int32, sources []int32, named float64) string {
	if most := k.mostOn(node, sources); most > named {
		return fmt.Sprintf(", at up to %g bar", most)
	}
	return ""
}

// mostOn returns the highest pressure of some sources on a node, bar gauge: 0 where none of them flows.
func (k *task) mostOn(i int32, sources []int32) float64 {
	most := 0.0
	for _, s := range sources {
		most = max(most, k.pressedAt(s, i))
	}
	return most
}

// lift returns by how many bar pumps raise what comes from a source to some nodes at most: the sum along the worst way
// that passes none of them twice.
func (k *task) lift(source int32, ends []int32) float64 {
	l := k.pumpsInLine()
	first, begins := k.springs(source), k.onlyWay(source, true)
	used := make([]bool, len(l.pumps))
	var most func(reach []bool) float64 // -1 where no way leads to the work
	most = func(reach []bool) float64 {
		best := -1.0
		if slices.ContainsFunc(ends, func(z int32) bool { return reach[z] }) {
			best = 0
		}
		for n, p := range l.pumps {
			if !reach[p] || used[n] || slices.ContainsFunc(l.beside[n], func(m int) bool { return used[m] }) ||
				!slices.Contains(begins, p) && l.shares(begins, l.out[n]) {
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

// pumpLine is what the pumps that may run press on, one list for all sources, and what heaters that may be hot heat.
type pumpLine struct {
	first   map[int32][]bool // per source: where what it holds comes to in service
	crest   map[int32]float64
	judged  map[int32]*isolation.Node // per source: see pressing
	heaters []heating
	pumps   []int32
	beyond  [][]bool  // per pump: what stands behind it in service
	out     [][]int32 // per pump: see onlyWay
	beside  [][]int   // per pump: those that draw from one place with it, or press into one, and so never stand in line
}

// heating is a heater that may be hot: up to how many °C it heats as far as that is told, -Inf where it is not at all,
// and where what leaves it comes to in service.
type heating struct {
	node    int32
	celsius float64
	untold  bool // it may heat more, and nobody can say how far
	beyond  []bool
}

// pumpsInLine returns the pumps that may run, and the heaters that may be hot, found once for what is opened and kept
// off by now.
func (k *task) pumpsInLine() *pumpLine {
	if k.line != nil {
		return k.line
	}
	k.line = k.newPumpLine()
	for i := range k.Plant.Nodes {
		if h, is := k.heater(int32(i)); is {
			h.beyond = k.inService([]int32{h.node}, h.node)
			k.line.heaters = append(k.line.heaters, h)
		}
	}
	return k.line
}

// springs marks where what a source holds comes to in service.
func (k *task) springs(source int32) []bool {
	l := k.pumpsInLine()
	if l.first[source] == nil {
		l.first[source] = k.inService([]int32{source}, source)
	}
	return l.first[source]
}

func (k *task) newPumpLine() *pumpLine {
	l := &pumpLine{pumps: k.mayRun(), first: map[int32][]bool{}, crest: map[int32]float64{},
		judged: map[int32]*isolation.Node{}}
	for _, p := range l.pumps {
		l.beyond = append(l.beyond, k.inService(k.beyond(p), p))
	}
	var in [][]int32
	for _, p := range l.pumps {
		l.out, in = append(l.out, k.onlyWay(p, true)), append(in, k.onlyWay(p, false))
	}
	l.beside = make([][]int, len(l.pumps))
	for n := range l.pumps {
		for m := range l.pumps {
			p, q := l.pumps[n], l.pumps[m]
			inLine := slices.Contains(l.out[n], q) || slices.Contains(l.out[m], p)
			if n != m && !inLine && (l.shares(l.out[n], l.out[m]) || l.shares(in[n], in[m])) {
				l.beside[n] = append(l.beside[n], m)
			}
		}
	}
	return l
}

// shares reports whether two ways have a node in common.
func (*pumpLine) shares(a, b []int32) bool {
	return slices.ContainsFunc(a, func(i int32) bool { return slices.Contains(b, i) })
}

// onlyWay lists the nodes that everything passes which leaves a node, or comes to it: while there is but one next node,
// and that one too where it branches. No way passes a node twice, so of two pumps that share one of them only one
// stands on it.
func (k *task) onlyWay(i int32, down bool) []int32 {
	next := k.feedsOf(isolation.Liquid)
	if !down {
		next = k.comes()
	}
	var out []int32
	for at, from := i, int32(-1); len(out) < len(next); {
		on, only := int32(-1), true
		for _, j := range next[at] {
			if j != from && k.At(j).Kind != isolation.Opening && k.At(j).Kind != isolation.Consumer {
				on, only = j, on < 0
			}
		}
		if on < 0 || !only || slices.Contains(out, on) {
			break
		}
		from, at = at, on
		out = append(out, at)
	}
	return out
}

// comes returns from where a liquid comes to each node in service; made once.
func (k *task) comes() [][]int32 {
	if k.come == nil {
		k.come = make([][]int32, len(k.Plant.Nodes))
		for a, list := range k.feedsOf(isolation.Liquid) {
			for _, b := range list {
				k.come[b] = append(k.come[b], int32(a))
			}
		}
	}
	return k.come
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
		if n.LiftsBar > 0 && !k.InZone[i] && (d < 0 || !k.InZone[d] && !k.isKept(d) && !k.still[d]) {
			out = append(out, int32(i))
		}
	}
	return out
}

// shutInService reports whether a node is shut in service: normally, and beside no pump and no machine but those that
// are worked on, because any other may be put into service meanwhile.
func (k *task) shutInService(i int32) bool {
	if k.closed == nil {
		part := k.machineParts()
		serves := func(j int32) bool { return k.At(j).LiftsBar > 0 || part[j] }
		k.closed = make([]bool, len(k.Plant.Nodes))
		for j := range k.closed {
			k.closed[j] = k.normallyShut(int32(j)) && !part[j] && !slices.ContainsFunc(k.Out[j], serves) &&
				!slices.ContainsFunc(k.In[j], serves)
		}
	}
	return k.closed[i]
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

// pressingBy returns a source as it presses on a point along one way: with the pumps on the way that may run, and its
// height above the point, as the point's own step says it.
func (k *task) pressingBy(way []int32, point int32) *isolation.Node {
	n := *k.At(way[0])
	if n.Energy.Nature() == isolation.Liquid {
		for _, p := range k.mayRun() {
			if slices.Contains(way, p) {
				n.GaugeBar += k.At(p).LiftsBar
			}
		}
		n.GaugeBar = k.atFoot(way[0], n.GaugeBar, []int32{point})
		for _, h := range k.pumpsInLine().heaters {
			if h.celsius > n.TempC && slices.Contains(way, h.node) {
				n.TempC = h.celsius
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
	case n.Energy == "hydraulic":
		s = "hydraulic oil"
	case n.Energy == "mechanical":
		s = "motion"
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
