package isolation

import "testing"

func TestLitresHaveOneDecimalBelowAHundred(t *testing.T) {
	for l, want := range map[float64]string{0: "0 L", 0.04: "0 L", 0.06: "0.1 L", 8.63: "8.6 L", 99.94: "99.9 L",
		99.96: "100 L", 142.9: "143 L"} {
		if got := Litres(l); got != want {
			t.Errorf("Litres(%v) = %q, want %q", l, got, want)
		}
	}
}

func TestNamesAreJoinedAsInASentence(t *testing.T) {
	for _, tc := range []struct {
		names []string
		want  string
	}{{nil, ""}, {[]string{"A"}, "A"}, {[]string{"A", "B"}, "A and B"}, {[]string{"A", "B", "C"}, "A, B and C"}} {
		if got := AndList(tc.names); got != tc.want {
			t.Errorf("AndList(%q) = %q, want %q", tc.names, got, tc.want)
		}
	}
}
