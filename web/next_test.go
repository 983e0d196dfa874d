package web

import (
	"strings"
	"testing"
	"time"

	"stillwatch/permits"
	"stillwatch/web/sample"
	"stillwatch/web/screens"
)

// TestEveryOpenPermitIsOnTheBoard walks the canned permits and wants each that is not over to wait for somebody, and
// none that is over.
func TestEveryOpenPermitIsOnTheBoard(t *testing.T) {
	s, err := sample.NewShip()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := sample.CannedStages(s); err != nil {
		t.Fatal(err)
	}
	if s.Fault != nil {
		t.Fatal(s.Fault)
	}
	seen := map[permits.State]bool{}
	for _, p := range s.Permits {
		seen[p.State()] = true
		list := permits.WhatNext(s.Setting(sample.CannedCrew[2]), p)
		if got := len(list) > 0; got == p.State().IsOver() {
			t.Errorf("permit %d is %s and waits for %d things", p.ID(), p.State(), len(list))
		}
		for _, n := range list {
			if n.Who == "" || len(n.Roles) == 0 || !strings.HasSuffix(n.What, ".") {
				t.Errorf("permit %d, %s: next = %+v, want who, roles and a sentence", p.ID(), p.State(), n)
			}
		}
	}
	for _, st := range []permits.State{permits.Draft, permits.Authorised, permits.Isolating, permits.Proving, permits.Live,
		permits.Restoring, permits.Closed} {
		if !seen[st] {
			t.Errorf("no canned permit is %s", st)
		}
	}
	board := screens.BoardOf(s.Setting(sample.CannedCrew[2]), s.Open())
	lines := map[permits.PermitID]bool{}
	for _, g := range board.Groups {
		for _, l := range g.Lines {
			if lines[l.ID] {
				t.Errorf("permit %d stands on the board twice", l.ID)
			}
			lines[l.ID] = true
		}
	}
	if len(lines) != len(s.Open()) || board.Open != len(lines) {
		t.Errorf("the board shows %d permits and counts %d, want %d", len(lines), board.Open, len(s.Open()))
	}
}

func TestOverduePermitIsTheFirstThingOnTheBoard(t *testing.T) {
	j := begin(t)
	j.oow.must(j.oow.post(j.path+"/authorise", "hours", "2", "signer", "oow", "pin", testPINs["oow"]), j.path)
	if body := j.oow.get("/").body; strings.Contains(body, "Overdue: ") {
		t.Error("a running authorisation counts as overdue")
	}
	j.a.wait(3 * time.Hour)
	body := j.oow.get("/").body
	if !strings.Contains(body, "Overdue: 1 authorisation has run out") ||
		!strings.Contains(body, "Extend the authorisation, or cancel the permit") {
		t.Error("the board does not tell of the authorisation that has run out")
	}
	tag := j.a.codes(1)[1]
	if got := j.tech.get(tag).body; !strings.Contains(got, "The authorisation ran out at") {
		t.Error("the tag's page does not say that the authorisation has run out")
	}
	l, _ := j.a.permit(1).Lock(1)
	j.tech.refused(j.tech.post(tag+"/fit", j.fitFields(l)...), 422, "ran out at")
	j.oow.must(j.oow.post(j.path+"/extend", "hours", "4", "pin", testPINs["oow"]), j.path)
	j.tech.must(j.tech.post(tag+"/fit", j.fitFields(l)...), tag)
}

func TestSpansAreInWords(t *testing.T) {
	for s, want := range map[float64]string{0: "0 s", 89: "89 s", 90: "2 min", 3599: "60 min", 3600: "1 h",
		3900: "1 h 5 min", 86400: "1 d 0 h", -1: "not known"} {
		if got := screens.SpanWords(s); got != want {
			t.Errorf("spanWords(%g) = %q, want %q", s, got, want)
		}
	}
	for v, want := range map[float64]string{12: "12", 12.5: "12.5", -0.0001: "0", -3.25: "−3.25", 1234567: "1234567"} {
		if got := screens.Figure(v); got != want {
			t.Errorf("figure(%g) = %q, want %q", v, got, want)
		}
	}
}
