package plantfile

import "testing"

func TestNearestOffersOnlyWhatIsClose(t *testing.T) {
	known := []string{"valve", "vessel", "blank", "check-valve"}
	for word, want := range map[string]string{
		"vavle": "valve", "Valve": "valve", "vesel": "vessel", "chekc-valv": "check-valve", "phlogiston": "", "": "",
		"xy": "",
	} {
		if got := nearest(word, known); got != want {
			t.Errorf("nearest(%q) = %q, want %q", word, got, want)
		}
	}
}

func TestLetterDistance(t *testing.T) {
	for _, tc := range []struct {
		a, b string
		want int
	}{{"", "", 0}, {"a", "", 1}, {"valve", "vavle", 1}, {"fuel", "feul", 1}, {"kitten", "sitting", 3},
		{"größe", "grösse", 2}, {"a", "zzzzzz", 5}} {
		if got := letterDistance(tc.a, tc.b, 5); got != tc.want {
			t.Errorf("letterDistance(%q, %q) = %d, want %d", tc.a, tc.b, got, tc.want)
		}
		if got := letterDistance(tc.b, tc.a, 5); got != tc.want {
			t.Errorf("letterDistance(%q, %q) = %d, want %d", tc.b, tc.a, got, tc.want)
		}
	}
}
