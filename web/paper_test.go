package web

import (
	"net/http"
	"os/exec"
	"strconv"
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

// TestPapersSayWhoseLockIsOnTheBoxAndWhoWasCounted has two trades under one set of locks and a fire: the sheets of both
// permits, of the watch and of the emergency say whose own lock hung from when to when, who was counted out by whom and
// where, and which permit works under which. (Group box: 29 CFR 1910.147(f)(3), read. What is recorded of an emergency:
// own reasoning.)
func TestPapersSayWhoseLockIsOnTheBoxAndWhoWasCounted(t *testing.T) {
	j := begin(t)
	j.authorise()
	j.isolate()
	j.record()
	j.goLive()
	if got := j.oow.get("/emergency.pdf"); got.status != http.StatusNotFound {
		t.Errorf("sheet of an emergency that never was = %d, want 404", got.status)
	}
	in := string(j.a.permit(j.id).Accepted().By)
	keys := strconv.Itoa(j.keys())
	j.tech.must(j.tech.post(j.path+"/box", "box", "B2", "keys", keys, "signer", in, "pin", testPINs[in]), j.path)
	j.tech.must(j.tech.post(j.path+"/sign-on", "lock", "T-14", "pin", testPINs["tech"]), j.path)
	const sub = "/permits/2"
	j.tech.must(j.tech.post(j.path+"/under", "work", "Renew the cable gland"), sub)
	j.oow.must(j.oow.post(sub+"/authorise", "hours", "8", "signer", "oow", "pin", testPINs["oow"]), sub)
	j.tech.must(j.tech.post(sub+"/accept", "tools_out", "3", "pin", testPINs["tech"]), sub)
	j.mate.must(j.mate.post(sub+"/sign-on", "lock", "M-02", "pin", testPINs["mate"]), sub)
	j.oow.must(j.oow.post("/emergency", "words", "fire in the purifier room", "pin", testPINs["oow"]), "/emergency")
	j.shows(j.oow, "/handover", "Emergency: fire in the purifier room",
		"Lock M-02 of Fitter Two is on the group box since")
	j.oow.prints("/handover.pdf", "EMERGENCY: fire in the purifier room. Declared by Officer One,", "NOT ENDED")
	j.oow.prints("/emergency.pdf", "NOT ENDED", "Fitter One 1", "Fitter Two 2", "NOT YET")
	j.tech.must(j.tech.post(j.path+"/sign-off", "lock_off", "yes", "pin", testPINs["tech"]), j.path)
	j.oow.must(j.oow.post(sub+"/count-out", "person", "mate", "where", "muster station"), "/emergency")
	j.oow.prints("/handover.pdf", "permit 2 (suspended) works under these locks", "works under the locks of permit 1",
		"the keys are in group box B2", "lock M-02 of Fitter Two is on the group box since", "OUT SINCE",
		"counted out by Officer One, seen: muster station")
	j.oow.must(j.oow.post("/emergency/end", "words", "fire out", "pin", testPINs["oow"]), "/emergency")
	j.oow.must(j.oow.post(j.path+"/account", "hang", strconv.Itoa(j.a.permit(j.id).LocksOn()), "words",
		"nothing was moved", "pin", testPINs["oow"]), j.path)
	j.oow.prints("/emergency.pdf", "Nobody: everybody who was signed on is out.", "signed off",
		"ended the emergency: fire out.", "counted out by Officer One, seen: muster station",
		"hang right; nothing was moved. By Officer One", "NOT YET", "M-02")
	j.mate.must(j.mate.post(sub+"/own-lock", "person", "mate", "pin", testPINs["mate"]), sub)
	j.oow.prints(j.path+"/permit.pdf", "Box B2: "+keys+" keys of the locks, counted into it by", "T-14 Fitter One B2",
		"2 SUSPENDED Renew the cable gland")
	j.oow.prints(sub+"/permit.pdf", "Works under the locks of permit 1.", "M-02 Fitter Two B2",
		"counted out by Officer One", "Issued with the permit under whose locks it works.", "None of its own.")
}

// keys counts the padlocks of a permit.
func (j *job) keys() (n int) {
	for _, l := range j.a.permit(j.id).Locks() {
		if l.Padlock != "" {
			n++
		}
	}
	return n
}

// prints wants words on a paper, as somebody reads them in its layout.
func (b *browser) prints(path string, want ...string) {
	b.a.t.Helper()
	wantPDF(b.a.t, b, path)
	reader, err := exec.LookPath("pdftotext")
	if err != nil {
		b.a.t.Skip("pdftotext is not installed")
	}
	cmd := exec.Command(reader, "-layout", "-", "-")
	cmd.Stdin = strings.NewReader(b.get(path).body)
	out, err := cmd.Output()
	if err != nil {
		b.a.t.Fatalf("pdftotext: %v", err)
	}
	text := strings.Join(strings.Fields(string(out)), " ")
	for _, w := range want {
		if !strings.Contains(text, w) {
			b.a.t.Errorf("%s does not say %q:\n%s", path, w, out)
		}
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

// TestScanSheetCarriesNoTag wants every code of the sheet to lead to the walk or to a point's page: with a tag's code
// on it somebody could hang a lock in the register without having been at the point.
func TestScanSheetCarriesNoTag(t *testing.T) {
	j := begin(t)
	j.authorise()
	if got := j.tech.get(j.path + "/scan.pdf"); got.status != http.StatusOK || !strings.HasPrefix(got.body, "%PDF") {
		t.Fatalf("GET scan.pdf = %d, want a PDF", got.status)
	}
	sheet := sheets.Scan(j.a.permit(j.id), func(path string) string { return path })
	if len(sheet.Rows) != len(j.a.permit(j.id).Locks()) || sheet.URL != j.path+"/walk" {
		t.Errorf("%d rows, address %s; want each step, and the walk", len(sheet.Rows), sheet.URL)
	}
	for _, r := range sheet.Rows {
		if got := j.tech.get(r.URL); got.status != http.StatusOK || got.path != "/points/"+r.Point {
			t.Errorf("the code of step %d leads to %s, status %d; want the page of %s", r.Step, got.path, got.status, r.Point)
		}
		for _, code := range j.a.codes(j.id) {
			if strings.Contains(strings.ToUpper(r.URL), strings.TrimPrefix(code, "/T/")) {
				t.Errorf("step %d carries the code of a tag", r.Step)
			}
		}
	}
}
