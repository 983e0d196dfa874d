package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"stillwatch/cmd/stillwatch/demo"
	"stillwatch/isolation"
)

// TestDemoGoesAsItShouldAndItsLogVerifies runs each story of the demo as a visitor would, and then looks at what it
// left.
func TestDemoGoesAsItShouldAndItsLogVerifies(t *testing.T) {
	for story, shown := range map[string][]string{
		"separator": {"scans tag 2 before tag 1 hangs", "check the lock that she fitted herself",
			"while the bowl still turns", "before anybody is told", "wants to close with", "closes permit 1"},
		"watches": {"wants to sign on between the two watches", "before the officer's sanction", "ends the test",
			"before anybody is told", "wants to close with", "closes permit 1", "countersigns: entry and hot work",
			"unreadable", "sign the audit while one tag cannot be read", "signs the audit: 8 tags"},
	} {
		t.Run(story, func(t *testing.T) {
			t.Parallel()
			demoGoes(t, story, map[string]int{"separator": 5, "watches": 6}[story], shown)
		})
	}
}

func demoGoes(t *testing.T, story string, refused int, shown []string) {
	dir := filepath.Join(t.TempDir(), "demo")
	args := []string{"demo", "--once", "--story", story, "--listen", "127.0.0.1:0", "--data", dir}
	var out, errOut bytes.Buffer
	if got := run(args, &out, &errOut); got != 0 {
		t.Fatalf("demo --once = %d, want 0:\n%s%s", got, out.String(), errOut.String())
	}
	if got := strings.Count(out.String(), "REFUSED: "); got != refused {
		t.Errorf("the demo shows %d refusals, want %d:\n%s", got, refused, out.String())
	}
	for _, words := range shown {
		if !strings.Contains(out.String(), words) {
			t.Errorf("the demo does not show %q", words)
		}
	}
	for _, name := range []string{"permit-1.pdf", "plan-1.pdf", "tags-2.pdf", "labels.pdf", "handover.pdf"} {
		paper, err := os.ReadFile(filepath.Join(dir, "papers", name))
		if err != nil || !demo.IsPDF(paper) {
			t.Errorf("%s: %v, %d bytes; want a paper", name, err, len(paper))
		}
	}
	if errOut.Len() > 0 {
		t.Errorf("the demo complains: %s", errOut.String())
	}
	out.Reset()
	if got := run([]string{"log", "verify", "--data", dir}, &out, &errOut); got != 0 ||
		!strings.Contains(out.String(), "2 permits") {
		t.Errorf("log verify = %d, want 0 and 2 permits: %s%s", got, out.String(), errOut.String())
	}
	if got := run(args, &out, &errOut); got != 1 || !strings.Contains(errOut.String(), "not empty") {
		t.Errorf("demo into a folder that is not empty = %d, %q; want 1 and to be told", got, errOut.String())
	}
}

// TestStoryThatNobodyKnowsIsRefused asks for one.
func TestStoryThatNobodyKnowsIsRefused(t *testing.T) {
	var out, errOut bytes.Buffer
	if got := run([]string{"demo", "--story", "voyage"}, &out, &errOut); got != 1 ||
		!strings.Contains(errOut.String(), "separator or watches") {
		t.Errorf("demo --story voyage = %d, %q; want 1 and the stories named", got, errOut.String())
	}
}

// TestEveryDemoJobIsPlannedAtTheCommandLine asks for each job's plan as JSON. That no plan with fewer points exists is
// the bound; that the demands are met is each source's own line.
func TestEveryDemoJobIsPlannedAtTheCommandLine(t *testing.T) {
	for _, j := range readDemoPlant(t).Jobs {
		var out, errOut bytes.Buffer
		if got := run([]string{"plan", "--plant", "demo/plant.yaml", "--job", j.ID, "--json"}, &out, &errOut); got != 0 {
			t.Errorf("plan --job %s = %d, want 0: %s", j.ID, got, errOut.String())
			continue
		}
		var p struct {
			Job        string `json:"job"`
			Feasible   bool   `json:"feasible"`
			Locks      int    `json:"locks"`
			Cost       int    `json:"cost"`
			LowerBound int    `json:"lower_bound"`
			Steps      []struct {
				N    int  `json:"n"`
				Lock bool `json:"lock"`
			} `json:"steps"`
			Sources []struct {
				ID  isolation.NodeID `json:"id"`
				Met bool             `json:"met"`
			} `json:"sources"`
			Uncut []string `json:"uncut"`
		}
		if err := json.Unmarshal(out.Bytes(), &p); err != nil {
			t.Errorf("plan --job %s: %v", j.ID, err)
			continue
		}
		if p.Job != j.ID || !p.Feasible || p.Cost != p.LowerBound || p.Cost == 0 || len(p.Uncut) > 0 || len(p.Sources) == 0 {
			t.Errorf("plan --job %s = feasible %v, cost %d, lower bound %d, %d sources, uncut %v; want feasible at its bound",
				j.ID, p.Feasible, p.Cost, p.LowerBound, len(p.Sources), p.Uncut)
		}
		locks := 0
		for i, s := range p.Steps {
			if s.N != i+1 {
				t.Errorf("plan --job %s: step %d is numbered %d", j.ID, i+1, s.N)
			}
			if s.Lock {
				locks++
			}
		}
		if locks == 0 || locks < p.Locks {
			t.Errorf("plan --job %s hangs %d locks, want at least the %d that cut", j.ID, locks, p.Locks)
		}
		for _, s := range p.Sources {
			if !s.Met {
				t.Errorf("plan --job %s leaves %s uncut", j.ID, s.ID)
			}
		}
	}
}
