package paper

import (
	"strings"
	"testing"
)

func withDrafts(drafts ...OilDraft) PermitSheet {
	s := cannedPermit()
	s.OilDrafts = drafts
	return s
}

func wordsOf(t *testing.T, s PermitSheet) string {
	t.Helper()
	return strings.Join(strings.Fields(textLayer(t, printed(t, WritePermit, s))), " ")
}

func TestOilDraftIsPrintedWholeUnderItsCaution(t *testing.T) {
	lines := []string{"Date: 25-NOV-2026", "Code: C", "11.1 Tank: Sludge tank", "11.2 Capacity: ______ m³",
		"11.3 Retained in it: ______ m³", "11.4 Collected by manual operation: 0.0118 m³ (11.8 L), from Inlet pipe (HFO)"}
	got := wordsOf(t, withDrafts(OilDraft{Tank: "Sludge tank", Lines: lines}, OilDraft{Lines: []string{"Code: ______"}}))
	at := strings.Index(got, oilDraftCaution)
	if total := strings.Index(got, "Drained oil accounted for"); at < 0 || total < 0 || total > at {
		t.Fatalf("the caution stands at %d and the totals at %d, want the totals first and both there", at, total)
	}
	for _, want := range append(lines, "Tank: nobody wrote where it went") {
		next := strings.Index(got[at:], want)
		if next < 0 {
			t.Fatalf("the paper does not say %q after what comes before it", want)
		}
		at += next
	}
}

func TestPermitWithoutDraftsSaysNothingOfTheBook(t *testing.T) {
	if got := wordsOf(t, cannedPermit()); strings.Contains(got, "Oil Record Book") {
		t.Error("a permit without drafts speaks of the Oil Record Book")
	}
}

func TestLongAndEmptyDraftsBreakNothing(t *testing.T) {
	long := OilDraft{Tank: strings.Repeat("W", 300), Lines: []string{strings.Repeat("oil ", 800), "",
		strings.Repeat("W", 900)}}
	got := wordsOf(t, withDrafts(long, OilDraft{}, long))
	if n := strings.Count(got, "oil oil oil"); n == 0 || !strings.Contains(got, "No draft.") {
		t.Errorf("long drafts are not printed (%d), or an empty one says nothing", n)
	}
}
