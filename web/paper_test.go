package web

import (
	"net/http"
	"strings"
	"testing"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/web/sample"
	"stillwatch/web/screens"
	"stillwatch/web/sheets"
)

func TestEveryPaperPrints(t *testing.T) {
	j := begin(t)
	if got := j.tech.get(j.path + "/tags.pdf"); got.status != http.StatusUnprocessableEntity ||
		!strings.Contains(got.body, "no tags") {
		t.Errorf("tags of a draft = %d, want 422 in words", got.status)
	}
	wantPDF(t, j.tech, j.path+"/plan.pdf")
	wantPDF(t, j.tech, j.path+"/permit.pdf")
	j.authorise()
	wantPDF(t, j.tech, j.path+"/tags.pdf")
	j.isolate()
	j.record()
	j.goLive()
	wantPDF(t, j.tech, j.path+"/permit.pdf")
	wantPDF(t, j.tech, j.path+"/plan.pdf")
	wantPDF(t, j.oow, "/handover.pdf")
	if got := j.tech.get("/points/labels.pdf"); got.status != http.StatusUnprocessableEntity {
		t.Errorf("labels before any was issued = %d, want 422", got.status)
	}
	j.tech.must(j.tech.post("/points/labels", "point", "V1", "point", "V2"), "/points")
	wantPDF(t, j.tech, "/points/labels.pdf")
	wantPDF(t, j.tech, "/points/labels.pdf?point=V1")
	j.work()
	j.restore()
	j.close()
	wantPDF(t, j.tech, j.path+"/permit.pdf")
	if got := j.tech.get(j.path + "/tags.pdf"); got.status != http.StatusUnprocessableEntity {
		t.Errorf("tags of a closed permit = %d, want 422", got.status)
	}
}

func wantPDF(t *testing.T, c *browser, path string) {
	t.Helper()
	got := c.get(path)
	if got.status != http.StatusOK || !strings.HasPrefix(got.body, "%PDF-") ||
		got.head.Get("Content-Type") != "application/pdf" {
		t.Errorf("GET %s = %d %q, want a PDF: %s", path, got.status, got.head.Get("Content-Type"), alert(got.body))
	}
}

// TestEveryPositionHasItsWordAndMark keeps words, symbols and papers in step: a breaker that is open in the plant file
// is OFF everywhere.
func TestEveryPositionHasItsWordAndMark(t *testing.T) {
	for _, kind := range []isolation.Kind{isolation.Breaker, isolation.Disconnector, isolation.Fuse, isolation.Switch,
		isolation.Valve, isolation.Blank, isolation.Spool, isolation.Plug, isolation.Opening, isolation.AutomaticValve} {
		for _, at := range []isolation.Position{kind.Isolating(), kind.Passing()} {
			onPaper := sheets.Position(kind, at)
			if got := screens.PositionWords(kind, at); !onPaper.IsSet() || got != onPaper.Words() {
				t.Errorf("%s %s: the page says %q, the paper %q", kind, at, got, onPaper.Words())
			}
		}
		if screens.PositionWords(kind, kind.Isolating()) == screens.PositionWords(kind, kind.Passing()) ||
			screens.PositionMark(kind, kind.Isolating()) == screens.PositionMark(kind, kind.Passing()) {
			t.Errorf("%s: both positions have the same word or mark", kind)
		}
	}
	if got := screens.PositionWords(isolation.Breaker, isolation.Open); got != "OFF" {
		t.Errorf("an open breaker is %q, want OFF", got)
	}
	if sheets.Position(isolation.Valve, isolation.Removed).IsSet() {
		t.Error("a removed valve would be printed")
	}
}

// TestEverySymbolNamedIsDrawn keeps the names of marks and states in step with the symbols on the page.
func TestEverySymbolNamedIsDrawn(t *testing.T) {
	body, err := testScreens(t).Write("notice", screens.NoticePage{Frame: sample.CannedBase("day", "x")})
	if err != nil {
		t.Fatal(err)
	}
	names := []string{}
	for kind := range sheets.PaperMarks {
		names = append(names, screens.PositionMark(kind, kind.Isolating()), screens.PositionMark(kind, kind.Passing()))
	}
	for _, st := range permits.States() {
		names = append(names, "s-"+screens.Slug(st.String()))
	}
	for _, name := range names {
		if !strings.Contains(string(body), `<symbol id="`+name+`"`) {
			t.Errorf("there is no symbol %s", name)
		}
	}
}
