package plantfile

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"stillwatch/isolation"
)

func plantOf(t *testing.T, text string) *isolation.Plant {
	t.Helper()
	p, err := Read("test.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// A job is taken over whatever way the two files are written, and nothing else of the plant becomes another.
func TestAJobIsTakenOverAsADraft(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "plants", "tiny.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	tiny := string(text)
	const job = "  - {id: P1-seal, machine: P1, title: Shaft seal, opens: [pump, motor], exposure: open}\n"
	if !strings.Contains(tiny, job) {
		t.Fatal("the tiny plant has another job")
	}
	bearing := "- id: P1-bearing # not often\n  machine: P1\n\n  # the coupling side\n  title: Renew the bearing\n  " +
		"opens: [motor]\n"
	indented := "    " + strings.ReplaceAll(strings.TrimSuffix(bearing, "\n"), "\n", "\n    ") + "\n"
	for _, c := range []struct{ name, own, sister string }{
		{"below one another", tiny, strings.Replace(tiny, job, job+strings.ReplaceAll(indented, "    ", "  ")[0:], 1)},
		{"in braces", tiny, strings.Replace(tiny, job, "  - {id: P1-bearing, machine: P1, title: Renew the bearing, "+
			"opens: [motor]}\n"+job, 1)},
		{"of another indentation", tiny, strings.Replace(tiny, job, indented+"    "+strings.TrimSpace(job)+"\n# the "+
			"end\n", 1)},
		{"into a plant without jobs", strings.Replace(tiny, "jobs:\n"+job, "", 1),
			strings.Replace(tiny, job, "  - {id: P1-bearing, machine: P1, title: Renew the bearing, opens: [motor]}\n", 1)},
		{"into a file whose jobs stand first", "jobs:\n" + job + strings.Replace(tiny, "jobs:\n"+job, "", 1),
			strings.Replace(tiny, job, "  - {id: P1-bearing, machine: P1, title: Renew the bearing, opens: [motor]}\n", 1)},
	} {
		t.Run(c.name, func(t *testing.T) {
			own, sister := plantOf(t, c.own), plantOf(t, c.sister)
			draft, err := TakeJob(own, sister, "P1-bearing")
			if err != nil {
				t.Fatal(err)
			}
			if got := draft.Job("P1-bearing"); got == nil || got.Title != "Renew the bearing" || len(got.Opens) != 1 {
				t.Errorf("the draft has the job %+v", got)
			}
			if len(draft.Jobs) != len(own.Jobs)+1 || len(draft.Nodes) != len(own.Nodes) {
				t.Errorf("the draft has %d jobs and %d nodes", len(draft.Jobs), len(draft.Nodes))
			}
			if _, err := TakeJob(draft, sister, "P1-bearing"); !errors.Is(err, ErrTakeOver) {
				t.Errorf("taken over twice: %v", err)
			}
		})
	}
}

func TestAJobThatNamesWhatIsNotAboardIsNoDraft(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "plants", "tiny.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	own := plantOf(t, string(text))
	sister := plantOf(t, strings.ReplaceAll(strings.ReplaceAll(string(text), "P1-seal", "P1-gland"), "pump,", "casing,"))
	_, err = TakeJob(own, sister, "P1-gland")
	var faults *FileErrors
	if !errors.Is(err, ErrTakeOver) || !errors.As(err, &faults) || !strings.Contains(err.Error(), "casing") {
		t.Errorf("TakeJob() = %v, want that there is no casing aboard", err)
	}
	if _, err := TakeJob(own, sister, "nothing"); !errors.Is(err, ErrTakeOver) {
		t.Errorf("a job that nobody has = %v", err)
	}
}
