package paper

import (
	"bytes"
	"flag"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "write the golden text layers anew; a person reads the difference")

// textLayer is what a reader can select in a PDF, in its layout.
func textLayer(t *testing.T, pdf []byte, options ...string) string {
	t.Helper()
	cmd := exec.Command(need(t, "pdftotext"), append(options, "-", "-")...)
	cmd.Stdin = bytes.NewReader(pdf)
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("pdftotext: %v", err)
	}
	return string(out)
}

// cannedPapers are all papers from canned data.
func cannedPapers(t *testing.T) map[string][]byte {
	t.Helper()
	return map[string][]byte{
		"locktags":    printed(t, WriteLockTags, cannedTags(5)),
		"pointlabels": printed(t, WritePointLabels, cannedLabels(3)),
		"plan":        printed(t, WritePlan, cannedPlan()),
		"planchanged": printed(t, WritePlan, cannedChanged()),
		"noplan":      printed(t, WritePlan, cannedNoPlan()),
		"permit":      printed(t, WritePermit, cannedPermit()),
		"draft": printed(t, WritePermit, PermitSheet{Stamp: cannedStamp(), Number: "2026-015", State: "draft",
			Title: "Nothing filled in"}),
		"underpermit": printed(t, WritePermit, PermitSheet{Stamp: cannedStamp(), Number: "2026-016", State: "live",
			Title: "Separator 1: bowl overhaul", Work: "Renew the cable gland of the motor",
			Under: "the locks of permit 2026-014."}),
		"handover": printed(t, WriteHandover, cannedHandover()),
		"audit":    printed(t, WriteAudit, cannedAudit()),
		"scan":     printed(t, WriteScanSheet, cannedScan()),
		"noaudit": printed(t, WriteAudit, AuditSheet{Stamp: cannedStamp(), Every: 14, Longest: 14, At: at(25, 8, 0),
			Since: at(1, 8, 0)}),
		"report": printed(t, WriteReport, cannedReport()),
		"quiet":  printed(t, WriteHandover, HandoverSheet{Stamp: cannedStamp()}),
	}
}

func TestTextLayersAreAsReadByAPerson(t *testing.T) {
	for name, pdf := range cannedPapers(t) {
		got := textLayer(t, pdf, "-layout")
		file := filepath.Join("testdata", name+".golden")
		if *update {
			if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		// Spacing differs between versions of pdftotext; words and lines don't.
		if diff := cmp.Diff(lines(string(want)), lines(got)); diff != "" {
			t.Errorf("text layer of %s (-want +got):\n%s", name, diff)
		}
	}
}

// lines are the lines of a text with single spaces, without empty ones.
func lines(s string) (kept []string) {
	for _, l := range strings.FieldsFunc(s, func(r rune) bool { return r == '\n' || r == '\f' }) {
		if l = strings.Join(strings.Fields(l), " "); l != "" {
			kept = append(kept, l)
		}
	}
	return kept
}

func TestEveryPageCarriesCautionLogHeadAndNumber(t *testing.T) {
	for name, pdf := range cannedPapers(t) {
		if name == "locktags" || name == "pointlabels" {
			continue // cut apart: see TestEveryTagCarriesItsWords
		}
		pages := strings.Split(strings.TrimSuffix(textLayer(t, pdf), "\f"), "\f")
		for i, page := range pages {
			words := strings.Join(strings.Fields(page), " ")
			for _, want := range []string{Caution, "log 1284 · 9f3c51d2aa07…", pageOf(i+1, len(pages)), "MV Training Ship"} {
				if !strings.Contains(words, want) {
					t.Errorf("page %d of %s does not say %q", i+1, name, want)
				}
			}
		}
	}
}

func TestEveryTagCarriesItsWords(t *testing.T) {
	s := cannedTags(9)
	words := strings.Join(strings.Fields(textLayer(t, printed(t, WriteLockTags, s))), " ")
	for text, want := range map[string]int{"DANGER": 9, "DO NOT OPERATE": 9, Caution: 9, "log 1284 · 9f3c51d2aa07…": 9,
		"HELD OFF": 1, "HELD OPEN": 3, "HELD SHUT": 5, "drain or vent that proves the isolation": 3,
		"NO LOCK POSSIBLE. Also done: handwheel taken off": 2} {
		if got := strings.Count(words, text); got != want {
			t.Errorf("tags say %q %d times, want %d", text, got, want)
		}
	}
	for _, tag := range s.Tags {
		if code := groupCode(tag.Code); !strings.Contains(words, code) {
			t.Errorf("tags do not show the code %q", code)
		}
	}
}

func TestPlanThatCannotBeMadeShowsNoOrderOfWork(t *testing.T) {
	text := strings.Join(strings.Fields(textLayer(t, printed(t, WritePlan, cannedNoPlan()))), " ")
	for _, banned := range []string{"Isolate, lock and tag", "lower bound", "Locks and tags", "Stored energy"} {
		if strings.Contains(text, banned) {
			t.Errorf("sheet without a plan says %q, want nothing of a plan", banned)
		}
	}
	for _, want := range []string{"NO PLAN", "settling-tank → S1-check → S1-inlet-pipe", "NOT MET"} {
		if !strings.Contains(text, want) {
			t.Errorf("sheet without a plan does not say %q", want)
		}
	}
}

func TestSignedActsAreInTheOrderOfTheLog(t *testing.T) {
	text := textLayer(t, printed(t, WritePermit, cannedPermit()), "-layout")
	_, acts, _ := strings.Cut(text, "Signed acts")
	last := -1
	for _, entry := range []string{"1201", "1236", "1240"} {
		if at := strings.Index(acts, entry); at <= last {
			t.Errorf("entry %s stands at %d, want after %d", entry, at, last)
		} else {
			last = at
		}
	}
}

// TestPermitHasTheFormsPartsInTheirOrder reads the filed permit from top to end: title, number, place, plant, work,
// hazards, precautions, protective equipment, authorisation, acceptance, extension, hand-back, cancellation. (HSG250,
// second hand.)
func TestPermitHasTheFormsPartsInTheirOrder(t *testing.T) {
	s := cannedPermit()
	text, last := strings.Join(strings.Fields(textLayer(t, printed(t, WritePermit, s), "-layout")), " "), -1
	for _, part := range []string{s.Title, "Number " + s.Number, "Place deck 4", "Plant " + s.Plant, "Work " + s.Work[:20],
		"Hazards", "Precautions", "Protective equipment", "Authorisation:", "Acceptance:", "Extension", "Hand-back:",
		"Cancellation"} {
		at := strings.Index(text, part)
		if at <= last {
			t.Errorf("%q stands at %d, want it after what comes before it, at %d", part, at, last)
		}
		last = at
	}
}

func TestSameInputGivesSameBytes(t *testing.T) {
	first, again := cannedPapers(t), cannedPapers(t)
	for name := range first {
		if !bytes.Equal(first[name], again[name]) {
			t.Errorf("%s printed twice differs, want the same bytes", name)
		}
	}
	later := cannedPlan()
	later.PrintedAt = later.PrintedAt.AddDate(0, 0, 1)
	if !bytes.Contains(first["plan"], []byte("D:20261125054000")) ||
		bytes.Equal(first["plan"], printed(t, WritePlan, later)) {
		t.Error("creation date does not follow the stamp")
	}
}

func TestPagesAreAsManyAsThePiecesNeed(t *testing.T) {
	for _, tc := range []struct {
		tags, labels, wantTags, wantLabels int
	}{{1, 1, 1, 1}, {4, 14, 1, 1}, {5, 15, 2, 2}, {200, 200, 50, 15}} {
		if got := bytes.Count(printed(t, WriteLockTags, cannedTags(tc.tags)), []byte("/Type /Page\n")); got != tc.wantTags {
			t.Errorf("pages of %d tags = %d, want %d", tc.tags, got, tc.wantTags)
		}
		if got := bytes.Count(printed(t, WritePointLabels, cannedLabels(tc.labels)),
			[]byte("/Type /Page\n")); got != tc.wantLabels {
			t.Errorf("pages of %d labels = %d, want %d", tc.labels, got, tc.wantLabels)
		}
	}
}

func BenchmarkTwoHundredTags(b *testing.B) {
	s := cannedTags(200)
	size := &counter{}
	for b.Loop() {
		size.n = 0
		if err := WriteLockTags(size, s); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(size.n)/1024, "KiB")
}

// counter counts what is written.
type counter struct{ n int }

func (c *counter) Write(p []byte) (int, error) { c.n += len(p); return len(p), nil }

var _ io.Writer = (*counter)(nil)
