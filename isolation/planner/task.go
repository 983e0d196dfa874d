package isolation

import (
	"fmt"
	"slices"
)

// Circumstances are facts aboard that bear on a plan and are not in the plant file. The zero value: nothing is known
// to pass, no other permit holds anything.
type Circumstances struct {
	Passing []NodeID // points recorded as passing and not repaired: none of them is chosen
	// points that other open permits hold: shared, and no point behind them counts unless the plan holds them too
	Held []Held
}

// task is one job on one plant with the rules that apply: the question that Make, Why and the consequences share.
type task struct {
	*ways
	rules   *Rules
	job     *Job
	machine *Machine // nil where the job names none
	facts   Circumstances
	zone    []int32
	inZone  []bool
	sources []wanted // those that can reach the work, in file order
	barred  map[int32]string

	feed map[Nature][][]int32 // see feedsOf
	fed  []supply             // see normalSupplies

	apart, lined []bool    // see machineParts, linedUp
	stand        []standIn // see standIns
	needs        []supply  // see standbyNeeds
}

// wanted is one source that can reach the work, with the demand that the rules make for it.
type wanted struct {
	node int32
	bore float64
	rule DemandRule
}

// newTask looks up the job and asks the rules about every source that can reach its work. It returns an error, in a
// plain sentence, for an unknown job, a job that opens nothing or a node that the plant lacks, a source inside the
// work, and a source that no rule matches.
func newTask(p *Plant, r *Rules, jobID string, c Circumstances) (*task, error) {
	job := p.Job(jobID)
	if job == nil {
		return nil, fmt.Errorf("plan job %s: the plant has no such job%s", jobID, known(p))
	}
	k := &task{ways: newWays(p), rules: r, job: job, machine: p.Machine(job.Machine), facts: c,
		inZone: make([]bool, len(p.Nodes))}
	if len(job.Opens) == 0 {
		return nil, fmt.Errorf("plan job %s: it opens nothing, so there is nothing to isolate; name what will be opened",
			jobID)
	}
	for _, id := range job.Opens {
		i := k.number(id)
		switch {
		case i < 0:
			return nil, fmt.Errorf("plan job %s: it opens %s, which the plant does not have", jobID, id)
		case k.at(i).Kind == Source:
			return nil, fmt.Errorf("plan job %s: it opens the source %s itself, and a source cannot be cut from itself", jobID,
				k.at(i).Label())
		}
		if !k.inZone[i] {
			k.inZone[i] = true
			k.zone = append(k.zone, i)
		}
	}
	if err := k.askRules(); err != nil {
		return nil, err
	}
	k.barred = k.bars()
	return k, nil
}

// known lists a plant's jobs for a person who mistyped one.
func known(p *Plant) string {
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

// askRules finds the sources that can reach the work at all and the demand for each.
func (k *task) askRules() error {
	reach := flood(k.in, k.zone, nil)
	bores := k.usesBore()
	for i := range k.plant.Nodes {
		n := &k.plant.Nodes[i]
		if n.Kind != Source || !reach[i] {
			continue
		}
		w := wanted{node: int32(i)}
		if bores {
			w.bore = k.boreFrom(int32(i))
		}
		rule, err := k.rules.Demand(n, k.job.Exposure, w.bore)
		if err != nil {
			return fmt.Errorf("plan job %s: %w", k.job.ID, err)
		}
		w.rule = rule
		k.sources = append(k.sources, w)
	}
	return nil
}

// bars returns the nodes that look as if they could be closed and may not be relied on, with the reason in words.
func (k *task) bars() map[int32]string {
	bars := map[int32]string{}
	for i := range k.plant.Nodes {
		if why := k.bar(&k.plant.Nodes[i]); why != "" {
			bars[int32(i)] = why
		}
	}
	for _, m := range k.plant.Machines {
		for _, i := range k.numbers(m.Controls) {
			bars[i] = "it is a control of " + m.Name + ", and a control is tagged but never isolates"
		}
	}
	for _, i := range k.numbers(k.facts.Passing) {
		bars[i] = "it is recorded as passing and not repaired"
	}
	k.barBlanks(bars)
	for _, i := range k.zone {
		bars[i] = "it is part of what is opened"
	}
	return bars
}

// barBlanks bars every blank and spool where no source has a blank demand, and those whose line nothing lets down.
func (k *task) barBlanks(bars map[int32]string) {
	wanted := slices.ContainsFunc(k.sources, func(w wanted) bool { return w.rule.Demand == DemandBlank })
	var openings []int32
	for i := range k.plant.Nodes {
		if k.plant.Nodes[i].Kind == Opening && !k.inZone[i] {
			openings = append(openings, int32(i))
		}
	}
	down := flood(k.in, openings, func(i int32) bool { return k.at(i).Kind == Source })
	for i := range k.plant.Nodes {
		switch n := &k.plant.Nodes[i]; {
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
func (k *task) bar(n *Node) string {
	switch {
	case n.Kind == CheckValve:
		return "it is a check valve, and a check valve does not isolate"
	case n.Kind == AutomaticValve:
		return k.barAutomatic(n)
	case n.Kind.IsPoint() && !n.Lockable && n.Measure == "":
		return "it takes no lock, and no further physical measure is recorded for it"
	}
	return ""
}

func (k *task) barAutomatic(n *Node) string {
	s := k.number(n.Supply)
	switch {
	case n.Fails != "closed" && n.Fails != "stays":
		return "it is an automatic valve that does not stay shut when its supply is taken away"
	case s < 0:
		return "it is an automatic valve and the plant file does not say which point takes its air or power away"
	case !k.at(s).Kind.IsPoint() || k.at(s).Kind.IsBlanking() || k.bar(k.at(s)) != "":
		return "it is an automatic valve, and " + k.at(s).Label() + ", which supplies it, cannot itself be locked off"
	}
	return ""
}

// usable reports whether a plan may close node i and rely on it.
func (k *task) usable(i int32) bool {
	n := k.at(i)
	if _, no := k.barred[i]; no {
		return false
	}
	if n.Kind == AutomaticValve {
		_, no := k.barred[k.number(n.Supply)]
		return !no
	}
	return n.Kind.IsPoint()
}
