package permits

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"stillwatch/isolation"
)

// TestCodesAreFilledInAndTakenOutAgain fills codes into every act that issues some: they must be found there again, and
// the act must compare as it was sent whatever was drawn, but not with another one.
func TestCodesAreFilledInAndTakenOutAgain(t *testing.T) {
	r := newRig(t)
	r.must(0, tomas, Request{Plan: r.plan(), Work: "Shaft seal"})
	p := r.permits[1]
	for _, tc := range []struct {
		sent, other Issuing
		codes       int
	}{
		{Authorise{Hours: 24}, Authorise{Hours: 12}, len(p.Locks())},
		{HangLabels{Labels: map[isolation.NodeID]TagDigest{"V2": "", "V1": ""}},
			HangLabels{Labels: map[isolation.NodeID]TagDigest{"V1": ""}}, 2},
	} {
		codes := tc.sent.Codes(p)
		if len(codes) != tc.codes {
			t.Fatalf("%s issues %d codes, want %d", tc.sent.Kind(), len(codes), tc.codes)
		}
		for i := range codes {
			codes[i].Digest = TagDigest("digest " + itoa(i))
		}
		drawn := tc.sent.WithCodes(codes)
		if diff := cmp.Diff(codes, drawn.(Issuing).Codes(p)); diff != "" {
			t.Errorf("%s holds other codes than were filled in (-in +held):\n%s", tc.sent.Kind(), diff)
		}
		if diff := cmp.Diff(AsSent(tc.sent), AsSent(drawn), cmpopts.EquateEmpty()); diff != "" {
			t.Errorf("%s compares otherwise once its codes are drawn (-sent +drawn):\n%s", tc.sent.Kind(), diff)
		}
		if cmp.Equal(AsSent(tc.other), AsSent(drawn)) {
			t.Errorf("another %s passes for the one that was sent", tc.sent.Kind())
		}
	}
	if got := AsSent(SignOn{}); got != Act(SignOn{}) {
		t.Errorf("AsSent changes an act that issues nothing: %v", got)
	}
}
