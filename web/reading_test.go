package web

import (
	"io/fs"
	"strings"
	"testing"
	"time"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/web/sample"
	"stillwatch/web/screens"
	"stillwatch/web/static"
)

func TestChartSheetIsThatOfTheCharts(t *testing.T) {
	css, err := fs.ReadFile(static.FS, "chart.css")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"--ch-curve", "--ch-limit", "--ch-bad", "--ch-good", "--ch-grid", "--ch-words"} {
		if !strings.Contains(string(css), name+": var(--") {
			t.Errorf("static/chart.css gives %s no colour of the palette", name)
		}
	}
}

func TestRecordsAreChartedAndTabled(t *testing.T) {
	j := begin(t)
	j.authorise()
	j.isolate()
	section := j.a.permit(1).Drains()[0].Section
	if body := j.tech.get(j.path).body; !strings.Contains(body, `class="ch"`) || strings.Contains(body, "1st reading") {
		t.Error("the page of a section without a record lacks the foretold course, or shows a reading")
	}
	before := strings.Count(j.tech.get(j.path).body, "<tr>")
	j.a.wait(20 * time.Minute)
	j.tech.must(j.tech.post(j.path+"/drain/"+section.ID, "out_l", "1.5", "hold_min", "15", "hold_in_l", "0", "gauge_bar",
		"0", "temp_c", "30"), j.path)
	body := j.tech.get(j.path).body
	if after := strings.Count(body, "<tr>"); after <= before {
		t.Errorf("the charts' tables have %d lines after a record, want more than the %d before it", after, before)
	}
	if !strings.Contains(body, `value="1.5"`) || !strings.Contains(body, "takes the place") {
		t.Error("the form of a second record does not begin with the figure of the first, or does not say that it replaces " +
			"it")
	}
}

func TestSecondRecordReplacesTheFirst(t *testing.T) {
	j := begin(t)
	j.authorise()
	j.isolate()
	d := j.a.permit(1).Drains()[0]
	for _, out := range []float64{d.Section.OutL / 2, d.Section.OutL} {
		j.a.wait(time.Hour)
		j.tech.must(j.tech.post(j.path+"/drain/"+d.Section.ID, "out_l", screens.FigureTo(out, 2), "hold_min", "15",
			"hold_in_l", "0",
			"gauge_bar", "0", "temp_c", "30", "into", "Sludge tank", "words", "vent cock cleared, then it ran"), j.path)
	}
	if got := j.a.permit(1).Drains()[0]; !got.Finding.OK {
		t.Errorf("after a second record with all that came out: %+v, want drained", got.Finding)
	}
	if body := j.tech.get(j.path).body; !strings.Contains(body, "("+screens.FigureTo(d.Section.OutL, 1)+" L), from") {
		t.Error("the draft for the book does not hold the last record's figure alone")
	}
}

// TestWaitSaysTheMomentAtWhichItEnds holds the page without scripts to the moment that is foretold.
func TestWaitSaysTheMomentAtWhichItEnds(t *testing.T) {
	j := begin(t)
	j.authorise()
	j.isolate()
	o := j.a.permit(1).EarliestOpen(j.a.clock())
	if len(o.Waiting) == 0 {
		t.Fatal("nothing is waited for on a permit that was just isolated")
	}
	for _, path := range []string{j.path, j.drainTag()} {
		body := j.tech.get(path).body
		if w := o.Waiting[0]; !strings.Contains(body, `data-until="`+w.Until.Format(time.RFC3339)+`"`) ||
			!strings.Contains(body, screens.StampWords(w.Until)) {
			t.Errorf("%s does not say that %s ends at %s", path, w.What, screens.StampWords(w.Until))
		}
		if !strings.Contains(body, "never a proof") {
			t.Errorf("%s shows a waiting time and does not say that it is no proof", path)
		}
	}
	j.a.wait(o.Left(j.a.clock()) + time.Hour)
	if body := j.tech.get(j.path).body; strings.Contains(body, "data-until") {
		t.Error("a wait that is over still counts down")
	}
}

// drainTag returns the address of the tag of the first section's drain.
func (j *job) drainTag() string {
	p := j.a.permit(1)
	for _, l := range p.Locks() {
		if l.Step.Point == p.Drains()[0].Section.Drains[0] {
			return j.a.codes(1)[l.Step.N]
		}
	}
	j.a.t.Fatal("no step opens the drain of the first section")
	return ""
}

func TestBreakersTagLeadsToTheReadings(t *testing.T) {
	j := begin(t)
	j.authorise()
	j.isolate()
	var breaker string
	for _, l := range j.a.permit(1).Locks() {
		if l.Step.Kind == isolation.Breaker {
			breaker = j.a.codes(1)[l.Step.N]
		}
	}
	link := `href="` + j.path + `#proof"`
	if body := j.tech.get(breaker).body; !strings.Contains(body, link) {
		t.Error("the breaker's tag does not lead to the readings while they are to be recorded")
	}
	if body := j.tech.get(j.path).body; !strings.Contains(body, `id="proof"`) {
		t.Error("the permit's page has no place where the readings stand")
	}
	j.record()
	j.goLive()
	j.work()
	if body := j.tech.get(breaker).body; strings.Contains(body, link) {
		t.Error("the breaker's tag leads to the readings after the work was handed back")
	}
}

func TestSuspectIsRecordedAsPassingWithTheFindingsWords(t *testing.T) {
	f := isolation.Finding{Result: "passing", Words: `Came in: 0.8 L & "more"`, Suspects: []isolation.NodeID{"V1"}}
	want := "/points/V1?seen=Suspected%3A+Came+in%3A+0.8+L+%26+%22more%22#f-passing"
	if got := screens.SuspectHref("V1", f); got != want {
		t.Errorf("suspectHref() = %s, want %s", got, want)
	}
	j := begin(t)
	body := j.tech.get(want).body
	if i := strings.Index(body, `id="f-passing"`); i < 0 || !strings.Contains(body[i:], "0.8 L &amp; &#34;more&#34;") ||
		!strings.Contains(body, "<details open><summary>It passes") {
		t.Error("the point's page does not open the form with what was found")
	}
	j.tech.must(j.tech.post("/points/V1/passing", "words", "Suspected: "+f.Words), "/points/V1")
	if !j.a.reg.Ship().IsPassing("V1") {
		t.Error("V1 is not recorded as passing")
	}
}

// TestPassingFindingNamesItsSuspects drains a section into which something keeps coming.
func TestPassingFindingNamesItsSuspects(t *testing.T) {
	j := begin(t)
	j.authorise()
	j.isolate()
	d := j.a.permit(1).Drains()[0]
	j.a.wait(2 * time.Hour)
	tag := j.drainTag()
	got := j.tech.must(j.tech.post(j.path+"/drain/"+d.Section.ID, "out_l", screens.FigureTo(d.Section.OutL+6, 2),
		"hold_min", "15",
		"hold_in_l", "3", "gauge_bar", "0", "temp_c", "30", "from", tag), tag)
	found := j.a.permit(1).Drains()[0].Finding
	if found.OK || len(found.Suspects) == 0 {
		t.Fatalf("finding = %+v, want suspects", found)
	}
	for _, s := range found.Suspects {
		if !strings.Contains(got.body, "Record "+string(s)+" as passing</a>") {
			t.Errorf("the tag's page does not lead from the finding to recording %s", s)
		}
	}
}

func TestWorkFormNextForTheReaderStandsOpen(t *testing.T) {
	s, err := sample.NewShip()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := sample.CannedStages(s); err != nil {
		t.Fatal(err)
	}
	for _, p := range s.Permits {
		if p.State() != permits.Live {
			continue
		}
		for who, want := range map[string]string{"tove": "sign-off", "bao": "sign-on"} {
			if got := screens.WorkTurn(p, s.Ship.People[permits.PersonID(who)]); got != want {
				t.Errorf("workTurn(%s) = %s, want %s", who, got, want)
			}
		}
		return
	}
	t.Fatal("no canned permit is live")
}
