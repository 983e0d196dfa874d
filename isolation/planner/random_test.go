package planner

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"stillwatch/isolation"
	"stillwatch/isolation/graph"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proof"
)

// smallPlant draws a plant of up to ten nodes with every kind of thing that matters to isolation, and rules for it.
func smallPlant(t *rapid.T) (*isolation.Plant, *isolation.Rules) {
	var b strings.Builder
	b.WriteString("plant: random\nnodes:\n")
	sources := rapid.IntRange(1, 3).Draw(t, "sources")
	entry := rapid.IntRange(0, 2).Draw(t, "entry") == 0 // a line with two valves and a spool or a blank
	others := rapid.IntRange(3, 8).Draw(t, "others")
	if entry {
		others = min(others, 4)
	}
	header := rapid.IntRange(0, 2).Draw(t, "header") == 0 // two branches to the work and one to a consumer
	var ids []string
	for i := range sources {
		id := fmt.Sprintf("s%d", i)
		ids = append(ids, id)
		fmt.Fprintf(&b, "  - {id: %s, kind: source, energy: %s}\n", id,
			rapid.SampledFrom([]string{"fuel", "steam", "electrical", "air"}).Draw(t, "energy"))
	}
	for i := range others {
		id := fmt.Sprintf("n%d", i)
		ids = append(ids, id)
		kind := rapid.SampledFrom([]string{"valve", "valve", "valve", "valve", "valve", "valve", "breaker", "blank", "spool",
			"junction", "consumer", "opening", "opening", "check-valve", "automatic-valve"}).Draw(t, "kind")
		more := ""
		switch {
		case kind == "automatic-valve" && i > 0:
			more = fmt.Sprintf(", fails: %s, supply: n0", rapid.SampledFrom([]string{"closed", "open", "stays"}).Draw(t,
				"fails"))
		case kind == "valve" && rapid.IntRange(0, 5).Draw(t, "tag") == 0:
			more = ", lockable: false"
		}
		if kind == "valve" || kind == "breaker" {
			more += fmt.Sprintf(", awkward: %d", rapid.IntRange(0, 2).Draw(t, "awkward"))
			if rapid.IntRange(0, 5).Draw(t, "normally shut") == 0 {
				more += ", normal: " + map[string]string{"valve": "closed", "breaker": "open"}[kind]
			}
		}
		if stands := map[string]string{"blank": "fitted", "spool": "removed"}[kind]; stands != "" &&
			rapid.IntRange(0, 3).Draw(t, "stands so") == 0 {
			more += ", normal: " + stands
		}
		switch {
		case i == 0 || header && i < 3:
			kind, more = "valve", ""
		case header && i == 3:
			kind, more = "consumer", ""
		}
		fmt.Fprintf(&b, "  - {id: %s, kind: %s%s}\n", id, kind, more)
	}
	if entry {
		fmt.Fprintf(&b, "  - {id: e1, kind: valve}\n  - {id: e2, kind: junction}\n  - {id: e3, kind: valve}\n  - {id: e4, "+
			"kind: junction}\n  - {id: e5, kind: %s}\n  - {id: e6, kind: opening}\n",
			rapid.SampledFrom([]string{"spool", "blank"}).Draw(t, "fifth"))
		ids = append(ids, "e2", "e4", "e6")
	}
	b.WriteString("  - {id: h, kind: junction}\n  - {id: work, kind: junction}\nlinks:\n")
	ids = append(ids, "work")
	seen := map[string]bool{}
	if entry {
		fmt.Fprintf(&b, "  - {a: s0, b: e1}\n  - {a: e1, b: e2}\n  - {a: e2, b: e3}\n  - {a: e3, b: e4}\n  - {a: e4, b: "+
			"e5}\n  - {a: e5, b: work}\n  - {a: %s, b: e6}\n", rapid.SampledFrom([]string{"e2", "e4", "work"}).Draw(t, "sixth"))
	}
	if header && others > 3 {
		b.WriteString("  - {a: s0, b: n0}\n  - {a: n0, b: h}\n  - {a: h, b: n1}\n  - {a: h, b: n2}\n  - {a: n1, b: work}\n " +
			" - {a: n2, b: work}\n  - {a: h, b: n3}\n")
		ids = ids[:min(len(ids), sources+4)]
	}
	least := len(ids) - 1
	if entry {
		least = 0
	}
	for range rapid.IntRange(least, 2*len(ids)).Draw(t, "links") {
		x, y := rapid.SampledFrom(ids).Draw(t, "a"), rapid.SampledFrom(ids).Draw(t, "b")
		if x == y || seen[x+y] || x[0] == 's' && y == "work" {
			continue
		}
		seen[x+y], seen[y+x] = true, true
		one := ""
		if rapid.IntRange(0, 7).Draw(t, "one way") == 0 {
			one = rapid.SampledFrom([]string{", one_way: true", ", air_gap: true"}).Draw(t, "which")
		}
		fmt.Fprintf(&b, "  - {a: %s, b: %s%s}\n", x, y, one)
	}
	b.WriteString("jobs:\n  - {id: j, opens: [work]}\n")
	p, err := plantfile.Read("random", []byte(b.String()))
	if err != nil {
		t.Fatalf("%v\n%s", err, b.String())
	}
	demand := rapid.SampledFrom([]string{"single", "single", "double", "blank"})
	rules := fmt.Sprintf("rules:\n  - {energy: fuel, demand: %s, because: drawn}\n  - {energy: steam, demand: %s, "+
		"because: drawn}\n  - {demand: %s, because: drawn}\n",
		demand.Draw(t, "fuel"), demand.Draw(t, "steam"), demand.Draw(t, "rest"))
	r, err := plantfile.ReadRules("random", []byte(rules))
	if err != nil {
		t.Fatal(err)
	}
	return p, r
}

// TestMakeAgreesWithExhaustion compares plans of small random plants with a search through every set of points, judged
// by the definition: every simple path from a source to the work meets its demand; of those sets the fewest consumers
// lose a supply, and of those the points are fewest.
func TestMakeAgreesWithExhaustion(t *testing.T) {
	plans, none, spared, blanked, bounded := 0, 0, 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		p, r := smallPlant(t)
		plan, err := Make(p, r, "j", isolation.Circumstances{})
		if err != nil {
			t.Fatalf("Make = %v\n%s", err, p.Text)
		}
		e := newExhaustion(p, r)
		lost, least, few := e.least()
		switch {
		case plan.Feasible:
			plans++
			if _, err := proof.Prove(p, r, plan, isolation.Circumstances{}); err != nil {
				t.Fatalf("Prove = %v\n%s\n%s", err, p.Text, r.Text)
			}
			shut := map[isolation.NodeID]bool{}
			for _, s := range plan.Steps {
				if s.Isolates() {
					shut[s.Point] = true
				}
			}
			if plan.Steps != nil &&
				slices.ContainsFunc(plan.Steps, func(s isolation.Step) bool { return s.Phase == isolation.PhaseBlank }) {
				blanked++
			}
			if !e.holds(shut) || !e.loose(shut) {
				t.Fatalf("Make shuts %v, and the definition is not met\n%s\n%s", shut, p.Text, r.Text)
			}
			if len(plan.Lost) != lost || plan.Cost != int64(least) || plan.SearchBound != plan.Cost ||
				plan.LowerBound > int64(few) {
				t.Fatalf("Make: %d lost, cost %d, bounds %d and %d; exhaustion: %d lost, %d points, %d at least\n%s\n%s",
					len(plan.Lost), plan.Cost, plan.SearchBound, plan.LowerBound, lost, least, few, p.Text, r.Text)
			}
			if plan.LowerBound == plan.Cost {
				bounded++
			}
			holdFalseBounds(t, p, r, plan, int64(few))
			if strings.Contains(plan.Words, "would be enough") {
				spared++
			}
		case least >= 0:
			t.Fatalf("Make finds no plan (%s), and %d points do\n%s\n%s", plan.Words, least, p.Text, r.Text)
		default:
			none++
			checkUncut(t, p, plan)
		}
	})
	t.Logf("%d plans, %d of them with joints broken, %d with more points so as to take less from others, %d proved the "+
		"least; "+
		"%d without a plan", plans, blanked, spared, bounded, none)
}

// checkUncut holds that the path of an infeasible plan is a way from a source to the work in this plant.
func checkUncut(t *rapid.T, p *isolation.Plant, plan isolation.Plan) {
	w := graph.New(p)
	u := w.Numbers(plan.Uncut)
	if len(u) < 2 || w.At(u[0]).Kind != isolation.Source || w.At(u[len(u)-1]).ID != "work" || len(plan.Steps) > 0 {
		t.Fatalf("uncut = %v with %d steps, want a way from a source to the work and no steps", plan.Uncut, len(plan.Steps))
	}
	for i := 1; i < len(u); i++ {
		if !slices.Contains(w.Out[u[i-1]], u[i]) {
			t.Fatalf("uncut = %v: nothing leads from %s to %s", plan.Uncut, w.At(u[i-1]).ID, w.At(u[i]).ID)
		}
	}
}

// exhaustion is the definition of a plan, word for word, with no regard to time. It shares nothing with Make or Prove
// but the links.
type exhaustion struct {
	p     *isolation.Plant
	r     *isolation.Rules
	next  map[isolation.NodeID][]isolation.NodeID
	runs  map[isolation.NodeID][]isolation.NodeID   // as next, for what drains
	paths map[isolation.NodeID][][]isolation.NodeID // of every source
	held  map[isolation.NodeID]bool                 // by other permits, in the position in which they isolate
}

func newExhaustion(p *isolation.Plant, r *isolation.Rules) *exhaustion {
	e := &exhaustion{
		p:     p,
		r:     r,
		next:  map[isolation.NodeID][]isolation.NodeID{},
		runs:  map[isolation.NodeID][]isolation.NodeID{},
		paths: map[isolation.NodeID][][]isolation.NodeID{},
	}
	for _, l := range p.Links {
		e.next[l.A] = append(e.next[l.A], l.B)
		if !l.AirGap {
			e.next[l.B] = append(e.next[l.B], l.A)
		}
		e.runs[l.A] = append(e.runs[l.A], l.B)
		if !l.AirGap && !l.OneWay && !e.directed(l.A) && !e.directed(l.B) {
			e.runs[l.B] = append(e.runs[l.B], l.A)
		}
	}
	for _, n := range p.Nodes {
		if n.Kind == isolation.Source {
			e.walk(n.ID, []isolation.NodeID{n.ID})
		}
	}
	return e
}

func (e *exhaustion) walk(source isolation.NodeID, path []isolation.NodeID) {
	at := path[len(path)-1]
	if at == "work" {
		e.paths[source] = append(e.paths[source], slices.Clone(path))
		return
	}
	for _, to := range e.next[at] {
		if !slices.Contains(path, to) {
			e.walk(source, append(slices.Clone(path), to))
		}
	}
}

// least returns, of the sets that meet every demand, the fewest consumers that lose a supply, and with so few lost the
// fewest points; -1 points where no set does. few is the fewest points of all, whatever they take from others.
func (e *exhaustion) least() (lost, count, few int) {
	var points []isolation.NodeID
	for _, n := range e.p.Nodes {
		if e.joint(n.ID) && !e.wantsBlank() {
			continue
		}
		if n.Kind.IsPoint() && n.Lockable || n.Kind == isolation.AutomaticValve && n.Fails != "open" && n.Supply != "" {
			points = append(points, n.ID)
		}
	}
	lost, count, few = 0, -1, -1
	for set := range 1 << len(points) {
		shut := map[isolation.NodeID]bool{}
		for i, id := range points {
			if set&(1<<i) != 0 {
				shut[id] = true
			}
		}
		if count == 0 || !e.moved(shut) || !e.holds(shut) || !e.loose(shut) || !e.pressed(shut) {
			continue
		}
		if few < 0 || len(shut) < few {
			few = len(shut)
		}
		if l := e.lost(shut); count < 0 || l < lost || l == lost && len(shut) < count {
			lost, count = l, len(shut)
		}
	}
	return lost, count, few
}

// wantsBlank reports whether a source that can reach the work has a blank demand: else no blank is fitted for this
// work.
func (e *exhaustion) wantsBlank() bool {
	for source := range e.paths {
		if rule, _ := e.r.Demand(e.p.Node(source), isolation.OpenUp, 0); rule.Demand == isolation.DemandBlank {
			return true
		}
	}
	return false
}

// lost counts the consumers that lose a supply: what fed them in the normal line-up and no longer does.
func (e *exhaustion) lost(shut map[isolation.NodeID]bool) int {
	gone := map[isolation.NodeID]bool{}
	for source := range e.all() {
		after := e.fed(source, shut)
		for id := range e.fed(source, nil) {
			if e.p.Node(id).Kind == isolation.Consumer && !after[id] {
				gone[id] = true
			}
		}
	}
	return len(gone)
}

// fed returns what a source feeds: not through what is shut, normally or by the set, nor through another source, and
// what flows not through a breaker. A check valve feeds one way where the links show which.
func (e *exhaustion) fed(source isolation.NodeID, shut map[isolation.NodeID]bool) map[isolation.NodeID]bool {
	flows := e.p.Node(source).Energy.Flows()
	barred := func(id isolation.NodeID) bool {
		n := e.p.Node(id)
		return id != source && n.Kind == isolation.Source || shut[id] || n.Kind == isolation.Opening || n.Kind.IsPoint() &&
			n.Normal == n.Kind.Isolating() || flows && n.Kind.IsElectrical()
	}
	seen := map[isolation.NodeID]bool{source: true}
	for list := []isolation.NodeID{source}; len(list) > 0; list = list[1:] {
		if barred(list[0]) {
			continue
		}
		for _, l := range e.p.Links {
			for _, way := range [][2]isolation.NodeID{{l.A, l.B}, {l.B, l.A}} {
				back := way[0] == l.B
				if way[0] != list[0] || seen[way[1]] || back && (l.OneWay || l.AirGap || e.directed(l.A) ||
					e.directed(l.B)) || flows && e.p.Node(way[1]).Kind.IsElectrical() {
					continue
				}
				seen[way[1]] = true
				list = append(list, way[1])
			}
		}
	}
	return seen
}

// directed reports whether a node is a check valve to which one link leads and from which another does.
func (e *exhaustion) directed(id isolation.NodeID) bool {
	into := slices.ContainsFunc(e.p.Links, func(l isolation.Link) bool { return l.B == id })
	away := slices.ContainsFunc(e.p.Links, func(l isolation.Link) bool { return l.A == id })
	return e.p.Node(id).Kind == isolation.CheckValve && into && away
}

// moved reports whether every automatic valve in the set has its supply in it.
func (e *exhaustion) moved(shut map[isolation.NodeID]bool) bool {
	for id := range shut {
		if n := e.p.Node(id); n.Kind == isolation.AutomaticValve && !shut[n.Supply] {
			return false
		}
	}
	return true
}

func (e *exhaustion) holds(shut map[isolation.NodeID]bool) bool {
	for source, paths := range e.paths {
		n := e.p.Node(source)
		rule, _ := e.r.Demand(n, isolation.OpenUp, 0)
		for _, path := range paths {
			if !e.meets(path, shut, rule.Demand, n.Energy.Flows()) {
				return false
			}
		}
	}
	return true
}

func (e *exhaustion) meets(path []isolation.NodeID, shut map[isolation.NodeID]bool, demand string, flows bool) bool {
	var at []int
	for i, id := range path {
		if shut[id] && (demand == isolation.DemandBlank || !e.joint(id)) {
			at = append(at, i)
		}
	}
	switch demand {
	case isolation.DemandSingle:
		return len(at) > 0
	case isolation.DemandBlank:
		behind := false
		for _, i := range at {
			if e.joint(path[i]) {
				if behind {
					return true
				}
				continue
			}
			behind = true
		}
		return false
	}
	for j := 1; j < len(at); j++ {
		if !flows {
			return true
		}
		for i := at[j-1] + 1; i < at[j]; i++ {
			if !shut[path[i]] && e.bleeds(path[i], shut) {
				return true
			}
		}
	}
	return false
}

// bleeds reports whether what stands at a node can run to an opening that no source can come to.
func (e *exhaustion) bleeds(from isolation.NodeID, shut map[isolation.NodeID]bool) bool {
	live := map[isolation.NodeID]bool{}
	for source := range e.all() {
		for id := range e.reach(source, e.early(shut)) {
			live[id] = true
		}
	}
	bars := maps.Clone(shut)
	for _, n := range e.p.Nodes { // what nobody opens by hand; a valve is, and is tagged
		if n.Kind == isolation.AutomaticValve && (n.Normal == isolation.Closed || n.Fails == "closed") ||
			n.Normal == n.Kind.Isolating() && (n.Kind.IsElectrical() || n.Kind.IsBlanking()) {
			bars[n.ID] = true
		}
	}
	for id := range e.along(e.runs, from, bars) {
		if e.p.Node(id).Kind == isolation.Opening && !live[id] {
			return true
		}
	}
	return false
}

// joint reports whether a node is a blank or a spool, broken whether its joint must be broken for it to isolate.
func (e *exhaustion) joint(id isolation.NodeID) bool {
	k := e.p.Node(id).Kind
	return k == isolation.Blank || k == isolation.Spool
}

func (e *exhaustion) broken(id isolation.NodeID) bool {
	return e.joint(id) &&
		e.p.Node(
			id,
		).Normal != map[isolation.Kind]isolation.Position{isolation.Blank: isolation.Fitted,
			isolation.Spool: isolation.Removed}[e.p.Node(id).Kind]
}

// early is what of a set is shut before the drains are opened.
func (e *exhaustion) early(shut map[isolation.NodeID]bool) map[isolation.NodeID]bool {
	out := map[isolation.NodeID]bool{}
	for id := range shut {
		out[id] = !e.broken(id)
	}
	return out
}

// loose reports whether what stands at every joint of the set can run out before it is broken, and no source comes to
// it.
func (e *exhaustion) loose(shut map[isolation.NodeID]bool) bool {
	early := e.early(shut)
	for id := range shut {
		if e.broken(id) && (e.live(id, shut) || !e.bleeds(id, early)) {
			return false
		}
	}
	return true
}

func (e *exhaustion) all() map[isolation.NodeID]bool {
	out := map[isolation.NodeID]bool{}
	for _, n := range e.p.Nodes {
		if n.Kind == isolation.Source {
			out[n.ID] = true
		}
	}
	return out
}

func (e *exhaustion) reach(from isolation.NodeID, shut map[isolation.NodeID]bool) map[isolation.NodeID]bool {
	return e.along(e.next, from, shut)
}

func (e *exhaustion) along(next map[isolation.NodeID][]isolation.NodeID, from isolation.NodeID,
	shut map[isolation.NodeID]bool) map[isolation.NodeID]bool {
	seen := map[isolation.NodeID]bool{from: true}
	for list := []isolation.NodeID{from}; len(list) > 0; list = list[1:] {
		for _, to := range next[list[0]] {
			if !seen[to] && !shut[to] {
				seen[to] = true
				list = append(list, to)
			}
		}
	}
	return seen
}
