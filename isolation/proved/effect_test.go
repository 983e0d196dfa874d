package proved_test

import (
	"os"
	"strings"
	"testing"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proved"
)

func TestEffectsSayWhatBecomesOfAPlan(t *testing.T) {
	text, err := os.ReadFile("../../testdata/plants/tiny.yaml")
	if err != nil {
		t.Fatal(err)
	}
	read := func(pairs ...string) *isolation.Plant {
		p, err := plantfile.Read("tiny.yaml", []byte(strings.NewReplacer(pairs...).Replace(string(text))))
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	for _, tc := range []struct {
		name          string
		before, after *isolation.Plant
		want          string
		new, gone     int
	}{
		{"another name", read(), read("Pump suction", "Intake"), "same", 0, 0},
		{"the suction valve gone", read(), read("- {id: V1, kind: valve", "- {id: V1, kind: check valve",
			"lockable: true, place: {deck: 1, frame: 11", "place: {deck: 1, frame: 11"), "fault", 0, 5},
		{"the first plant", nil, read(), "new", 5, 0},
	} {
		got := proved.Effects(tc.before, tc.after, plantfile.ShippedRules(), isolation.Circumstances{}, 10)
		if len(got) != 1 {
			t.Fatalf("%s: %d jobs, want 1", tc.name, len(got))
		}
		e := got[0]
		if e.IsSame() != (tc.want == "same") || (e.Fault != "") != (tc.want == "fault") || len(e.New) != tc.new ||
			len(e.Gone) != tc.gone {
			t.Errorf("%s: %+v, want %s with %d new and %d gone", tc.name, e, tc.want, tc.new, tc.gone)
		}
	}
}
