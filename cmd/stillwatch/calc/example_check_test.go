package calc

import (
	"strings"
	"testing"
)

// TestEveryFormulaShowsAnExampleThatWorks: what the help tells people to type gives figures.
func TestEveryFormulaShowsAnExampleThatWorks(t *testing.T) {
	if got, want := len(examples), len(formulas()); got != want {
		t.Errorf("%d examples for %d formulas", got, want)
	}
	for _, f := range formulas() {
		status, figures, _, errOut := calc(f.name + " " + examples[f.name])
		if status != 0 || len(figures) == 0 {
			t.Errorf("calc %s %s = %d, %v, %s; want figures", f.name, examples[f.name], status, figures, errOut)
		}
		if _, _, own, _ := calc(f.name + " --help"); !strings.Contains(own, f.example()) {
			t.Errorf("the help of %s lacks %q", f.name, f.example())
		}
		for _, in := range f.takes {
			v := values{number: map[string]float64{}, word: map[string]string{}, pairs: map[string][][2]float64{}}
			if err := v.take(in, f.shown(in)); err != nil {
				t.Errorf("%s: --%s %s = %v, want it understood", f.name, in.name, f.shown(in), err)
			}
		}
	}
}
