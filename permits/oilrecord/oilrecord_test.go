package oilrecord

import (
	"strings"
	"testing"
	"time"

	"stillwatch/isolation"
	"stillwatch/isolation/drain"
	"stillwatch/permits"
)

// sections are a permit's sections of oil, water and bilge water.
func sections() []permits.DrainState {
	section := func(id, fluid, family string) permits.DrainState {
		return permits.DrainState{Section: isolation.Section{ID: id, Name: "Pipe " + id, Fluid: fluid,
			Basis: &isolation.Basis{Fluid: drain.FluidSpec{Name: fluid, Family: drain.Family(family)}}}}
	}
	return []permits.DrainState{section("in", "HFO", "residual fuel"),
		section("out", "LO", "lubricating oil"),
		section("water", "fresh water", "water"), section("bilge", "bilge water", "water"),
		{Section: isolation.Section{ID: "bare", Name: "Pipe bare", Fluid: "water"}}}
}

func recorded(section, into string, out, in float64, at time.Time) permits.Entry {
	return permits.Entry{At: at, Permit: 7, Kind: permits.KindRecordDrain, Act: permits.RecordDrain{Section: section,
		Into:    into,
		Reading: isolation.DrainReading{OutL: out, HoldInL: in}}}
}

func drafts(entries []permits.Entry, zone *time.Location) []Draft {
	return Drafts(Totals(7, sections(), entries), zone)
}

var noon = time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)

// TestTotalsAddWhatEachRecordHasMore: a record says what came out in all.
func TestTotalsAddWhatEachRecordHasMore(t *testing.T) {
	entries := []permits.Entry{
		recorded("in", "Sludge tank", 5, 0.4, noon),
		recorded("out", "sludge  TANK", 3, 0, noon),
		recorded("in", "drum", 7.4, 0, noon),
		recorded("in", "Sludge tank", 8.4, 0, noon.Add(time.Hour)),
		recorded("water", "Sludge tank", 0, 0, noon),
		{At: noon, Permit: 8, Kind: permits.KindRecordDrain, Act: permits.RecordDrain{Section: "in", Into: "Sludge tank",
			Reading: isolation.DrainReading{OutL: 99}}},
	}
	got := Totals(7, sections(), entries)
	want := []struct {
		tank, fluid string
		litres      float64
	}{{"Sludge tank", "HFO", 6.4}, {"sludge TANK", "LO", 3}, {"drum", "HFO", 2}}
	if len(got) != len(want) {
		t.Fatalf("Totals = %d lines, want %d", len(got), len(want))
	}
	for i, w := range want {
		if g := got[i]; g.Tank != w.tank || g.Fluid != w.fluid || g.Litres != w.litres {
			t.Errorf("total %d = %s of %s, %g L, want %v", i, g.Tank, g.Fluid, g.Litres, w)
		}
	}
}

func TestDraftsFillsInOnlyWhatTheRegisterKnows(t *testing.T) {
	got := drafts([]permits.Entry{recorded("in", "Sludge tank", 12.4, 0, noon),
		recorded("out", "Sludge tank", 3, 0.6, noon)}, time.FixedZone("", 13*3600))
	if len(got) != 1 || got[0].Code != "C" {
		t.Fatalf("Drafts = %+v, want one draft under code C", got)
	}
	want := `Draft for the Oil Record Book, offered and not written: the officer in charge checks every figure and writes the book.
Date: 02-MAR-2026
Code: C
11.1 Tank: Sludge tank (as the certificate's supplement names it: ______)
11.2 Capacity: ______ m³
11.3 Retained in it: ______ m³
11.4 Collected by manual operation: 0.0160 m³ (16.0 L), from Pipe in (HFO); Pipe out (LO)
Officer's signature: ______  Master's, under the page: ______
Source: MARPOL Annex I, Oil Record Book Part I, code C, items 11.1 to 11.4 (second hand: check against the book aboard)`
	if s := strings.Join(got[0].Lines, "\n"); s != want {
		t.Errorf("draft =\n%s\nwant\n%s", s, want)
	}
}

func TestCodeStaysOpenUnlessOilWentToATankForResidues(t *testing.T) {
	for _, tc := range []struct {
		section, into, code, says string
	}{
		{"in", "Sludge tank", "C", "11.4"},
		{"in", "Oil residue tank 2", "C", "11.4"},
		{"in", "waste oil tank", "C", "11.4"},
		{"in", "drum", "", "other codes apply"},
		{"in", "3 drums on deck 2", "", "other codes apply"},
		{"in", "Bilge well aft", "", "other codes apply"},
		{"in", "sludge tray", "", "other codes apply"},
		{"in", "Drain tank", "", "if that is a tank for oil residues"},
		{"in", "", "", "nobody wrote where it went"},
		{"bilge", "Sludge tank", "", "does not know whether all of it is oil"},
		{"bare", "Sludge tank", "", "does not know whether all of it is oil"},
	} {
		got := drafts([]permits.Entry{recorded(tc.section, tc.into, 2, 0, noon)}, time.UTC)
		if len(got) != 1 {
			t.Errorf("%s into %q: %d drafts, want one", tc.section, tc.into, len(got))
			continue
		}
		text := strings.Join(got[0].Lines, "\n")
		if got[0].Code != tc.code || !strings.Contains(text, tc.says) {
			t.Errorf("%s into %q: code %q, want %q and %q in\n%s", tc.section, tc.into, got[0].Code, tc.code, tc.says, text)
		}
		if tc.code == "" && strings.Contains(text, "Code: C\n") {
			t.Errorf("%s into %q: the code is filled in", tc.section, tc.into)
		}
	}
}

func TestWaterGivesNoDraft(t *testing.T) {
	if got := drafts([]permits.Entry{recorded("water", "Sludge tank", 40, 0, noon)}, time.UTC); len(got) != 0 {
		t.Errorf("fresh water = %v, want no draft", got)
	}
	if got := Drafts(nil, time.UTC); len(got) != 0 {
		t.Errorf("no records = %v, want no draft", got)
	}
}

func TestOilIsNotCountedTwice(t *testing.T) {
	text := func(e ...permits.Entry) string {
		return strings.Join(drafts(e, time.UTC)[0].Lines, "\n")
	}
	if twice := text(recorded("in", "Sludge tank", 5, 0, noon),
		recorded("in", "Sludge tank", 12, 0, noon.Add(time.Hour))); !strings.Contains(twice, "0.0120 m³ (12.0 L)") {
		t.Errorf("5 L and then 12 L in all =\n%s\nwant 12 L", twice)
	}
	if corrected := text(recorded("in", "Sludge tank", 50, 0, noon),
		recorded("in", "Sludge tank", 5, 0, noon.Add(time.Hour))); !strings.Contains(corrected, "0.0050 m³ (5.0 L)") {
		t.Errorf("a slip of 50 L put right to 5 L =\n%s\nwant 5 L", corrected)
	}
	if days := text(recorded("in", "Sludge tank", 5, 0, noon),
		recorded("out", "Sludge tank", 1, 0, noon.AddDate(0, 0, 1))); !strings.Contains(days,
		"02-MAR-2026 (recorded from 01-MAR-2026 on") {
		t.Errorf("two days =\n%s\nwant both", days)
	}
}
