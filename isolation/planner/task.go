package planner

import (
	"fmt"
	"slices"

	"stillwatch/isolation"
	"stillwatch/isolation/envelope"
	"stillwatch/isolation/graph"
)

// task is one job on one plant with the rules that apply: the question that Make, Why and the consequences share.
type task struct {
	*envelope.Work
	rules  *isolation.Rules
	job    *isolation.Job
	facts  isolation.Circumstances
	change *isolation.Change // of a plan in place of another; nil for a first one
	barred map[int32]string
	first  map[int32][]int32 // what must be opened before a point that may not break its load: see offLoad

	feed map[isolation.Nature][][]int32 // see feedsOf
	fed  []supply                       // see normalSupplies

	apart, lined        []bool               // see machineParts, linedUp
	stand               []standIn            // see standIns
	needs               []supply             // see standbyNeeds
	asOpened            []isolation.Kept     // see keep
	still               []bool               // see keptFromTheStart
	piped               [][]int32            // see pipes
	service             []streaming          // see comesToStand
	streamIn, streamOut [][]int32            // see ways
	come                [][]int32            // see comes
	normally            []bool               // see normallyShut
	line                *pumpLine            // see lift
	pressed             map[[2]int32]float64 // see pressedAt
	closed              []bool               // see shutInService
}

// newTask looks up the job and asks the rules about every source that can reach its work. It returns an error, in a
// plain sentence, for an unknown job, a job that opens nothing or a node that the plant lacks, a source inside the
// work, and a source that no rule matches.
func newTask(p *isolation.Plant, r *isolation.Rules, jobID string, c isolation.Circumstances) (*task, error) {
	job := p.Job(jobID)
	if job == nil {
		return nil, fmt.Errorf("plan job %s: the plant has no such job%s", jobID, known(p))
	}
	k := &task{rules: r, job: job, facts: c, Work: &envelope.Work{Graph: graph.New(p), Machine: p.Machine(job.Machine),
		InZone: make([]bool, len(p.Nodes))}}
	if len(job.Opens) == 0 {
		return nil, fmt.Errorf("plan job %s: it opens nothing, so there is nothing to isolate; name what will be opened",
			jobID)
	}
	for _, id := range job.Opens {
		i := k.Number(id)
		switch {
		case i < 0:
			return nil, fmt.Errorf("plan job %s: it opens %s, which the plant does not have", jobID, id)
		case k.At(i).Kind == isolation.Source:
			return nil, fmt.Errorf("plan job %s: it opens the source %s itself, and a source cannot be cut from itself", jobID,
				k.At(i).Label())
		}
		if !k.InZone[i] {
			k.InZone[i] = true
			k.Zone = append(k.Zone, i)
		}
	}
	k.keepAtFirst()
	for k.keepFurther(make([]bool, len(p.Nodes))) { // what stands still because of what is opened, whatever is shut
	}
	return k, k.settle()
}

// settle asks the rules, and finds what may not be relied on, for what is opened and kept off by now.
func (k *task) settle() error {
	reach := graph.Flood(k.In, k.Zone, nil)
	k.Sources, k.fed, k.lined, k.stand, k.needs = nil, nil, nil, nil, nil
	k.forget()
	if err := k.askRules(reach); err != nil {
		return err
	}
	k.barred = k.bars()
	for _, h := range k.Keeps {
		for i, is := range graph.Flood(k.In, []int32{h.Node}, nil) {
			reach[i] = reach[i] || is
		}
	}
	k.offLoad(reach)
	return nil
}

// forget drops what was worked out for fewer nodes that are opened or kept off: which pumps may run, and what they
// press.
func (k *task) forget() { k.apart, k.closed, k.line, k.pressed = nil, nil, nil, nil }

// known lists a plant's jobs for a person who mistyped one.
func known(p *isolation.Plant) string {
	if len(p.Jobs) == 0 {
		return "; it names no jobs at all"
	}
	s := "; it has"
	for i, j := range p.Jobs {
		if i == 12 {
			return s + " …"
		}
		s += " " + j.ID
	}
	return s
}

// askRules finds the sources among what can reach the work and the demand for each.
func (k *task) askRules(reach []bool) error {
	for i := range k.Plant.Nodes {
		n := &k.Plant.Nodes[i]
		if n.Kind != isolation.Source || !reach[i] {
			continue
		}
		w := envelope.Wanted{Node: int32(i), Bore: k.boreTo(int32(i), k.Zone)}
		presses := k.pressing(int32(i))
		rule, err := k.rules.DemandOfAll(presses, k.job.Exposures(), w.Bore)
		if err != nil {
			return fmt.Errorf("plan job %s: %w", k.job.ID, err)
		}
		if presses.TempC > n.TempC {
			rule.Because += fmt.Sprintf(". It comes heated, at up to %g °C", presses.TempC)
		}
		if d := k.job.Deviating(n.ID, rule.Demand); d != nil {
			rule.Because = fmt.Sprintf("The rules ask for %s: %s. This job deviates: %s", rule.Demand, rule.Because, d.Because)
			rule.Demand = d.Demand
		}
		w.Rule = rule
		k.Sources = append(k.Sources, w)
	}
	return nil
}

// bars returns the nodes that look as if they could be closed and may not be relied on, with the reason in words.
func (k *task) bars() map[int32]string {
	bars := map[int32]string{}
	for i := range k.Plant.Nodes {
		if why := k.bar(&k.Plant.Nodes[i]); why != "" {
			bars[int32(i)] = why
		}
	}
	for _, m := range k.Plant.Machines {
		for _, i := range k.Numbers(m.Controls) {
			bars[i] = "it is a control of " + m.Name + ", and a control is tagged but never isolates"
		}
	}
	for _, i := range k.Numbers(k.facts.Passing) {
		bars[i] = "it is recorded as passing and not repaired"
	}
	k.barBlanks(bars)
	for _, i := range k.Zone {
		bars[i] = "it is part of what is opened"
	}
	return bars
}

// barBlanks bars every blank and spool where no source has a blank demand, and those whose line nothing lets down.
func (k *task) barBlanks(bars map[int32]string) {
	wanted := slices.ContainsFunc(
		k.Sources,
		func(w envelope.Wanted) bool { return w.Rule.Demand == isolation.DemandBlank },
	)
	var openings []int32
	for i := range k.Plant.Nodes {
		if k.Plant.Nodes[i].Kind == isolation.Opening && !k.InZone[i] {
			openings = append(openings, int32(i))
		}
	}
	down := graph.Flood(k.In, openings, func(i int32) bool { return k.At(i).Kind == isolation.Source })
	for i := range k.Plant.Nodes {
		switch n := &k.Plant.Nodes[i]; {
		case !n.Kind.IsBlanking():
		case !wanted:
			bars[int32(i)] = "it is a " + string(n.Kind) + ", which counts only where a blank is demanded, and here none is"
		case n.BreaksJoint() && !down[i]:
			bars[int32(i)] = "nothing can be opened there that would let its line down before the joint is broken"
		}
	}
}

// bar says why a node by itself may not be relied on; "" for what may, and for what nobody would think of closing.
// A tag without a lock needs a further physical measure: 29 CFR 1915.89(c)(4). A check valve is no boundary, and an
// automatic valve only with its motive supply isolated: DOE-STD-1030-96.
func (k *task) bar(n *isolation.Node) string {
	switch {
	case n.Kind == isolation.CheckValve:
		return "it is a check valve, and a check valve does not isolate"
	case n.Kind == isolation.AutomaticValve:
		return k.barAutomatic(n)
	case n.Kind.IsPoint() && !n.Lockable && n.Measure == "":
		return "it takes no lock, and no further physical measure is recorded for it"
	}
	return ""
}

func (k *task) barAutomatic(n *isolation.Node) string {
	s := k.Number(n.Supply)
	switch {
	case n.Fails != "closed" && n.Fails != "stays":
		return "it is an automatic valve that does not stay shut when its supply is taken away"
	case s < 0:
		return "it is an automatic valve and the plant file does not say which point takes its air or power away"
	case !k.At(s).Kind.IsPoint() || k.At(s).Kind.IsBlanking() || k.bar(k.At(s)) != "":
		return "it is an automatic valve, and " + k.At(s).Label() + ", which supplies it, cannot itself be locked off"
	}
	return ""
}

// usable reports whether a plan may close node i and rely on it.
func (k *task) usable(i int32) bool {
	n := k.At(i)
	if _, no := k.barred[i]; no {
		return false
	}
	if n.Kind == isolation.AutomaticValve {
		_, no := k.barred[k.Number(n.Supply)]
		return !no
	}
	return n.Kind.IsPoint()
}

// usesBore reports whether any rule asks for a bore; if none does, nobody need look for one.
func (k *task) usesBore() bool {
	for _, d := range k.rules.Demands {
		if d.AboveBoreMM != nil {
			return true
		}
	}
	return false
}
