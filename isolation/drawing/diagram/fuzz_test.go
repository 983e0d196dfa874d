package diagram

import (
	"io"
	"math"
	"testing"

	"stillwatch/isolation"
)

var allKinds = []isolation.Kind{isolation.Source, isolation.Vessel, isolation.Junction, isolation.Consumer,
	isolation.Opening,
	isolation.Breaker, isolation.Disconnector, isolation.Fuse, isolation.Switch, isolation.Earth, isolation.Valve,
	isolation.Blank,
	isolation.Spool,
	isolation.Plug, isolation.CheckValve, isolation.AutomaticValve, "nonsense"}

// plantOf makes a plant and a plan out of bytes, sound or not: ids that do not exist, steps on nodes that are no
// points.
func plantOf(data []byte) (*isolation.Plant, *isolation.Plan) {
	next := func() int {
		if len(data) == 0 {
			return 0
		}
		b := int(data[0])
		data = data[1:]
		return b
	}
	id := func(i int) isolation.NodeID { return isolation.NodeID(rune('A' + i)) }
	n := next() % 24
	p, plan := &isolation.Plant{Title: string(data)}, &isolation.Plan{Title: string(data)}
	for i := range n {
		k := next()
		p.Nodes = append(p.Nodes, isolation.Node{ID: id(i), Kind: allKinds[k%len(allKinds)],
			Name: string(data[:min(len(data), k/4)]), Role: []string{"drain", "vent", ""}[k%3]})
	}
	for range next() % 40 {
		a, b := next(), next()
		p.Links = append(p.Links, isolation.Link{A: id(a % (n + 2)), B: id(b % (n + 2)), OneWay: a > 200})
	}
	for i := range next() % 16 {
		v, how := next()%(n+2), next()
		st := isolation.Step{N: i + 1, Point: id(v), Phase: []isolation.Phase{isolation.PhaseStop, isolation.PhaseIsolate,
			isolation.PhaseDrain, isolation.PhaseBlank}[how%4], Lock: how > 128}
		if v < n {
			st.Kind = p.Nodes[v].Kind
		}
		st.Position = []isolation.Position{st.Kind.Isolating(), st.Kind.Isolating(), isolation.Open, ""}[how/3%4]
		st.Cuts = append(st.Cuts, id(next()%(n+2)))
		plan.Steps = append(plan.Steps, st)
	}
	for range next() % 6 {
		plan.Opens = append(plan.Opens, id(next()%(n+2)))
	}
	for range next() % 4 {
		plan.Sources = append(plan.Sources, isolation.SourceCut{ID: id(next() % (n + 2)), Demand: "double"})
	}
	for range max(0, next()-200) {
		plan.Uncut = append(plan.Uncut, id(next()%(n+2)))
	}
	return p, plan
}

// FuzzDrawings holds any plant and plan, however broken, to: no panic, every number finite, and every step shown.
func FuzzDrawings(f *testing.F) {
	f.Add([]byte{})
	f.Add([]byte("\x05\x00\x09\x02\x09\x00\x04\x00\x01\x01\x02\x02\x03\x03\x04\x02\x01\x04\x00" +
		"\x03\x04\x00\x01\x02\x01\x00\x01\x04"))
	f.Add([]byte("\x17a small plant of many kinds, joined at random, with steps on everything and more opened than " +
		"there is"))
	f.Fuzz(func(t *testing.T, data []byte) {
		p, plan := plantOf(data)
		for _, d := range []Drawing{Of(p, plan), Sheet(p, plan), Plant(p),
			Mimic(p, Part{Plan: plan, On: all, Isolated: true})} {
			if !finite(d.W) || !finite(d.H) || d.W <= 0 || d.H <= 0 {
				t.Fatalf("drawing of %g by %g", d.W, d.H)
			}
			for _, op := range d.Ops {
				if x, ok := op.(Text); ok && (!finite(x.X) || !finite(x.Y) || !finite(x.Size)) {
					t.Fatalf("text %+v is nowhere", x)
				}
			}
			if err := d.SVG(io.Discard, Options{}); err != nil {
				t.Fatal(err)
			}
		}
		if d := Of(p, plan); len(plan.Uncut) == 0 {
			words := texts(d)
			for _, st := range plan.Steps {
				if count(words, string(st.Point)) == 0 {
					t.Fatalf("step %d (%s) is not shown", st.N, st.Point)
				}
			}
		}
	})
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
