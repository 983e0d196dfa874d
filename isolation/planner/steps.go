package planner

import (
	"fmt"
	"slices"
	"strings"

	"stillwatch/isolation"
	"stillwatch/isolation/envelope"
	"stillwatch/isolation/sequence"
)

// draft is a step before its place in the order is known.
type draft struct {
	step  isolation.Step
	node  int32
	block int
	after []int32 // nodes whose steps come before in any case
}

// Blocks of the order: all steps of a lower block come before any of a higher. Between blockFlow and blockVents there
// is room for every group of the rules, each in two: outer points, then inner ones.
const (
	blockControls = 0
	blockCurrent  = 1 // and the place in the order of switching
	blockFlow     = 10
	blockAtRest   = 99_997 // what is shut only when nothing turns any more, so that nothing else waits for that
	blockEarths   = 99_998 // when every cable is dead
	// what stands shut on the way to an opening, before the opening itself
	blockCocks = 99_999
	// vents first: air must be able to get in, and pressure out above the liquid; those of what is opened before the
	// bleeds of its lines, liquids before gas and steam (common practice, no source)
	blockVents  = 100_000
	blockDrains = 100_005
	blockBlanks = 100_006 // joints are broken only in lines that are let down
)

// steps puts everything that is tagged into the order of fitting: controls; electrical points; the other points group
// by group as the rules say, source side before far side, a motive supply before what it moves; earths; vents; drains;
// blanks and spools, when the lines are let down. Inside what that leaves free the walk is the shortest.
func (k *task) steps(plan *isolation.Plan, picked choice, d envelope.DrawOff) {
	points := k.pointDrafts(picked, d)
	drafts := append(k.controlDrafts(picked), points...)
	drafts = append(drafts, k.earthDrafts(points, k.Marks(picked.points))...)
	drafts = append(drafts, k.openingDrafts(d)...)
	slices.SortStableFunc(drafts, func(a, b draft) int { return a.block - b.block })
	stops := make([]sequence.Stop, len(drafts))
	list := make([]int, len(drafts))
	for i, d := range drafts {
		list[i] = i
		stops[i] = stopAt(d.step.Place)
		stops[i].Block = d.block
		for j, e := range drafts {
			if slices.Contains(d.after, e.node) {
				stops[i].After = append(stops[i].After, j)
			}
		}
	}
	plan.ListWalkM = tenths(sequence.Walk(stops, list))
	order := list
	// it refuses only circles, and a supply is never moved by what it moves
	if round, err := sequence.Order(stops); err == nil {
		order, plan.WalkM = round.Order, tenths(round.Metres)
	}
	for n, i := range order {
		s := drafts[i].step
		s.N = n + 1
		plan.Steps = append(plan.Steps, s)
	}
}

// The ship's measures that the walk is reckoned with: assumptions, good enough to compare two rounds.
const (
	frameM = 0.7 // frame spacing; common practice in machinery spaces, no source
	deckM  = 2.6 // from deck to deck; common practice, no source
	sideM  = 5.0 // from the centre line to what stands port or starboard; an assumption
)

// stopAt returns where a place is, in metres.
func stopAt(p isolation.Place) sequence.Stop {
	s := sequence.Stop{X: float64(p.Frame) * frameM, Z: float64(p.Deck) * deckM, Unknown: p.IsZero()}
	switch p.Side {
	case "port":
		s.Y = -sideM
	case "starboard":
		s.Y = sideM
	}
	return s
}

func tenths(m float64) float64 { return float64(int64(m*10+0.5)) / 10 }

// newStep returns a step with what the plant file says of its node.
func (k *task) newStep(i int32, phase isolation.Phase, position isolation.Position) isolation.Step {
	n := k.At(i)
	s := isolation.Step{
		Phase:     phase,
		Point:     n.ID,
		Name:      n.Name,
		Kind:      n.Kind,
		Place:     n.Place,
		Position:  position,
		Cuts:      []isolation.NodeID{},
		Clearance: n.Normal,
	}
	if s.Clearance == "" {
		s.Clearance = n.Kind.Passing()
		if n.Kind == isolation.Opening {
			s.Clearance = isolation.Closed
		}
	}
	return s
}

// controlDrafts are the machine's control switches: put to off and tagged, never locked as if they isolated
// (DOE-STD-1030-96: control switches are tagged too). They stay off when the tag comes off: a switch put to on would
// start the machine by itself while people still stand at it.
func (k *task) controlDrafts(picked choice) []draft {
	if k.Machine == nil {
		return nil
	}
	var out []draft
	for _, i := range k.Numbers(k.Machine.Controls) {
		if !k.At(i).Kind.IsPoint() || k.InZone[i] || slices.Contains(picked.points, i) {
			continue
		}
		s := k.newStep(i, isolation.PhaseStop, k.At(i).Kind.Isolating())
		s.Measure = k.At(i).Measure
		s.Why = "A control of " + k.Machine.Name + ": off and tagged, so that nobody starts it; it isolates nothing by " +
			"itself. When the tag comes off it is left off: whoever starts the machine does so in its usual way, after " +
			"everybody was told."
		s.Clearance = s.Position
		out = append(out, draft{step: s, node: i, block: blockControls})
	}
	return out
}

// pointDrafts are the points that isolate.
func (k *task) pointDrafts(picked choice, drawn envelope.DrawOff) []draft {
	early := k.Early(k.Marks(picked.points))
	cuts := k.CutBy(picked.points)
	moves := k.motive(picked.points)
	drafts := make([]draft, 0, len(picked.points))
	at := map[int32]int{}
	for _, i := range picked.points {
		n := k.At(i)
		s := k.newStep(i, isolation.PhaseIsolate, n.Kind.Isolating())
		s.Lock = n.Lockable
		if !s.Lock {
			s.Measure = k.measure(n)
		}
		for _, c := range cuts[i] {
			s.Cuts = append(s.Cuts, k.At(c).ID)
		}
		s.Why = k.stepWhy(i, cuts[i], moves[i], picked.outer[i])
		d := draft{step: s, node: i, block: k.blockOf(i, cuts[i], picked.outer[i])}
		if s.Clearance != s.Position && k.heats(i, cuts[i]) && (picked.outer[i] || !k.twice(k.Nearest(i, cuts[i]))) {
			d.step.Clearance = s.Position
			back := "heat comes back slowly, at the end"
			if k.heatsLiquid(i) {
				back = "heat comes back only when liquid flows"
			}
			d.step.Why += fmt.Sprintf(" It is left %s when its lock comes off: %s.", n.Kind.Word(s.Position), back)
		}
		if k.Machine != nil && slices.Contains(k.Machine.StartsShut, n.ID) {
			d.step.Clearance = d.step.Position
			d.step.Why += fmt.Sprintf(" It is left %s when its lock comes off: the starting routine opens it.",
				n.Kind.Word(s.Position))
		}
		if k.Machine != nil && slices.Contains(k.Machine.ShutAtRest, n.ID) && !n.BreaksJoint() {
			d.block = blockAtRest
		}
		if n.BreaksJoint() {
			d.block, d.step.Phase = blockBlanks, isolation.PhaseBlank
			d.step.Why += k.jointWhy(i, drawn, early)
		}
		if n.Kind == isolation.AutomaticValve { // nobody can move it before its supply is back
			d.after = append(d.after, k.Number(n.Supply))
			d.step.Clearance = d.step.Position
			d.step.Why += fmt.Sprintf(" It stays SHUT when its lock comes off, and moves again when %s is back.", n.Supply)
		}
		at[i] = len(drafts)
		drafts = append(drafts, d)
	}
	k.outerFirst(drafts, cuts, picked)
	for i, moved := range moves { // a supply comes before what it moves, also before its whole block
		for _, m := range moved {
			s, v := &drafts[at[i]], &drafts[at[m]]
			s.block = min(s.block, v.block)
		}
	}
	return drafts
}

// outerFirst puts the inner point of a double or a blank behind every outer point against the same source, also where
// the rules' groups would have it the other way about.
func (k *task) outerFirst(drafts []draft, cuts map[int32][]int32, picked choice) {
	for i := range drafts {
		in := &drafts[i]
		if picked.outer[in.node] || in.step.Kind.IsElectrical() { // the order of switching goes before
			continue
		}
		for _, out := range drafts {
			if !picked.outer[out.node] || out.node == in.node || k.Number(k.At(out.node).Supply) == in.node {
				continue
			}
			if slices.ContainsFunc(cuts[in.node], func(s int32) bool {
				return slices.Contains(cuts[out.node], s) &&
					k.twice(s)
			}) {
				in.block = max(in.block, out.block)
				in.after = append(in.after, out.node)
			}
		}
	}
}

// twice reports whether a source must be cut by two points.
func (k *task) twice(source int32) bool {
	return slices.ContainsFunc(
		k.Sources,
		func(w envelope.Wanted) bool { return w.Node == source && w.Rule.Demand != isolation.DemandSingle },
	)
}

// measure returns what more is done at a point that takes no lock.
func (k *task) measure(n *isolation.Node) string {
	if n.Kind == isolation.AutomaticValve && n.Measure == "" {
		return "its supply is isolated at " + string(n.Supply) + ", and it is seen shut"
	}
	return n.Measure
}

// motive gives, for each chosen point, the chosen automatic valves whose motive supply it takes away.
func (k *task) motive(points []int32) map[int32][]int32 {
	moves := map[int32][]int32{}
	for _, i := range points {
		if n := k.At(i); n.Kind == isolation.AutomaticValve {
			s := k.Number(n.Supply)
			moves[s] = append(moves[s], i)
		}
	}
	return moves
}

// stepWhy says what a point is for. Of the first of two in series it names a source that is cut twice, and then one
// that it alone cuts.
func (k *task) stepWhy(i int32, cuts, moved []int32, outer bool) string {
	s := ""
	if outer {
		once := func(c int32) bool { return !k.twice(c) }
		if from := k.comesFrom(i, slices.DeleteFunc(slices.Clone(cuts), once)); from != "" {
			s = "The first of two in series against " + from + "."
		}
		if from := k.comesFrom(i, slices.DeleteFunc(slices.Clone(cuts), k.twice)); from != "" {
			s += " Alone it holds back " + from + "."
		}
	} else if from := k.comesFrom(i, cuts); from != "" {
		s = "Holds back " + from + "."
	}
	for _, m := range moved {
		s += fmt.Sprintf(" Takes away what moves %s, which then stays shut.", k.At(m).Label())
	}
	switch n := k.At(i); n.Kind {
	case isolation.Fuse:
		if oneOf, loaded := k.first[i]; loaded && len(oneOf) == 0 {
			s += switchedOff
		}
	case isolation.Blank, isolation.Spool:
		if !n.BreaksJoint() {
			s += " It stands so already, and stays."
		}
	case isolation.AutomaticValve:
		s += " An automatic valve: see it shut before and after " + string(n.Supply) + " is isolated."
	}
	return strings.TrimSpace(s)
}

// comesFrom says what some sources would send to a point: the nearest by name, with what they press at most; "" where
// none comes to it.
func (k *task) comesFrom(i int32, sources []int32) string {
	n := k.Nearest(i, sources)
	if n < 0 {
		return ""
	}
	s := k.whatFrom(k.pressingOn(n, []int32{i})) + " from " + k.At(n).Label()
	switch {
	case len(sources) == 2:
		s += ", and what another source could send this way"
	case len(sources) > 2:
		s += fmt.Sprintf(", and what %d other sources could send this way", len(sources)-1)
	}
	return s + k.atMost(i, sources, k.pressedAt(n, i))
}

// openingDrafts are the drains and vents that the plan tags open.
func (k *task) openingDrafts(d envelope.DrawOff) []draft {
	var out []draft
	for _, o := range d.Cocks {
		s := k.newStep(o.Node, isolation.PhaseDrain, k.At(o.Node).Kind.Passing())
		s.Why = o.Why
		out = append(out, draft{step: s, node: o.Node, block: blockCocks})
	}
	for _, o := range d.Open {
		s := k.newStep(o.Node, isolation.PhaseDrain, isolation.Open)
		s.Why = o.Why
		if !o.Gas {
			s.Why += k.scalds(o.Node, d)
		}
		block := blockDrains
		if k.At(o.Node).Role == "vent" || o.Gas {
			block = blockVents
			if !slices.ContainsFunc(k.In[o.Node], func(j int32) bool { return k.InZone[j] }) {
				block += 2
			}
			if o.Gas {
				block++
			}
		}
		out = append(out, draft{step: s, node: o.Node, block: block})
	}
	return out
}

// scalds warns of what comes out of an opening hot: as warm as what its section holds, or as the liquid that is nearest
// was heated to on its way there; "" where that is neither.
func (k *task) scalds(opening int32, d envelope.DrawOff) string {
	fluid, warmest, on := "", 0.0, []int32{opening}
	for _, sec := range d.Sections {
		if id := k.At(opening).ID; slices.Contains(sec.Drains, id) || slices.Contains(sec.Vents, id) {
			fluid, warmest, on = sec.Fluid, sec.TempC, k.Numbers(sec.Nodes)
		}
	}
	var liquids []int32
	for _, w := range k.Sources {
		if k.At(w.Node).Energy.Nature() == isolation.Liquid {
			liquids = append(liquids, w.Node)
		}
	}
	if s := k.Nearest(opening, liquids); fluid == "" && s >= 0 {
		fluid = k.At(s).Fluid
	}
	for _, s := range liquids {
		if k.At(s).Fluid == fluid {
			warmest = max(warmest, k.pressingOn(s, on).TempC)
		}
	}
	if warmest < handsHotC {
		return ""
	}
	return fmt.Sprintf(" What comes scalds: up to %.0f °C.", warmest)
}

// blockOf returns the block of a point: electrical points first, in the order of switching, whatever the rules' order
// says of them; then the group of the rules for the nearest source that the point cuts, and in it outer points before
// inner ones.
func (k *task) blockOf(i int32, cuts []int32, outer bool) int {
	if k.At(i).Kind.IsElectrical() {
		return blockCurrent + k.At(i).Kind.Switching()
	}
	group := len(k.rules.Order)
	if s := k.Nearest(i, cuts); s >= 0 {
		group = k.rules.Group(k.At(s).Energy)
	}
	if outer {
		return blockFlow + 2*group
	}
	return blockFlow + 2*group + 1
}
