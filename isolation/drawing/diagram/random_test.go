package diagram

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"stillwatch/isolation"
	"stillwatch/isolation/planner"
	"stillwatch/isolation/plantfile"
)

// randomPlant writes a plant file of pipes: valves, spools, vessels, pipes, drains and devices joined at random around
// the work, and sources that come in through a few points in series, with an opening on the way.
func randomPlant(t *rapid.T) string {
	kinds := []string{"valve", "valve", "valve", "spool", "junction", "vessel", "check-valve", "consumer", "opening",
		"opening"}
	var b, links strings.Builder
	b.WriteString("plant: Random\nnodes:\n")
	var ids []string
	joined := map[string]bool{}
	node := func(kind, extra string) string {
		id := fmt.Sprintf("%c%d", strings.ToUpper(kind)[0], len(ids))
		if kind == "opening" {
			extra = ", role: " + rapid.SampledFrom([]string{"drain", "vent"}).Draw(t, "role")
		}
		fmt.Fprintf(&b, "  - {id: %s, kind: %s, name: %s number %d of the random plant%s}\n", id, kind, kind, len(ids), extra)
		ids = append(ids, id)
		return id
	}
	join := func(x, y string) { writeLink(&links, joined, x, y, rapid.IntRange(0, 19).Draw(t, "way") == 0) }
	work := node(rapid.SampledFrom([]string{"vessel", "junction", "consumer"}).Draw(t, "work"), "")
	for _, k := range rapid.SliceOfN(rapid.SampledFrom(kinds), 0, 14).Draw(t, "kinds") {
		to := rapid.SampledFrom(ids).Draw(t, "to")
		join(node(k, ""), to)
	}
	inner := append([]string(nil), ids...)
	for range rapid.IntRange(1, 3).Draw(t, "sources") {
		last := rapid.SampledFrom(inner).Draw(t, "enters")
		for _, k := range rapid.SampledFrom([][]string{{"valve"}, {"valve", "junction", "valve"}, {"spool", "valve"},
			{"spool", "junction", "valve", "check-valve"}}).Draw(t, "series") {
			next := node(k, "")
			join(next, last)
			if k == "junction" {
				join(node("opening", ""), next)
			}
			last = next
		}
		join(node("source", fmt.Sprintf(", energy: water, gauge_bar: %d", rapid.SampledFrom([]int{2, 30}).Draw(t, "bar"))),
			last)
	}
	for range rapid.IntRange(0, 4).Draw(t, "more") {
		join(rapid.SampledFrom(inner).Draw(t, "a"), rapid.SampledFrom(ids).Draw(t, "b"))
	}
	exposure := rapid.SampledFrom([]string{"open", "enter"}).Draw(t, "exposure")
	return fmt.Sprintf("%slinks:\n%sjobs:\n  - {id: job, title: Work, opens: [%s], exposure: %s}\n", b.String(),
		links.String(), work, exposure)
}

func writeLink(b *strings.Builder, joined map[string]bool, x, y string, oneWay bool) {
	if x == y || joined[x+" "+y] || joined[y+" "+x] {
		return
	}
	joined[x+" "+y] = true
	fmt.Fprintf(b, "  - {a: %s, b: %s, bore_mm: 25, length_m: 1", x, y)
	if oneWay {
		b.WriteString(", one_way: true")
	}
	b.WriteString("}\n")
}

func TestDrawingsOfRandomPlansShowEveryStepOnceAndNothingUncut(t *testing.T) {
	drawn := 0
	rapid.Check(t, func(t *rapid.T) {
		text := randomPlant(t)
		p, err := plantfile.Read("random.yaml", []byte(text))
		if err != nil {
			t.Skip(err)
		}
		plan, err := planner.Make(p, plantfile.ShippedRules(), "job", isolation.Circumstances{})
		if err != nil {
			t.Skip(err)
		}
		d := Of(p, &plan)
		words := texts(d)
		if bad := append(overlaps(d), outside(d)...); len(bad) > 0 {
			t.Fatalf("words overlap or leave the page: %s\n%s", strings.Join(bad, "\n"), text)
		}
		if !plan.Feasible {
			if got := strings.Join(words, " "); !strings.HasPrefix(got, "Cannot be isolated") {
				t.Fatalf("the drawing of an infeasible plan begins %.40q", got)
			}
			return
		}
		drawn += len(plan.Steps)
		for _, st := range plan.Steps {
			if got := count(words, string(st.Point)); got != 1 {
				t.Fatalf("step %d (%s) is shown %d times, want once\n%s", st.N, st.Point, got, text)
			}
		}
		if got := count(words, "NOT CUT OFF"); got > 0 {
			t.Fatalf("the drawing of a plan says NOT CUT OFF %d times\n%s", got, text)
		}
	})
	if drawn == 0 {
		t.Error("no random plant had a plan: nothing was tested")
	}
}
