package proof

import (
	"math"
	"slices"

	"stillwatch/isolation"
)

// presses returns a source with the temperature, see warmest, and the pressure by which it is judged: its own, and for
// a liquid what the pumps on the worst way to the work add, each once, and what its height adds, see stands. A pump
// counts unless it is opened, or its drive is opened or kept off; what flows goes as in service, with the points beside
// a pump or another machine open, through no other source and not through the work. Of more than nine pumps all count.
func (v *prover) presses(source int32) *isolation.Node {
	if n, known := v.judged[source]; known {
		return n
	}
	on := slices.Clone(v.work)
	for _, h := range v.plan.Kept {
		if i := v.number(h.ID); i >= 0 {
			on[i] = true
		}
	}
	if v.judged == nil {
		v.judged = map[int32]*isolation.Node{}
	}
	v.judged[source] = v.pressesOn(source, on)
	return v.judged[source]
}

func isAboutHeat(d isolation.DemandRule) bool { return d.AboveC != nil }

// pressesOn is presses for what is marked instead of the work and what is kept off.
func (v *prover) pressesOn(source int32, on []bool) *isolation.Node {
	n := v.plant.Nodes[source]
	if n.Energy.Nature() != isolation.Liquid || v.edition < 3 {
		return &n
	}
	if v.edition >= 5 && slices.ContainsFunc(v.rules.Demands, isAboutHeat) {
		if c, heated := v.warmest(source, on); heated && (!n.HasTemp || c > n.TempC) {
			n.TempC, n.HasTemp = c, true
		}
	}
	if v.pumps == nil {
		v.findPumps()
	}
	if n.GaugeBar += v.lifted(source, on); v.edition >= 6 {
		n.GaugeBar = v.stands(source, n.GaugeBar, on)
	}
	return &n
}

// lifted returns by how much pumps raise a source on its way to what is marked at most, bar.
func (v *prover) lifted(source int32, on []bool) float64 {
	if len(v.pumps) > 9 {
		sum := 0.0
		for _, p := range v.pumps {
			sum += v.plant.Nodes[p.at].LiftsBar
		}
		return sum
	}
	return max(0, v.worstLift(v.downstream([]int32{source}, source), nil, v.lone(v.flowing(), source), on))
}

// pumping is a pump that may run, with what stands downstream of it, and the nodes that everything crosses on the way
// into it and out of it. Two pumps that have one of the latter in common stand side by side: no way passes a node
// twice.
type pumping struct {
	at      int32
	below   []bool
	in, out []int32
}

// besides reports whether two pumps stand side by side.
func (p *pumping) besides(q *pumping) bool {
	common := func(a, b []int32) bool {
		return slices.ContainsFunc(a, func(i int32) bool { return slices.Contains(b, i) })
	}
	if slices.Contains(p.out, q.at) || slices.Contains(q.out, p.at) {
		return false // one presses into the other
	}
	return common(p.in, q.in) || common(p.out, q.out)
}

// lone follows the one way on from a node along some lists, to where it branches.
func (v *prover) lone(along [][]int32, from int32) []int32 {
	var out []int32
	at, last := from, int32(-1)
	for range along {
		next := int32(-1)
		for _, j := range along[at] {
			switch kind := v.plant.Nodes[j].Kind; {
			case j == last || kind == isolation.Opening || kind == isolation.Consumer:
			case next >= 0:
				return out // it branches
			default:
				next = j
			}
		}
		if next < 0 || slices.Contains(out, next) {
			return out
		}
		out = append(out, next)
		last, at = at, next
	}
	return out
}

// findPumps lists the pumps that may run while the plan is on.
func (v *prover) findPumps() {
	v.pumps = []pumping{}
	flow := v.flowing()
	against := make([][]int32, len(flow))
	for a, list := range flow {
		for _, b := range list {
			against[b] = append(against[b], int32(a))
		}
	}
	for i := range v.plant.Nodes {
		n := &v.plant.Nodes[i]
		d := v.number(n.Drive)
		off := d >= 0 && (v.work[d] || slices.ContainsFunc(v.plan.Kept,
			func(h isolation.Kept) bool { return h.ID == n.Drive }) && (v.edition < 5 || v.stopped(d)))
		if n.LiftsBar <= 0 || v.work[i] || off {
			continue
		}
		var out, all []int32
		for _, e := range v.ends {
			if e[0] == int32(i) {
				out, all = append(out, e[1]), append(all, e[1])
			} else if e[1] == int32(i) {
				all = append(all, e[0])
			}
		}
		if len(out) == 0 {
			out = all
		}
		v.pumps = append(v.pumps, pumping{int32(i), v.downstream(out, int32(i)), v.lone(against, int32(i)),
			v.lone(flow, int32(i))})
	}
}

// stopped reports whether nothing by which a drive moves comes to it past the points of the plan. That a plan calls it
// kept off is not enough.
func (v *prover) stopped(drive int32) bool {
	moves := v.drives(&v.plant.Nodes[drive])
	for s, comes := range v.pressedBy(drive) {
		if n := &v.plant.Nodes[s]; comes && n.Kind == isolation.Source && moves(n) {
			return false
		}
	}
	return true
}

// worstLift returns what the pumps not yet passed add at most on a way from where they may begin to what is marked in
// on; less than 0 where there is no way. begins is where everything from the source comes out.
func (v *prover) worstLift(from []bool, passed []int, begins []int32, on []bool) float64 {
	worst := -1.0
	for i, in := range from {
		if in && on[i] {
			worst = 0
			break
		}
	}
	for n := range v.pumps {
		p := &v.pumps[n]
		beside := !slices.Contains(begins, p.at) && slices.ContainsFunc(p.out, func(i int32) bool {
			return slices.Contains(begins, i)
		})
		if !from[p.at] || beside ||
			slices.ContainsFunc(passed, func(m int) bool { return m == n || v.pumps[m].besides(p) }) {
			continue
		}
		if on := v.worstLift(p.below, append(slices.Clone(passed), n), begins, on); on >= 0 {
			worst = max(worst, on+v.plant.Nodes[p.at].LiftsBar)
		}
	}
	return worst
}

// downstream marks where a liquid comes to in service from some nodes, those included and not back over the node that
// sends it.
func (v *prover) downstream(starts []int32, sender int32) []bool {
	seen := make([]bool, len(v.plant.Nodes))
	list := append([]int32(nil), starts...)
	for _, s := range starts {
		seen[s] = true
	}
	for head := 0; head < len(list); head++ {
		at := list[head]
		n := &v.plant.Nodes[at]
		if first := head < len(starts); v.work[at] || v.shutInService(at) ||
			!first && (at == sender || n.Kind == isolation.Source) {
			continue
		}
		for _, to := range v.flowing()[at] {
			if !seen[to] {
				seen[to] = true
				list = append(list, to)
			}
		}
	}
	return seen
}

// shutInService reports whether a point is normally shut, and stands beside no pump and in or beside no machine on
// which nobody works.
func (v *prover) shutInService(at int32) bool {
	n := &v.plant.Nodes[at]
	if !n.Kind.IsMoved() || n.Kind == isolation.Earth || n.Normal != n.Kind.Isolating() {
		return false
	}
	serves := func(j int32) bool { return v.plant.Nodes[j].LiftsBar > 0 || v.elsewhere()[j] }
	return !v.elsewhere()[at] && !slices.ContainsFunc(v.next[at], serves) && !slices.ContainsFunc(v.before[at], serves)
}

// elsewhere marks the parts of the machines on which nobody works: that is not the job's and has no part that is
// opened.
func (v *prover) elsewhere() []bool {
	if v.others != nil {
		return v.others
	}
	v.others = make([]bool, len(v.plant.Nodes))
	for _, m := range v.plant.Machines {
		if m.ID == v.job.Machine || slices.ContainsFunc(m.Nodes, v.isWork) {
			continue
		}
		for _, id := range m.Nodes {
			if at := v.number(id); at >= 0 {
				v.others[at] = true
			}
		}
	}
	return v.others
}

// flowing returns where a liquid goes next from every node in service: not into cables, and back over no link that is
// one way, nor through a check valve or a pump whose direction the file shows.
func (v *prover) flowing() [][]int32 {
	if v.flow != nil {
		return v.flow
	}
	v.flow = make([][]int32, len(v.plant.Nodes))
	into, away := make([]bool, len(v.flow)), make([]bool, len(v.flow))
	for _, e := range v.ends {
		away[e[0]], into[e[1]] = true, true
	}
	for i, l := range v.plant.Links {
		a, b := v.ends[i][0], v.ends[i][1]
		if v.plant.Nodes[a].Kind.IsElectrical() || v.plant.Nodes[b].Kind.IsElectrical() {
			continue
		}
		v.flow[a] = append(v.flow[a], b)
		oneWay := l.OneWay || l.AirGap
		for _, c := range []int32{a, b} {
			n := &v.plant.Nodes[c]
			oneWay = oneWay || (n.Kind == isolation.CheckValve || n.LiftsBar > 0) && into[c] && away[c]
		}
		if !oneWay {
			v.flow[b] = append(v.flow[b], a)
		}
	}
	return v.flow
}

// stands returns the pressure of a liquid at what is marked when the source itself, with all that pumps add, has bar:
// more by the height from which it comes down, or what its own line weighs where a part of that rises higher than the
// source. Hundredths of a bar are rounded up. A source of unknown height adds none; see silentFigures.
func (v *prover) stands(source int32, bar float64, on []bool) float64 {
	n := &v.plant.Nodes[source]
	weight := 9.81 * 1000 / 1e5 // bar a metre
	if f, has := v.plant.Fluids[n.Fluid]; has && f.Density15 > 0 {
		weight = 9.81 * f.Density15 / 1e5
	}
	foot, _ := v.heights(on)
	if math.IsInf(foot, 1) {
		foot = 0 // the base line: nothing aboard lies lower
	}
	if level, known := v.levelOf(source); known && level > foot {
		bar += weight * (level - foot)
	}
	line := v.spread(v.next, []int32{source}, func(i int32) bool {
		return v.work[i] || v.elsewhere()[i] || v.plant.Nodes[i].Kind == isolation.Source
	})
	if _, crest := v.heights(line); weight*(crest-foot) > bar {
		bar = weight * (crest - foot)
	}
	return math.Ceil(100*bar-1e-6) / 100
}

// levelOf returns how high a source stands: its level, or else the highest end of a pipe there.
func (v *prover) levelOf(source int32) (level float64, known bool) {
	if n := &v.plant.Nodes[source]; n.HasElevation {
		return n.ElevationM, true
	}
	is := make([]bool, len(v.plant.Nodes))
	is[source] = true
	_, level = v.heights(is)
	return level, !math.IsInf(level, -1)
}

// heights returns the lowest and the highest place of what is marked that the plant file tells: a vessel's bottom and
// top, an opening's mouth, the ends of pipes; +Inf and −Inf where it tells of none. A source's level is none of them.
func (v *prover) heights(of []bool) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for i, is := range of {
		if n := &v.plant.Nodes[i]; is && n.HasElevation && n.Kind != isolation.Source {
			low, high = min(low, n.ElevationM), max(high, n.ElevationM, n.TopM)
		}
	}
	for e, l := range v.plant.Links {
		for side, at := range v.ends[e] {
			if l.HasLevel && of[at] {
				low, high = min(low, l.InvertM[side]), max(high, l.InvertM[side])
			}
		}
	}
	return low, high
}
