package diagram

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"stillwatch/isolation"
	"stillwatch/isolation/planner"
	"stillwatch/isolation/plantfile"
)

var update = flag.Bool("update", false, "write the golden drawings anew")

func texts(d Drawing) []string {
	var out []string
	for _, op := range d.Ops {
		if t, ok := op.(Text); ok {
			out = append(out, t.Words)
		}
	}
	return out
}

func count(words []string, want string) int {
	n := 0
	for _, w := range words {
		if w == want {
			n++
		}
	}
	return n
}

func TestEveryPointOfAPlanStandsOnceWithItsPosition(t *testing.T) {
	p := demoPlant(t)
	for _, plan := range demoPlans(t, p) {
		if !plan.Feasible {
			t.Fatalf("plan %s: %s", plan.Job, plan.Words)
		}
		d := Of(p, &plan)
		words := texts(d)
		positions := map[string]int{}
		for _, st := range plan.Steps {
			if got := count(words, string(st.Point)); got != 1 {
				t.Errorf("Of(%s) shows %s %d times, want once", plan.Job, st.Point, got)
			}
			if got := count(words, fmt.Sprint(st.N)); got != 1 {
				t.Errorf("Of(%s) shows the number %d %d times, want once", plan.Job, st.N, got)
			}
			positions[st.Kind.Word(st.Position)]++
		}
		for word, want := range positions {
			if got := count(words, word); got != want {
				t.Errorf("Of(%s) says %s %d times, want %d", plan.Job, word, got, want)
			}
		}
		for _, id := range plan.Opens {
			if !strings.Contains(strings.Join(words, " "), string(id)) {
				t.Errorf("Of(%s) does not show what is opened: %s", plan.Job, id)
			}
		}
	}
}

func TestEverySourceOfAPlanStandsAtThePointsThatKeepItOff(t *testing.T) {
	p := demoPlant(t)
	for _, plan := range demoPlans(t, p) {
		all := strings.Join(texts(Of(p, &plan)), " ")
		for _, s := range plan.Sources {
			if !strings.Contains(all, string(s.ID)) {
				t.Errorf("Of(%s) does not name the source %s", plan.Job, s.ID)
			}
		}
	}
}

// smallPlan is a plan for testdata/plants/tiny.yaml, written by hand so that the picture alone is tested.
func smallPlan() *isolation.Plan {
	step := func(n int, ph isolation.Phase, id isolation.NodeID, name string, k isolation.Kind, pos isolation.Position,
		lock bool, cuts ...isolation.NodeID) isolation.Step {
		return isolation.Step{N: n, Phase: ph, Point: id, Name: name, Kind: k, Position: pos, Lock: lock, Cuts: cuts}
	}
	return &isolation.Plan{
		Job: "P1-seal", MachineName: "Transfer pump", Title: "Shaft seal", Opens: []isolation.NodeID{"pump", "motor"},
		Feasible: true,
		Sources: []isolation.SourceCut{{ID: "board", Demand: "single"}, {ID: "tank-a", Demand: "single"},
			{ID: "tank-b", Demand: "single"}},
		Steps: []isolation.Step{
			step(1, isolation.PhaseIsolate, "Q1", "Pump breaker", isolation.Breaker, isolation.Open, true, "board"),
			step(2, isolation.PhaseIsolate, "V2", "Pump discharge", isolation.Valve, isolation.Closed, true, "tank-b"),
			step(3, isolation.PhaseIsolate, "V1", "Pump suction", isolation.Valve, isolation.Closed, false, "tank-a"),
			step(4, isolation.PhaseDrain, "A1", "Casing vent", isolation.Opening, isolation.Open, false),
			step(5, isolation.PhaseDrain, "D1", "Casing drain", isolation.Opening, isolation.Open, false),
		},
	}
}

const plants = "../../../testdata/plants/"

func TestGoldenDrawings(t *testing.T) {
	tiny := readPlant(t, plants+"tiny.yaml")
	stuck := readPlant(t, plants+"infeasible.yaml")
	impossible := &isolation.Plan{Job: "seal", MachineName: "Pump", Title: "Shaft seal", Opens: []isolation.NodeID{"pump"},
		Uncut: []isolation.NodeID{"tank-b", "NRV", "pump"},
		Words: "The way from Tank B to the pump meets only a non-return valve."}
	for _, tc := range []struct {
		name string
		d    Drawing
		o    Options
	}{
		{"tiny-of", Of(tiny, smallPlan()), Options{}},
		{"tiny-sheet", Sheet(tiny, smallPlan()), Options{ID: "p1", Standalone: true}},
		{"tiny-plant", Plant(tiny), Options{}},
		{"uncut", Of(stuck, impossible), Options{}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			var b bytes.Buffer
			if err := tc.d.SVG(&b, tc.o); err != nil {
				t.Fatal(err)
			}
			path := filepath.Join("testdata", tc.name+".svg")
			if *update {
				if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(b.String(), "\n")); diff != "" {
				t.Errorf("SVG of %s (-want +got):\n%s", tc.name, diff)
			}
		})
	}
}

func TestUncutPathIsDrawnInItsOrderAndInPlaceOfAPlan(t *testing.T) {
	p := readPlant(t, plants+"infeasible.yaml")
	plan, err := planner.Make(p, plantfile.ShippedRules(), "seal", isolation.Circumstances{})
	if err != nil || plan.Feasible {
		t.Fatalf("Make(infeasible) = feasible %v, %v, want an infeasible plan", plan.Feasible, err)
	}
	d := Of(p, &plan)
	all := strings.Join(texts(d), "\n")
	at := -1
	for _, id := range plan.Uncut {
		next := strings.Index(all, p.Node(id).Label()+"\n")
		if next <= at {
			t.Errorf("Of(infeasible): %s stands at %d, want below the one before it (%d)", id, next, at)
		}
		at = next
	}
	alarms := 0
	for _, op := range d.Ops {
		if l, ok := op.(Line); ok && l.Style == Alarm {
			alarms++
		}
	}
	if want := len(plan.Uncut) - 1; alarms != want {
		t.Errorf("Of(infeasible) has %d lines of the path, want %d", alarms, want)
	}
}

func TestAPlanThatDoesNotCutIsShownAsNotCut(t *testing.T) {
	p := readPlant(t, plants+"tiny.yaml")
	plan := smallPlan()
	plan.Steps = plan.Steps[:2] // the suction is forgotten
	if got := count(texts(Of(p, plan)), "NOT CUT OFF"); got != 1 {
		t.Errorf("Of(plan without its suction) says NOT CUT OFF %d times, want once", got)
	}
}

// checkSVG reads a drawing as XML and checks what a page relies on.
func checkSVG(t *testing.T, d Drawing, o Options) {
	t.Helper()
	var b bytes.Buffer
	if err := d.SVG(&b, o); err != nil {
		t.Fatal(err)
	}
	dec := xml.NewDecoder(bytes.NewReader(b.Bytes()))
	ids, seen := map[string]bool{}, map[string]bool{}
	for {
		tok, err := dec.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("SVG(%q) is not XML: %v", d.Title, err)
		}
		el, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		seen[el.Name.Local] = true
		for _, a := range el.Attr {
			if a.Name.Local == "id" {
				if ids[a.Value] {
					t.Errorf("SVG(%q): id %s twice", d.Title, a.Value)
				}
				ids[a.Value] = true
			}
			if a.Name.Local == "style" || strings.HasPrefix(a.Name.Local, "on") || strings.HasPrefix(a.Name.Local, "href") {
				t.Errorf("SVG(%q): attribute %s, want none that a strict page refuses", d.Title, a.Name.Local)
			}
		}
	}
	if !seen["title"] || !seen["desc"] || seen["script"] || seen["style"] != o.Standalone {
		t.Errorf("SVG(%q) has the elements %v, want title and desc, no script, style only in a file of its own", d.Title,
			seen)
	}
}

func TestSVGIsXMLThatAStrictPageAccepts(t *testing.T) {
	p := demoPlant(t)
	for _, plan := range demoPlans(t, p) {
		checkSVG(t, Of(p, &plan), Options{ID: plan.Job})
		checkSVG(t, Sheet(p, &plan), Options{Standalone: true})
	}
	checkSVG(t, Plant(p), Options{})
	hostile := Drawing{Title: "<script>\x00 & \"'", Desc: "]]>", W: 1, H: 1,
		Ops: []Op{Text{Words: "</text><script>alert(1)</script>\x0b\xff\ufffe"}}}
	checkSVG(t, hostile, Options{ID: `"><script>`})
}
