package diagram

import (
	"fmt"
	"sort"

	"stillwatch/isolation"
)

// scene is what a plan's drawing has to show, before anything has a place on the paper.
type scene struct {
	*graph
	plan   *isolation.Plan
	step   map[int]*isolation.Step // of the phases isolate and drain, by node
	shut   map[int]bool            // held in the position that stops flow or current
	opened map[int]bool
	kept   map[int]bool // not opened, and kept off all the same: drawn like what is opened, and named for what it is
	inside map[int]bool // still joined to the work once the points are shut
	drawn  map[int]bool // steps that have a place in a group

	stops  []*isolation.Step // controls, put to off first
	groups []group
	// steps that stand in no group, such as the air valve of an automatic valve that counts as shut
	others []*isolation.Step
}

// group is one connected piece of the isolated part.
type group struct {
	hubs  []int // what is opened there
	rooms []room
}

// room is a piece of a group between points, openings and what is opened. A room without nodes is a point that stands
// directly on what is opened.
type room struct {
	nodes    []int
	hubs     []int   // what it leads to, as indices of group.hubs
	entries  []entry // where energy would come in
	opened   []int   // pipes of it that are opened as well
	openings []int   // drains and vents of the plan, vents first
	devices  []int   // check valves and automatic valves: shown because nobody may rely on them
}

// entry is one point at the edge of the isolated part, with what stands behind it.
type entry struct {
	point int   // -1: nothing stands between the source and the work
	from  []int // sources that it keeps off, nearest first
	leg   *leg  // the piece between two points in series, or nil
}

// leg is a dead piece between an outer and an inner point, with its drain or bleed.
type leg struct {
	outers   []entry
	openings []int
}

func newScene(p *isolation.Plant, plan *isolation.Plan) *scene {
	s := &scene{graph: newGraph(p), plan: plan, step: map[int]*isolation.Step{}, shut: map[int]bool{},
		opened: map[int]bool{}, kept: map[int]bool{}, inside: map[int]bool{}, drawn: map[int]bool{}}
	for i := range plan.Steps {
		s.place(&plan.Steps[i])
	}
	var work []int
	for _, id := range plan.Opens {
		if v, ok := s.at[id]; ok {
			s.opened[v] = true
			work = append(work, v)
		}
	}
	for _, h := range plan.Kept {
		if v, ok := s.at[h.ID]; ok && !s.opened[v] {
			s.opened[v], s.kept[v] = true, true
			work = append(work, v)
		}
	}
	for _, v := range s.reach(work, func(v int) bool { return s.shut[v] && !s.opened[v] }) {
		s.inside[v] = true
	}
	for v := range s.nodes { // openings to which it could run, even if nothing could come back through them
		if s.nodes[v].Kind == isolation.Opening && !s.shut[v] && s.touchesInside(v) {
			s.inside[v] = true
		}
	}
	s.groupAll(work)
	for i := range plan.Steps {
		st := &plan.Steps[i]
		v, known := s.at[st.Point]
		if st.Phase != isolation.PhaseStop && !(known && s.drawn[v] && s.step[v] == st) {
			s.others = append(s.others, st)
		}
	}
	return s
}

func (s *scene) place(st *isolation.Step) {
	if st.Phase == isolation.PhaseStop {
		s.stops = append(s.stops, st)
		return
	}
	v, ok := s.at[st.Point]
	if !ok || s.step[v] != nil {
		return
	}
	s.step[v] = st
	if st.Isolates() && st.Position == s.nodes[v].Kind.Isolating() {
		s.shut[v] = true
	}
}

func (s *scene) groupAll(work []int) {
	done := map[int]bool{}
	for _, v := range work {
		if done[v] {
			continue
		}
		piece := s.whole(v, func(w int) bool { return !s.inside[w] })
		for _, w := range piece {
			done[w] = true
		}
		s.groups = append(s.groups, s.newGroup(piece))
	}
	sort.SliceStable(s.groups, func(i,
		j int) bool {
		return s.first(s.groups[i].rooms...) < s.first(s.groups[j].rooms...)
	})
}

// newGroup takes a connected piece apart into what is opened (the hubs) and the rooms between.
func (s *scene) newGroup(piece []int) group {
	var g group
	g.hubs = s.hubs(piece)
	hub := map[int]int{}
	for i, h := range g.hubs {
		hub[h] = i
	}
	home := map[int]int{}
	for _, v := range piece {
		_, isHub := hub[v]
		_, has := home[v]
		if isHub || has || s.nodes[v].Kind == isolation.Source {
			continue
		}
		r := room{nodes: s.whole(v, func(w int) bool {
			_, isHub := hub[w]
			return isHub || !s.inside[w]
		})}
		for _, w := range r.nodes {
			home[w] = len(g.rooms)
		}
		g.rooms = append(g.rooms, r)
	}
	for i := range g.rooms {
		s.furnish(&g.rooms[i], hub)
	}
	g.rooms = s.merge(g.rooms, home)
	for _, v := range s.edge(piece) {
		s.enter(&g, v, home, hub)
	}
	g.rooms = keep(g.rooms)
	sort.SliceStable(g.rooms, func(i, j int) bool { return s.first(g.rooms[i]) < s.first(g.rooms[j]) })
	return g
}

// hubs are the opened things of a piece; opened pipes stay in their rooms unless nothing else is opened there.
func (s *scene) hubs(piece []int) []int {
	var things, all []int
	for _, v := range piece {
		if !s.opened[v] {
			continue
		}
		all = append(all, v)
		if s.nodes[v].Kind != isolation.Junction {
			things = append(things, v)
		}
	}
	if len(things) > 0 {
		return things
	}
	return all
}

// furnish finds what stands in a room and to which hubs it leads.
func (s *scene) furnish(r *room, hub map[int]int) {
	leads := map[int]bool{}
	var vents, drains []int
	for _, v := range r.nodes {
		n := &s.nodes[v]
		switch {
		case s.opened[v]:
			r.opened = append(r.opened, v)
		case s.step[v] != nil && n.Role == "vent":
			vents = append(vents, v)
		case s.step[v] != nil:
			drains = append(drains, v)
		case n.Kind == isolation.CheckValve || n.Kind == isolation.AutomaticValve:
			r.devices = append(r.devices, v)
		}
		for _, w := range s.joined[v] {
			if h, ok := hub[w]; ok && !leads[h] {
				leads[h] = true
				r.hubs = append(r.hubs, h)
			}
		}
	}
	r.openings = append(vents, drains...)
	for _, v := range r.openings {
		s.drawn[v] = true
	}
	sort.Ints(r.hubs)
}

// edge lists the shut points and the uncut sources that touch a piece, in the order of their steps.
func (s *scene) edge(piece []int) []int {
	seen := map[int]bool{}
	var out []int
	for _, v := range piece {
		if s.nodes[v].Kind == isolation.Source && !s.opened[v] {
			out = append(out, v)
			continue
		}
		for _, w := range s.near[v] {
			if s.shut[w] && !s.inside[w] && !seen[w] {
				seen[w] = true
				out = append(out, w)
			}
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return s.number(out[i]) < s.number(out[j]) })
	return out
}

// enter puts an edge point into the room that it opens into, or into a new one if it stands on a hub.
func (s *scene) enter(g *group, v int, home, hub map[int]int) {
	if s.drawn[v] {
		return
	}
	e := s.entry(v)
	for _, w := range s.joined[v] {
		if i, ok := home[w]; ok {
			g.rooms[i].entries = append(g.rooms[i].entries, e)
			return
		}
	}
	r := room{entries: []entry{e}}
	for _, w := range s.joined[v] {
		if h, ok := hub[w]; ok {
			r.hubs = []int{h}
			break
		}
	}
	g.rooms = append(g.rooms, r)
}

// merge joins the rooms that are nothing but an opening on the same hubs, so that vent and drain stand together.
func (s *scene) merge(rooms []room, home map[int]int) []room {
	var out []room
	at := map[string]int{}
	for _, r := range rooms {
		i, key := len(out), fmt.Sprint(r.hubs)
		if bare := len(r.nodes) == 1 && len(r.openings) == 1; bare {
			if j, ok := at[key]; ok {
				if v := r.openings[0]; s.nodes[v].Role == "vent" {
					out[j].openings = append([]int{v}, out[j].openings...)
				} else {
					out[j].openings = append(out[j].openings, v)
				}
				out[j].nodes = append(out[j].nodes, r.nodes...)
				home[r.nodes[0]] = j
				continue
			}
			at[key] = i
		}
		for _, v := range r.nodes {
			home[v] = i
		}
		out = append(out, r)
	}
	return out
}

func keep(rooms []room) []room {
	out := rooms[:0]
	for _, r := range rooms {
		if len(r.entries)+len(r.openings)+len(r.devices)+len(r.opened) > 0 {
			out = append(out, r)
		}
	}
	return out
}

// number is a node's step number, or a large one.
func (s *scene) number(v int) int {
	if st := s.step[v]; st != nil {
		return st.N
	}
	return 1 << 30
}

// first is the lowest step number of the points of some rooms.
func (s *scene) first(rooms ...room) int {
	low := 1 << 30
	for _, r := range rooms {
		for _, e := range r.entries {
			if e.point >= 0 {
				low = min(low, s.number(e.point))
			}
			if e.leg != nil {
				for _, o := range e.leg.outers {
					low = min(low, s.number(o.point))
				}
			}
		}
	}
	return low
}
