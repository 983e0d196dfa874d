package isolation

import "testing"

// TestPositionsAreNamedAsTheTradeNamesThem: the plant file's "open" means OFF at a breaker and OPEN at a valve, and the
// two positions of a kind never share a word.
func TestPositionsAreNamedAsTheTradeNamesThem(t *testing.T) {
	for _, tc := range []struct {
		kind Kind
		at   Position
		want string
	}{
		{Breaker, Open, "OFF"}, {Disconnector, Closed, "ON"}, {Switch, Open, "OFF"}, {Fuse, Open, "WITHDRAWN"},
		{Valve, Closed, "SHUT"}, {Valve, Open, "OPEN"}, {Opening, Open, "OPEN"}, {Opening, Closed, "SHUT"},
		{AutomaticValve, Closed, "SHUT"},
		{Blank, Fitted, "BLANK IN"}, {Spool, Removed, "SPOOL OUT"}, {Plug, Closed, "PLUG IN"}, {Valve, Fitted, "FITTED"},
		{Valve, "", ""},
	} {
		if got := tc.kind.Word(tc.at); got != tc.want {
			t.Errorf("%s.Word(%q) = %q, want %q", tc.kind, tc.at, got, tc.want)
		}
		if cut, pass := tc.kind.Word(tc.kind.Isolating()), tc.kind.Word(tc.kind.Passing()); cut == pass {
			t.Errorf("%s: both positions are called %q", tc.kind, cut)
		}
	}
}
