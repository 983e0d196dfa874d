package calc

import (
	"bytes"
	"strings"
	"testing"
)

// TestEveryFormulaShowsAnExampleThatWorks: what the help tells people to type gives figures, and it stands in both
// helps.
func TestEveryFormulaShowsAnExampleThatWorks(t *testing.T) {
	if got, want := len(examples), len(formulas()); got != want {
		t.Errorf("%d examples for %d formulas", got, want)
	}
	var all bytes.Buffer
	calcUsage(&all)
	for _, f := range formulas() {
		status, figures, _, errOut := calc(f.name + " " + examples[f.name])
		if status != 0 || len(figures) == 0 {
			t.Errorf("calc %s %s = %d, %v, %s; want figures", f.name, examples[f.name], status, figures, errOut)
		}
		var own bytes.Buffer
		f.usage(&own)
		if line := f.example(); !strings.Contains(all.String(), line) || !strings.Contains(own.String(), line) {
			t.Errorf("the helps of %s lack %q", f.name, line)
		}
		for _, in := range f.takes {
			v := values{number: map[string]float64{}, word: map[string]string{}, pairs: map[string][][2]float64{}}
			if err := v.take(in, f.shown(in)); err != nil {
				t.Errorf("%s: --%s %s = %v, want it understood", f.name, in.name, f.shown(in), err)
			}
		}
	}
}
