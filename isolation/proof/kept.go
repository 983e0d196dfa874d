package proof

import (
	"fmt"
	"slices"

	"stillwatch/isolation"
)

// keptOff is a part that is not opened, and to which nothing from some sources may come all the same.
type keptOff struct {
	node int32
	from []int32
}

// mustKeep finds what must be kept off whatever the plan says of it: what the job names, every drive of its machine
// that the job does not call live, and the drive of every pump that is opened.
func (v *prover) mustKeep() error {
	if v.edition < 3 {
		return nil
	}
	for _, id := range v.job.KeptOff {
		if err := v.keep(id, func(*isolation.Node) bool { return true }); err != nil {
			return err
		}
	}
	if m := v.plant.Machine(v.job.Machine); m != nil {
		for _, id := range m.Nodes {
			live := slices.ContainsFunc(v.job.Live, func(l isolation.LivePart) bool { return l.ID == id })
			if n := v.plant.Node(id); n == nil || n.Kind != isolation.Consumer || live {
				continue
			}
			if err := v.keep(id, v.drives(v.plant.Node(id))); err != nil {
				return err
			}
		}
	}
	for i := range v.plant.Nodes {
		if d := v.plant.Nodes[i].Drive; v.work[i] && d != "" {
			if err := v.keep(d, v.drives(v.plant.Node(d))); err != nil {
				return err
			}
		}
	}
	return nil
}

func isCurrent(s *isolation.Node) bool { return s.Energy.Nature() == isolation.Current }

// drives is about the sources by which a drive moves: current, and since edition 5 what it is said to use of steam, air
// or another gas, hydraulic oil and shafts.
func (v *prover) drives(drive *isolation.Node) func(*isolation.Node) bool {
	return func(s *isolation.Node) bool {
		if isCurrent(s) || v.edition < 5 || drive == nil || drive.Energy == "" {
			return isCurrent(s)
		}
		turns := s.Energy == "hydraulic" || s.Energy.Nature() == isolation.Gas || s.Energy.Nature() == isolation.Motion
		return turns && (s.Energy.IsUnder(drive.Energy) || drive.Energy.IsUnder(s.Energy))
	}
}

// heats is about the sources that heat what they come to: hot fluids a vessel, current a consumer; since edition 6 also
// exhaust gas, and a burner what it uses.
func (v *prover) heats(to *isolation.Node) func(*isolation.Node) bool {
	return func(s *isolation.Node) bool {
		if slices.Contains([]isolation.Energy{"steam", "hot-water", "thermal-oil"}, s.Energy) {
			return true
		}
		fired := to.Energy != "" && (to.Energy.IsUnder(s.Energy) || s.Energy.IsUnder(to.Energy))
		return to.Kind == isolation.Consumer && (isCurrent(s) || fired && v.edition >= 6) ||
			s.Energy == "exhaust-gas" && v.edition >= 6
	}
}

// keep notes that nothing from the sources that count may come to a node. Where the rules ask for more than one point
// even if nothing is opened, it counts as opened.
func (v *prover) keep(id isolation.NodeID, counts func(*isolation.Node) bool) error {
	at := v.number(id)
	if at < 0 {
		return fmt.Errorf("the plant has no %s to keep off", id)
	}
	if v.work[at] {
		return nil
	}
	comes := v.spread(v.before, []int32{at}, func(int32) bool { return false })
	h := keptOff{node: at}
	for i := range v.plant.Nodes {
		if n := &v.plant.Nodes[i]; n.Kind == isolation.Source && comes[i] && counts(n) {
			h.from = append(h.from, int32(i))
		}
	}
	for _, s := range h.from {
		if _, rule, err := v.atRest(s, []int32{at}); err != nil || rule.Demand != isolation.DemandSingle {
			v.work[at] = true
			v.pumps, v.others, v.hot, v.judged = nil, nil, nil, nil // fewer may run now
			return nil
		}
	}
	if len(h.from) > 0 {
		v.kept = append(v.kept, h)
	}
	return nil
}

// atRest returns a source with the pressure that it has at what is kept off, and the rule for work at which nothing is
// opened. Edition 3 took the source's own pressure, and asked for no bore.
func (v *prover) atRest(source int32, kept []int32) (*isolation.Node, isolation.DemandRule, error) {
	n, bore := &v.plant.Nodes[source], 0.0
	if v.edition >= 5 {
		is := make([]bool, len(v.plant.Nodes))
		for _, i := range kept {
			is[i] = true
		}
		n = v.pressesOn(source, is)
		if v.bored() {
			bore = v.newBores(is, 0).of(source)
		}
	}
	rule, err := v.rules.Demand(n, isolation.Outside, bore)
	return n, rule, err
}

// bored reports whether some rule asks for a bore.
func (v *prover) bored() bool {
	return slices.ContainsFunc(v.rules.Demands, func(d isolation.DemandRule) bool { return d.AboveBoreMM != nil })
}

// keepsOff checks that what must be kept off is, that the plan names each such part, and that it names nothing as kept
// off to which a source that it names can come.
func (v *prover) keepsOff() error {
	for _, said := range v.plan.Kept {
		if said.AsOpened {
			continue
		}
		from := make([]int32, 0, len(said.Sources))
		for _, id := range said.Sources {
			from = append(from, v.number(id))
		}
		if v.number(said.ID) < 0 || slices.Contains(from, -1) {
			return fmt.Errorf("it keeps off %s, and the plant does not have that or one of its sources", said.ID)
		}
		v.kept = append(v.kept, keptOff{v.number(said.ID), from})
	}
	for _, h := range v.kept {
		id := v.plant.Nodes[h.node].ID
		if v.spread(v.next, h.from, v.isShut)[h.node] {
			return fmt.Errorf("something comes to %s, which must be kept off", id)
		}
		if !slices.ContainsFunc(v.plan.Kept, func(k isolation.Kept) bool { return k.ID == id && k.Why != "" }) {
			return fmt.Errorf("it does not say that %s is kept off, and why", id)
		}
	}
	return v.standing()
}

// standing checks that no plan leaves a liquid standing in a heater that stays hot, or a pump working against what it
// shuts, where either flowed before.
func (v *prover) standing() error {
	dead := v.supplied(v.isShut)
	shuts, halts := make([]bool, len(v.plant.Nodes)), make([]bool, len(v.plant.Nodes)) // in service, and now
	for i := range v.plant.Nodes {
		n := &v.plant.Nodes[i]
		d := v.number(n.Drive)
		shuts[i] = n.Kind.IsMoved() && n.Kind != isolation.Earth && n.Normal == n.Kind.Isolating()
		halts[i] = shuts[i] || v.isShut(int32(i)) || v.work[i] || d >= 0 && (!dead[d] || v.work[d])
	}
	normally, now := func(i int32) bool { return shuts[i] }, func(i int32) bool { return halts[i] }
	for i := range v.plant.Nodes {
		n, at := &v.plant.Nodes[i], int32(i)
		heater, drive := v.number(n.HeatedBy), v.number(n.Drive)
		if heater < 0 && drive < 0 || !v.work[i] && !v.standsStill(at, normally, now) {
			continue
		}
		if heater >= 0 && !v.work[heater] && v.hotInService(heater, normally) {
			for s, hot := range v.pressedBy(heater) {
				from := &v.plant.Nodes[s] // before edition 5 a consumer of steam counted as if it gave some
				if hot && (from.Kind == isolation.Source || v.edition < 5) && v.heats(&v.plant.Nodes[heater])(from) {
					return fmt.Errorf("the liquid stands still in %s, and %s still heats it", n.ID, v.plant.Nodes[heater].ID)
				}
			}
		}
		if drive >= 0 && !v.work[drive] && (dead[drive] || v.moved(drive)) {
			return fmt.Errorf("%s would work against what is shut, and its drive %s keeps its supply", n.ID,
				v.plant.Nodes[drive].ID)
		}
	}
	return nil
}

// moved reports whether what a drive uses, other than current, comes to it past no point of the plan.
func (v *prover) moved(drive int32) bool {
	if v.edition < 5 {
		return false
	}
	moves := v.drives(&v.plant.Nodes[drive])
	for s, comes := range v.pressedBy(drive) {
		if n := &v.plant.Nodes[s]; comes && n.Kind == isolation.Source && !isCurrent(n) && moves(n) {
			return true
		}
	}
	return false
}

// pressedBy marks what can come to a node past no point of the plan.
func (v *prover) pressedBy(at int32) []bool { return v.spread(v.before, []int32{at}, v.isShut) }

// hotInService reports whether something that heats comes to a node with everything as it stands in service.
func (v *prover) hotInService(at int32, bars func(int32) bool) bool {
	comes := v.spread(v.before, []int32{at}, bars)
	return slices.ContainsFunc(v.plant.Nodes, func(n isolation.Node) bool {
		return n.Kind == isolation.Source && comes[v.number(n.ID)] && v.heats(&v.plant.Nodes[at])(&n)
	})
}

// runs reports whether a liquid can run through a node: in from one place that gives or takes it and out to another,
// without one node through which it must come and go. It is enough to try the nodes of one way: whatever parts a node
// from all ends lies on every way.
func (v *prover) runs(at int32, bars func(int32) bool) bool {
	pipes, ends := v.pipework()
	isEnd := make([]bool, len(pipes))
	for _, e := range ends {
		isEnd[e] = e != at && !bars(e)
	}
	way := v.wayOut(pipes, at, isEnd, bars)
	if len(way) == 0 {
		return false
	}
	for _, u := range way[1:] {
		if len(v.wayOut(pipes, at, isEnd, func(i int32) bool { return bars(i) || i == u })) == 0 {
			return false
		}
	}
	first := way[len(way)-1] // the neighbour by which the way left
	return slices.ContainsFunc(pipes[at], func(n int32) bool {
		if n == first || bars(n) {
			return false
		}
		return isEnd[n] || len(v.wayOut(pipes, n, isEnd, func(i int32) bool { return bars(i) || i == at })) > 0
	})
}

// wayOut returns the nodes of a way through pipes to an end, the end first and the start left out; none where there is
// no way.
func (v *prover) wayOut(pipes [][]int32, from int32, isEnd []bool, bars func(int32) bool) []int32 {
	came := v.search.came
	for i := range came {
		came[i] = -1
	}
	came[from] = from
	list := append(v.search.list[:0], from)
	for head := 0; head < len(list); head++ {
		for _, to := range pipes[list[head]] {
			if came[to] >= 0 || bars(to) {
				continue
			}
			came[to] = list[head]
			if !isEnd[to] {
				list = append(list, to)
				continue
			}
			var way []int32
			for at := to; at != from; at = came[at] {
				way = append(way, at)
			}
			return way
		}
	}
	return nil
}

// pipework returns the neighbours of every node by pipes alone, and the places that give or take a liquid.
func (v *prover) pipework() (pipes [][]int32, ends []int32) {
	if v.pipes != nil {
		return v.pipes, v.pipeEnds
	}
	v.pipes = make([][]int32, len(v.plant.Nodes))
	dry := func(n *isolation.Node, l isolation.Link) bool {
		return n.Kind.IsElectrical() || n.Kind == isolation.Opening || n.Kind == isolation.Earth ||
			n.Kind == isolation.Consumer && l.BoreMM == 0 || n.Kind == isolation.Source && isCurrent(n)
	}
	for e, l := range v.plant.Links {
		a, b := v.ends[e][0], v.ends[e][1]
		if !dry(&v.plant.Nodes[a], l) && !dry(&v.plant.Nodes[b], l) {
			v.pipes[a], v.pipes[b] = append(v.pipes[a], b), append(v.pipes[b], a)
		}
	}
	for i := range v.plant.Nodes {
		n := &v.plant.Nodes[i]
		if len(v.pipes[i]) > 0 && (n.Kind == isolation.Consumer || n.Kind == isolation.Source &&
			n.Energy.Nature() == isolation.Liquid) {
			v.pipeEnds = append(v.pipeEnds, int32(i))
		}
	}
	return v.pipes, v.pipeEnds
}
