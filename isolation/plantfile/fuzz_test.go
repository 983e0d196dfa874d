package plantfile

import (
	"errors"
	"os"
	"path/filepath"
	"testing"
	"unicode/utf8"

	"stillwatch/isolation"
)

// FuzzRead feeds anything to Read: it must not panic, an error must point into the file and be readable text, and what
// it accepts must keep the promises that everything above builds on.
func FuzzRead(f *testing.F) {
	files, _ := filepath.Glob("../../testdata/plants/*.yaml")
	for _, name := range files {
		if text, err := os.ReadFile(name); err == nil {
			f.Add(text)
		}
	}
	for _, tc := range plantFaults {
		f.Add([]byte(faulty(tc.at, tc.add, tc.text)))
	}
	f.Add([]byte(whole))
	f.Fuzz(func(t *testing.T, text []byte) {
		p, err := Read("f", text)
		if err != nil {
			checkFuzzError(t, err)
			return
		}
		checkPromises(t, p)

	})
}

// FuzzReadRules does the same for rules files.
func FuzzReadRules(f *testing.F) {
	f.Add(shippedText)
	for _, tc := range ruleFaults {
		f.Add([]byte(tc.text))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		r, err := ReadRules("f", text)
		if err != nil {
			checkFuzzError(t, err)
			return
		}
		if len(r.Demands) == 0 || !(r.MaxPeriodH > 0) {
			t.Fatalf("ReadRules = %d rules, period %v, want some", len(r.Demands), r.MaxPeriodH)
		}
		for _, d := range r.Demands {
			if d.Because == "" ||
				(d.Demand != isolation.DemandSingle && d.Demand != isolation.DemandDouble && d.Demand != isolation.DemandBlank) {
				t.Fatalf("rule %+v was accepted", d)
			}
		}
	})
}

func checkFuzzError(t *testing.T, err error) {
	t.Helper()
	var es *FileErrors
	if !errors.As(err, &es) || len(es.List) == 0 || len(es.List) > shownErrors {
		t.Fatalf("error is %T (%v), want *FileErrors inside", err, err)
	}
	if !utf8.ValidString(err.Error()) {
		t.Fatalf("error text is not UTF-8: %q", err.Error())
	}
}

// checkPromises holds an accepted plant against what Read says of it.
func checkPromises(t *testing.T, p *isolation.Plant) {
	t.Helper()
	for i := range p.Nodes {
		n := &p.Nodes[i]
		if textFault(n.Name) != "" || textFault(n.Measure) != "" {
			t.Fatalf("node %s has the name %q", n.ID, n.Name)
		}
		if p.Node(n.ID) != n {
			t.Fatalf("Node(%q) is not the node of that id", n.ID)
		}
		if n.Kind.IsPoint() && n.Normal != n.Kind.Isolating() && n.Normal != n.Kind.Passing() {
			t.Fatalf("%s %s stands %q", n.Kind, n.ID, n.Normal)
		}
		if n.Kind == isolation.Source && n.Energy.Nature() == 0 {
			t.Fatalf("source %s brings %q", n.ID, n.Energy)
		}
		if !(n.TempC >= -273.15) || !(n.GaugeBar >= -1.02) || !(n.BoreMM >= 0) || !(n.VolumeL >= 0) {
			t.Fatalf("node %+v has a figure that nothing can have", n)
		}
	}
	for _, k := range p.Links {
		if p.Node(k.A) == nil || p.Node(k.B) == nil || k.A == k.B || !(k.BoreMM >= 0) || !(k.LengthM >= 0) {
			t.Fatalf("link %+v was accepted", k)
		}
	}
	for _, m := range p.Machines {
		for _, id := range append(append([]isolation.NodeID(nil), m.Nodes...), m.Controls...) {
			if p.Node(id) == nil {
				t.Fatalf("machine %s names %q", m.ID, id)
			}
		}
		if m.Standby != "" && (p.Machine(m.Standby) == nil || m.Standby == m.ID) {
			t.Fatalf("machine %s has standby %q", m.ID, m.Standby)
		}
	}
	for _, j := range p.Jobs {
		if len(j.Opens) == 0 || (j.Machine != "" && p.Machine(j.Machine) == nil) {
			t.Fatalf("job %+v was accepted", j)
		}
		for _, id := range j.Opens {
			if n := p.Node(id); n == nil || n.Kind == isolation.Source {
				t.Fatalf("job %s opens %q", j.ID, id)
			}
		}
	}
}
