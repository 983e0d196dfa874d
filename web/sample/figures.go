package sample

import (
	"time"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/lookback"
	"stillwatch/permits/register"
	"stillwatch/web/screens"
)

// pointsOf returns the points of a canned permit.
func (s *Ship) pointsOf(id permits.PermitID) []isolation.NodeID {
	var out []isolation.NodeID
	for _, l := range s.Permits[id].Locks() {
		out = append(out, l.Step.Point)
	}
	return out
}

// figures is a made-up year of the ship, counted as a real one.
func (s *Ship) figures(b screens.Frame) screens.FiguresPage {
	a := lookback.Asked{From: b.Clock.AddDate(-1, 0, 0), To: b.Clock, Zone: time.Local,
		Setting: later(s.Setting(b.Me), 15*24*time.Hour)}
	for n := range 74 { // every fifth day a permit; some never went live
		l := register.Life{ID: permits.PermitID(n + 1), Requested: a.From.AddDate(0, 0, 2+n*5), Locks: 4 + n*7%9}
		if n%11 != 3 {
			l.Live = l.Requested.Add(time.Duration(95+n*37%260) * time.Minute)
		}
		a.Lives = append(a.Lives, l)
	}
	for gate, times := range map[string]int{"fit lock": 23, "check lock": 4, "live": 9, "prove": 14, "authorise": 6} {
		for range times {
			a.Refused = append(a.Refused, permits.Entry{Act: permits.RefusedAct{Gate: gate}})
		}
	}
	a.Passing = []permits.Entry{{At: b.Clock.AddDate(0, 0, -31), Act: permits.RecordPassing{Point: "S1-Q1"}}}
	for _, day := range []int{-62, -48, -33, -16, -3} {
		a.Audits = append(a.Audits, permits.Entry{At: b.Clock.AddDate(0, 0, day), By: "bao", Act: permits.SignAudit{Tags: 9}})
	}
	page := screens.FiguresPage{Frame: b, Figures: a.Figures(), From: a.From.Format(time.DateOnly),
		To: a.To.Format(time.DateOnly), Query: "from=2025-11-25&to=2026-11-25"}
	page.Parts = screens.FigureParts(page.Figures, b.Name)
	return page
}
