package diagram

import (
	"strings"

	"stillwatch/isolation"
)

// entry finds what stands behind a point at the edge of the isolated part: sources at once, or a dead leg and then
// another point. An uncut source (which no proved plan has) becomes an entry without a point, so that it is seen.
func (s *scene) entry(v int) entry {
	if s.nodes[v].Kind == isolation.Source {
		return entry{point: -1, from: []int{v}}
	}
	s.drawn[v] = true
	behind := s.outward(v)
	e := entry{point: v, from: s.sources(v, behind)}
	if len(e.from) > 0 {
		return e
	}
	l := &leg{}
	for _, w := range behind {
		if n := &s.nodes[w]; n.Kind == isolation.Opening && s.step[w] != nil && !s.drawn[w] {
			s.drawn[w] = true
			l.openings = append(l.openings, w)
		}
		for _, o := range s.near[w] {
			if s.shut[o] && o != v && !s.drawn[o] && !s.touchesInside(o) {
				s.drawn[o] = true
				l.outers = append(l.outers, entry{point: o, from: s.sources(o, s.outward(o))})
			}
		}
	}
	if len(l.outers)+len(l.openings) > 0 {
		e.leg = l
	} else {
		e.from = s.sources(v, nil)
	}
	return e
}

// outward lists what stands behind a shut point, up to the next shut points, nearest first.
func (s *scene) outward(v int) []int {
	return s.reach(s.near[v], func(w int) bool { return s.inside[w] || s.shut[w] || w == v })
}

// sources lists the plan's sources among some nodes, then those that the plan says the point cuts, each once.
func (s *scene) sources(v int, among []int) []int {
	seen := map[int]bool{}
	wanted := map[int]bool{}
	for i := range s.plan.Sources {
		if w, ok := s.at[s.plan.Sources[i].ID]; ok {
			wanted[w] = true
		}
	}
	var out []int
	for _, w := range among {
		if s.nodes[w].Kind == isolation.Source && (wanted[w] || len(wanted) == 0) {
			seen[w] = true
			out = append(out, w)
		}
	}
	if among != nil && len(out) == 0 {
		return nil
	}
	if st := s.step[v]; st != nil {
		for _, id := range st.Cuts {
			if w, ok := s.at[id]; ok && !seen[w] {
				seen[w] = true
				out = append(out, w)
			}
		}
	}
	return out
}

func (s *scene) touchesInside(v int) bool {
	for _, w := range s.joined[v] {
		if s.inside[w] {
			return true
		}
	}
	return false
}

// origin says in words where a line comes from: the nearest source by name, the others by id, each with its
// demand where that is more than a single point.
func (s *scene) origin(from []int) string {
	if len(from) == 0 {
		return "nothing is known to come from here"
	}
	words := s.nodes[from[0]].Label() + s.demand(from[0])
	var more []string
	for _, v := range from[1:] {
		more = append(more, string(s.nodes[v].ID)+s.demand(v))
	}
	if len(more) > 0 {
		words += " and " + strings.Join(more, ", ")
	}
	return words
}

// demand returns a source's demand in words if it is more than a single point.
func (s *scene) demand(v int) string {
	for i := range s.plan.Sources {
		if c := &s.plan.Sources[i]; c.ID == s.nodes[v].ID && c.Demand != "" && c.Demand != "single" {
			return " · " + c.Demand
		}
	}
	return ""
}
