package proof

import (
	"fmt"
	"slices"

	"stillwatch/isolation"
)

// drained marks what can flow to an opening that the plan tags open, without crossing a point that bars.
func (v *prover) drained(bars func(int32) bool) []bool {
	var from []int32
	for id := range v.opens {
		from = append(from, v.number(id))
	}
	return v.spread(v.drips, from, bars)
}

// opensSomething reports whether a node is a drain or vent, or a point that stands shut in a pipe and is opened so that
// what stands behind it can run to one.
func (v *prover) opensSomething(n *isolation.Node) bool {
	return n.Kind == isolation.Opening || n.Kind.IsPoint() && !n.HoldsUp() && n.Normal == n.Kind.Isolating()
}

// standsShut reports whether a node that no step shuts lets nothing through all the same: it is normally shut and no
// step opens it, or it holds up whatever drains. Nothing is seen dry through it. What presses is another matter: there
// everything that is not shut by a step counts as open.
func (v *prover) standsShut(i int32) bool {
	n := &v.plant.Nodes[i]
	if v.shut[i] != nil || v.cocks[i] || v.work[i] {
		return false
	}
	return n.HoldsUp() || n.Kind.IsPoint() && n.Normal == n.Kind.Isolating()
}

// sectionsRunOut checks that nothing of a section which a reading is to prove stands behind what is shut, seen from the
// openings: it could run out if everything stood open that no step shuts, and so it must as things do stand.
func (v *prover) sectionsRunOut() error {
	could := v.drained(v.early)
	does := v.drained(func(i int32) bool { return v.early(i) || v.standsShut(i) })
	for _, s := range v.plan.Sections {
		if err := v.watched(&s); err != nil {
			return err
		}
		if !s.Provable {
			continue
		}
		for _, id := range s.Nodes {
			if i := v.number(id); i < 0 || could[i] && !does[i] && !v.standsShut(i) {
				return fmt.Errorf("section %s counts on what runs from %s, which stands behind what is shut", s.ID, id)
			}
		}
		if err := v.served(&s); err != nil {
			return err
		}
	}
	return nil
}

// watched checks that a section is held at least as long as the job asks for any part of the work in it.
func (v *prover) watched(s *isolation.Section) error {
	for _, h := range v.job.Holds {
		if v.edition >= 5 && slices.Contains(s.Nodes, h.ID) && s.HoldS < 60*h.Minutes {
			return fmt.Errorf("section %s is watched for %g s, and the job asks for %g min at %s", s.ID, s.HoldS, h.Minutes,
				h.ID)
		}
	}
	return nil
}

// served checks that every drain and vent of a section is joined, without a shut cock between, to the opened parts of
// it; where the work opens none, to its first drain.
func (v *prover) served(s *isolation.Section) error {
	var from []int32
	for _, id := range s.Nodes {
		if v.isWork(id) {
			from = append(from, v.number(id))
		}
	}
	if len(from) == 0 && len(s.Drains) > 0 {
		from = append(from, v.number(s.Drains[0]))
	}
	bars := func(i int32) bool { return v.early(i) || v.standsShut(i) }
	out, in := v.spread(v.next, from, bars), v.spread(v.before, from, bars)
	for _, id := range slices.Concat(s.Drains, s.Vents) {
		if i := v.number(id); i < 0 || !out[i] && !in[i] {
			return fmt.Errorf("section %s counts on %s, which stands behind what is shut", s.ID, id)
		}
	}
	return nil
}

// openings checks that nothing is opened that a source can come to, and that what proves a section is tagged open.
func (v *prover) openings() error {
	for _, s := range v.plan.Steps {
		if s.Phase == isolation.PhaseDrain && v.live[v.number(s.Point)] {
			return fmt.Errorf("step %d opens %s, and a source can come to it", s.N, s.Point)
		}
	}
	for _, sec := range v.plan.Sections {
		for _, id := range append(append([]isolation.NodeID{}, sec.Drains...), sec.Vents...) {
			if v.opens[id] == nil && !v.isWork(id) {
				return fmt.Errorf("section %s counts on %s, which no step tags open", sec.ID, id)
			}
		}
	}
	if err := v.cocksServe(); err != nil {
		return err
	}
	return v.sectionsRunOut()
}

// cocksServe checks that no cock is opened away from the work to something that the plan does not empty: on each side
// of it stands an opening that is tagged open, or a point that the plan shuts. Behind a cock that stands shut there may
// be what nobody asked about, as the nozzles of another space.
func (v *prover) cocksServe() error {
	if v.edition < 6 {
		return nil
	}
	for c, opened := range v.cocks {
		if !opened {
			continue
		}
		bars := func(i int32) bool { return i == int32(c) || v.early(i) || v.standsShut(i) }
		work, bare := false, int32(-1)
		for _, n := range slices.Concat(v.next[c], v.before[c]) {
			if bars(n) {
				continue
			}
			serves := false
			for i, is := range v.spread(v.next, []int32{n}, bars) {
				work = work || is && v.work[i]
				serves = serves || is && (v.opens[v.plant.Nodes[i].ID] != nil || slices.ContainsFunc(v.next[i], v.isShut))
			}
			if !serves {
				bare = n
			}
		}
		if bare >= 0 && !work {
			return fmt.Errorf("%s is opened towards %s, from which nothing of the plan is emptied", v.plant.Nodes[c].ID,
				v.plant.Nodes[bare].ID)
		}
	}
	return nil
}

// joints checks that no joint is broken under pressure: no source can come to it by then, and what stands there, on
// either side, can flow to an opening that is tagged open, with the spools still in and the blanks still out.
func (v *prover) joints() error {
	down := v.drained(func(i int32) bool { return v.early(i) || v.standsShut(i) })
	for _, s := range v.plan.Steps {
		if s.Phase != isolation.PhaseBlank {
			continue
		}
		switch i := v.number(s.Point); {
		case v.live[i]:
			return fmt.Errorf("step %d breaks the joint at %s, and a source can come to it through what is open until then", s.N,
				s.Point)
		case !down[i]:
			return fmt.Errorf("step %d breaks the joint at %s, and nothing that is tagged open lets its line down before", s.N,
				s.Point)
		}
	}
	return nil
}
