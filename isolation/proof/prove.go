package proof

import (
	"fmt"
	"slices"
	"strings"

	"stillwatch/isolation"
)

// Prove checks a plan by a second algorithm and returns it as proved. It does not trust Make for anything: it reads
// the plant's links again, asks the rules again about every source that can reach the work, and counts, for every
// source, the fewest points of the plan that lie on any way from it to the work (a 0-1 breadth-first search). It also
// checks the steps one by one: numbers, phases, positions, clearances, locks, nothing that passes, motive supplies
// before what they move, that every drain that is opened stands in a part that no source can reach, and that no joint
// is broken but in a line that is let down through one of them; and that every opening has a reading or an answer that
// proves it.
//
// It returns an error that says what does not hold; a plan that fails is shown to nobody.
func Prove(p *isolation.Plant, r *isolation.Rules, plan isolation.Plan, c isolation.Circumstances) (Proved, error) {
	return ProveAs(Edition, p, r, plan, c)
}

// Edition counts the sets of checks that this package has had since logs are kept whole across them; it goes with the
// edition of the gates: 3 brought what is kept off, 5 what presses on that, 6 what stands above it and what the plant
// file does not tell. What was proved and authorised under an edition is held to that edition for ever.
const Edition = 6

// ProveAs is Prove with the checks that an edition had.
func ProveAs(edition int, p *isolation.Plant, r *isolation.Rules, plan isolation.Plan,
	c isolation.Circumstances) (Proved, error) {
	p, err := widened(p, &plan)
	if err != nil {
		return Proved{}, fmt.Errorf("prove the plan of job %s: %w", plan.Job, err)
	}
	pr := &prover{plant: p, rules: r, plan: &plan, facts: c, edition: edition}
	for _, check := range []struct {
		holds func() error
		since int // the edition that brought it
	}{
		{pr.papers, 2}, {pr.links, 2}, {pr.listed, 2}, {pr.hangs, 2}, {pr.stepsHold, 2}, {pr.automatic, 2}, {pr.demands, 2},
		{pr.keepsOff, 3},
		{pr.controls, 2}, {pr.openings, 2}, {pr.seen, 2}, {pr.joints, 2}, {pr.switching, 2}, {pr.offLoad, 3},
		{pr.deadTested, 2}, {pr.earthed, 3}, {pr.unproved, 2}, {pr.guarded, 2}, {pr.figures, 2}, {pr.bound, 2},
		{pr.restored, 3}, {pr.kinds, 5}, {pr.silentFigures, 6}, {pr.heatAsked, 6},
	} {
		if check.since > edition {
			continue
		}
		if err := check.holds(); err != nil {
			return Proved{}, fmt.Errorf("prove the plan of job %s: %w", plan.Job, err)
		}
	}
	return Proved{plan: plan}, nil
}

// prover is one check of one plan. Its view of the plant is its own, see links: node i is plant.Nodes[i], and what is
// known of every node stands in a list under that number.
type prover struct {
	plant   *isolation.Plant
	rules   *isolation.Rules
	plan    *isolation.Plan
	facts   isolation.Circumstances
	job     *isolation.Job
	edition int

	numbers map[isolation.NodeID]int32
	ends    [][2]int32 // of every link
	next    [][]int32  // where something at a node can go
	before  [][]int32  // from where something can come to a node
	drips   [][]int32  // from where what drains can be relied on to come to a node
	search  searchRoom

	work   []bool
	shut   []*isolation.Step                    // the step that isolates at a node
	opens  map[isolation.NodeID]*isolation.Step // the steps that open a drain or vent
	cocks  []bool                               // normally shut points that a step opens on the way to a drain or vent
	earths []*isolation.Step                    // the steps that earth something
	live   []bool                               // no point of the plan between it and some source
	drawn  []bool                               // an opening that is tagged open can be reached from it

	kept     []keptOff // what is not opened, and must be kept off; see mustKeep
	pipes    [][]int32 // see pipework
	pipeEnds []int32
	pumps    []pumping                 // see presses
	others   []bool                    // see elsewhere
	hot      []hotPlace                // see warmest
	judged   map[int32]*isolation.Node // see presses; what is opened is known by then
	flow     [][]int32                 // see flowing
	down, up [][]int32                 // see currents

	asked    map[int32]string // the demand of every source that can reach the work
	reliable []bool           // some plan may shut it and rely on it: see bound
	plainly  []bool           // a source with a single or double demand comes to it
	blanks   bool             // some source has a blank demand
}

// papers checks that the plan speaks of this plant, these rules and this job.
func (v *prover) papers() error {
	v.job = v.plant.Job(v.plan.Job)
	switch {
	case v.job == nil:
		return fmt.Errorf("the plant has no such job")
	case v.plan.PlantSHA256 != v.plant.SHA256:
		return fmt.Errorf("it was made from another plant file (%.12s, in force is %.12s)", v.plan.PlantSHA256,
			v.plant.SHA256)
	case v.plan.RulesSHA256 != v.rules.SHA256:
		return fmt.Errorf("it was made under other rules (%.12s, in force are %.12s)", v.plan.RulesSHA256, v.rules.SHA256)
	case !v.plan.Feasible:
		return fmt.Errorf("it is no plan: %s", v.plan.Words)
	case !slices.Equal(v.plan.Opens, v.job.Opens) || v.plan.Exposure != v.job.Exposure || v.plan.Machine != v.job.Machine:
		return fmt.Errorf("it is about other work than the job in the plant file")
	}
	return nil
}

// listed marks the work and sorts the plan's steps. A step at a point that the plant lacks is left to stepsHold.
func (v *prover) listed() error {
	v.work, v.shut = make([]bool, len(v.plant.Nodes)), make([]*isolation.Step, len(v.plant.Nodes))
	v.opens, v.cocks = map[isolation.NodeID]*isolation.Step{}, make([]bool, len(v.plant.Nodes))
	for _, id := range v.job.Opens {
		i := v.number(id)
		if i < 0 || v.plant.Nodes[i].Kind == isolation.Source {
			return fmt.Errorf("the work %s is not in the plant, or is a source", id)
		}
		v.work[i] = true
	}
	for _, h := range v.plan.Kept {
		if i := v.number(h.ID); i >= 0 && h.AsOpened {
			v.work[i] = true // that can only ask for more
		}
	}
	seen := map[isolation.NodeID]bool{}
	for i := range v.plan.Steps {
		s := &v.plan.Steps[i]
		if seen[s.Point] {
			return fmt.Errorf("%s stands in two steps", s.Point)
		}
		seen[s.Point] = true
		switch i := v.number(s.Point); {
		case i >= 0 && s.Isolates():
			v.shut[i] = s
		case i >= 0 && s.Phase == isolation.PhaseEarth:
			v.earths = append(v.earths, s)
		case s.Phase == isolation.PhaseDrain && i >= 0 && v.plant.Nodes[i].Kind != isolation.Opening:
			v.cocks[i] = true
		case s.Phase == isolation.PhaseDrain:
			v.opens[s.Point] = s
		}
	}
	return v.mustKeep()
}

// stepsHold checks each step by itself and against the one before.
func (v *prover) stepsHold() error {
	rank := 0
	for i := range v.plan.Steps {
		s := &v.plan.Steps[i]
		if v.hung(i) {
			rank = 0
		}
		n := v.plant.Node(s.Point)
		r := s.Phase.Rank()
		switch {
		case n == nil:
			return fmt.Errorf("step %d is at %s, which the plant does not have", s.N, s.Point)
		case s.N != i+1:
			return fmt.Errorf("step %d stands in place %d", s.N, i+1)
		case r == 0 || r < rank:
			return fmt.Errorf("step %d is of phase %q, out of its turn", s.N, s.Phase)
		case s.Phase == isolation.PhaseStop && s.Clearance != s.Position:
			return fmt.Errorf("step %d would leave the control %s %s, and it is left off for whoever starts the machine", s.N,
				s.Point, n.Kind.Word(s.Clearance))
		case v.edition >= 3 && s.Isolates() && n.Kind == isolation.AutomaticValve && s.Clearance != s.Position:
			return fmt.Errorf("step %d would leave %s %s, and nobody can move it before its supply is back", s.N, s.Point,
				n.Kind.Word(s.Clearance))
		case s.Phase != isolation.PhaseStop && n.Normal != "" && s.Clearance != n.Normal && !v.leftCold(s) &&
			(v.edition < 3 || n.Kind != isolation.AutomaticValve):
			return fmt.Errorf("step %d would leave %s %s, and the plant needs it %s", s.N, s.Point, n.Kind.Word(s.Clearance),
				n.Kind.Word(n.Normal))
		case v.isWork(s.Point):
			return fmt.Errorf("step %d is at %s, which is part of what is opened", s.N, s.Point)
		}
		rank = r
		if err := v.stepHolds(s, n); err != nil {
			return err
		}
		if s.Kind != n.Kind {
			return fmt.Errorf("step %d calls %s %s, and it is %s", s.N, s.Point, isolation.WithArticle(string(s.Kind)),
				isolation.WithArticle(string(n.Kind)))
		}
	}
	return nil
}

// leftCold reports whether a step leaves shut what the starting routine opens, a valve that lets heat to the work, or
// off a point on the cable of what heats: it is opened or closed when the machine runs or liquid flows there, which no
// step of a restoring can see.
func (v *prover) leftCold(s *isolation.Step) bool {
	if s.Clearance != s.Position {
		return false
	}
	if m := v.plant.Machine(v.job.Machine); m != nil && slices.Contains(m.StartsShut, s.Point) {
		return true
	}
	if s.Kind.IsElectrical() {
		cable := v.spread(v.next, []int32{v.number(s.Point)}, func(i int32) bool { return !v.isCable(i) })
		return slices.ContainsFunc(v.plant.Nodes, func(n isolation.Node) bool {
			at := v.number(n.HeatedBy)
			return at >= 0 && slices.ContainsFunc(v.before[at], func(i int32) bool { return cable[i] })
		})
	}
	return s.Kind == isolation.Valve && slices.ContainsFunc(s.Cuts, func(id isolation.NodeID) bool {
		n := v.plant.Node(id)
		return n != nil && slices.Contains([]isolation.Energy{"steam", "hot-water", "thermal-oil"}, n.Energy)
	})
}

// stepHolds checks what a step does to its node.
func (v *prover) stepHolds(s *isolation.Step, n *isolation.Node) error {
	switch s.Phase {
	case isolation.PhaseDrain:
		if !v.opensSomething(n) || s.Position != n.Kind.Passing() || s.Lock {
			return fmt.Errorf("step %d opens %s, which must be a drain or vent, or a normally shut valve on the way to one, "+
				"tagged OPEN and not locked", s.N, s.Point)
		}
		return nil
	case isolation.PhaseEarth:
		if n.Kind != isolation.Earth || s.Lock != n.Lockable {
			return fmt.Errorf("step %d earths at %s, which must be a place for an earth, locked if it can be: %v", s.N, s.Point,
				n.Lockable)
		}
	case isolation.PhaseStop:
		if m := v.plant.Machine(v.job.Machine); !n.Kind.IsPoint() || s.Lock || m == nil ||
			!slices.Contains(m.Controls, s.Point) {
			return fmt.Errorf("step %d is at %s, which must be a control of the machine, and tagged only", s.N, s.Point)
		}
	case isolation.PhaseIsolate, isolation.PhaseBlank:
		if broken := s.Phase == isolation.PhaseBlank; broken != n.BreaksJoint() {
			return fmt.Errorf("step %d has %s in phase %q, and a joint must be broken there: %v", s.N, s.Point, s.Phase,
				n.BreaksJoint())
		}
		if err := v.isolates(s, n); err != nil {
			return err
		}
	}
	if s.Position != n.Kind.Isolating() {
		return fmt.Errorf("step %d leaves %s %s, and it isolates %s", s.N, s.Point, n.Kind.Word(s.Position),
			n.Kind.Word(n.Kind.Isolating()))
	}
	return nil
}

// isolates checks that a step's point may be relied on.
func (v *prover) isolates(s *isolation.Step, n *isolation.Node) error {
	switch {
	case !n.Kind.IsPoint() && n.Kind != isolation.AutomaticValve:
		return fmt.Errorf("step %d relies on %s, and a %s does not isolate", s.N, s.Point, n.Kind)
	case slices.Contains(v.facts.Passing, s.Point):
		return fmt.Errorf("step %d relies on %s, which is recorded as passing", s.N, s.Point)
	case s.Lock != n.Lockable:
		return fmt.Errorf("step %d: lock is %v, and the plant file says of %s that it can be locked: %v", s.N, s.Lock,
			s.Point, n.Lockable)
	case !s.Lock && s.Measure == "":
		return fmt.Errorf("step %d relies on a tag alone at %s, without a further physical measure", s.N, s.Point)
	}
	for _, m := range v.plant.Machines {
		if slices.Contains(m.Controls, s.Point) {
			return fmt.Errorf("step %d relies on %s, which is only a control of %s", s.N, s.Point, m.ID)
		}
	}
	return nil
}

// controls checks that every control of the machine which a person can operate is put to off, and that no step claims
// to cut what is no source of the plan.
func (v *prover) controls() error {
	steps := map[isolation.NodeID]bool{}
	for _, s := range v.plan.Steps {
		steps[s.Point] = true
		for _, c := range s.Cuts {
			if !slices.ContainsFunc(v.plan.Sources, func(w isolation.SourceCut) bool { return w.ID == c }) {
				return fmt.Errorf("step %d claims to cut %s, which is no source of the plan", s.N, c)
			}
		}
	}
	m := v.plant.Machine(v.job.Machine)
	if m == nil {
		return nil
	}
	for _, id := range m.Controls {
		if n := v.plant.Node(id); n != nil && n.Kind.IsPoint() && !v.isWork(id) && !steps[id] {
			return fmt.Errorf("no step puts %s to off, a control of %s", id, m.Name)
		}
	}
	return nil
}

// automatic checks that every automatic valve stays shut because its supply was isolated before it.
func (v *prover) automatic() error {
	for _, s := range v.plan.Steps {
		n := v.plant.Node(s.Point)
		if !s.Isolates() || n.Kind != isolation.AutomaticValve {
			continue
		}
		by := v.shutAt(n.Supply)
		switch {
		case !stays(n):
			return fmt.Errorf("step %d relies on %s, which does not stay shut by itself", s.N, s.Point)
		case by == nil || by.N >= s.N:
			return fmt.Errorf("step %d relies on %s, and its supply is not isolated before it", s.N, s.Point)
		case !by.Kind.IsPoint():
			return fmt.Errorf("step %d relies on %s, whose supply %s is not a point", s.N, s.Point, by.Point)
		}
	}
	return nil
}

// stays reports whether an automatic valve stays shut when its supply is taken away.
func stays(n *isolation.Node) bool { return n.Fails == "closed" || n.Fails == "stays" }

// figures checks the sums that people read.
func (v *prover) figures() error {
	locks, points := 0, 0
	for _, s := range v.plan.Steps {
		if s.Lock {
			locks++
		}
		if s.Isolates() {
			points++
		}
	}
	switch {
	case v.plan.Cost != int64(points):
		return fmt.Errorf("it counts %d points and has %d", v.plan.Cost, points)
	case v.plan.Locks != locks:
		return fmt.Errorf("it counts %d locks and has %d", v.plan.Locks, locks)
	case v.plan.LowerBound > v.plan.Cost:
		return fmt.Errorf("it says that at least %d points are needed and uses %d", v.plan.LowerBound, v.plan.Cost)
	case !strings.Contains(v.plan.Words, v.plan.SayBound()):
		return fmt.Errorf("it must say %q, and says %q", v.plan.SayBound(), v.plan.Words)
	}
	return nil
}
