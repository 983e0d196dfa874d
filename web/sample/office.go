package sample

import (
	"time"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
	"stillwatch/permits/lookback"
	"stillwatch/permits/shore"
	"stillwatch/web/office/desk"
)

// officePage is one screen of the office with canned data.
type officePage struct {
	name, screen string
	make         func(f desk.Frame) any
}

// officeNow is when the canned pages of the office were made.
var officeNow = time.Date(2026, 11, 25, 7, 40, 0, 0, time.UTC)

func cannedOffice(palette, title, tab string) desk.Frame {
	return desk.Frame{Title: title, Tab: tab, Path: "/", Me: "Port engineer", Palette: palette, Clock: officeNow,
		Version: "sample"}
}

// before returns a moment so long ago.
func before(d time.Duration) int64 { return officeNow.Add(-d).UnixMicro() }

const sisterPlant = "Product tanker, engine room"

func cannedFleet() []shore.FleetLine {
	const day = 24 * time.Hour
	return []shore.FleetLine{
		{ID: 1, Name: "West Example", Plant: sisterPlant, Size: 91_204, Heard: before(3 * time.Minute),
			Last: before(20 * time.Minute),
			Open: 4, Live: 2, LocksOn: 31, SignedOn: 5, Tags: 31, Plans: 14, Passing: 1},
		{ID: 2, Name: "South Example", Plant: sisterPlant, Size: 88_410, Heard: before(2 * time.Hour),
			Last: before(3 * time.Hour), Open: 2,
			Live: 1, Overdue: 1, LocksOn: 17, SignedOn: 2, Tags: 17, TagsOverdue: 3, Plans: 12, PlansOverdue: 1, Passing: 4},
		{ID: 3, Name: "East Example", Plant: "Bulk carrier, engine room", Size: 40_113, Heard: before(9 * day),
			Last: before(9 * day),
			Open: 1, LocksOn: 9, Tags: 9, TagsOverdue: 9, Plans: 8},
		{ID: 4, Name: "North Example", Plant: sisterPlant, Size: 70_002, Heard: before(30 * time.Minute),
			Last: before(26 * time.Hour),
			Open: 3, Live: 1, LocksOn: 12, SignedOn: 3, Tags: 12, Plans: 11, Alarms: 1},
		{ID: 5, Name: "New Example", Heard: before(time.Hour)},
	}
}

func cannedAlarms() []shore.Alarm {
	return []shore.Alarm{{Ship: 4, At: before(30 * time.Minute), Words: "The register of North Example is older than it " +
		"was: it has " +
		"69850 entries, and the shore has 70002 of it. An older copy was put back aboard."}}
}

func cannedAsked() desk.Asked {
	return desk.Asked{Ask: shore.Asked{From: officeNow.AddDate(0, 0, -90), To: officeNow, Plant: sisterPlant},
		Plants: []shore.Sisters{{Words: "Bulk carrier, engine room", Ships: 1}, {Words: sisterPlant, Ships: 3}},
		Ships:  cannedFleet()}
}

// officePages is every screen of the office in the states that matter.
func officePages() []officePage {
	return []officePage{
		{"office-fleet", "fleet_show", func(f desk.Frame) any { return desk.NewFleetPage(f, cannedFleet(), cannedAlarms()) }},
		{"office-fleet-empty", "fleet_show", func(f desk.Frame) any { return desk.NewFleetPage(f, nil, nil) }},
		{"office-ship", "ship_show", func(f desk.Frame) any { return desk.NewShipPage(f, cannedBoard()) }},
		{"office-passing", "passing_list", func(f desk.Frame) any {
			return desk.NewPassingPage(f, cannedAsked(), []shore.PassingGroup{
				{Kind: "valve", Place: "deck 2, starboard", Found: 11, Open: 3, Ships: 3},
				{Kind: "valve", Place: "deck 1, port", Found: 6, Open: 1, Ships: 2},
				{Kind: "automatic valve", Place: "deck 2, port", Found: 2, Open: 1, Ships: 1}},
				[]shore.PassingLine{{Name: "South Example", PassingRow: cannedPassing()[0]}})
		}},
		{"office-figures", "figures_show", func(f desk.Frame) any {
			return desk.NewFiguresPage(f, cannedAsked(), cannedFigures(), []shore.Late{{Name: "South Example", Signed: 7,
				Late: 2}})
		}},
		{"office-sisters", "sisters_show", func(f desk.Frame) any {
			p := desk.SistersPage{Frame: f, Ships: cannedFleet(), Of: 1, With: 2}
			p.Compare(cannedCompared())
			return p
		}},
		{"office-sign-in", "sign_in", func(f desk.Frame) any {
			f.Me = ""
			return desk.SignInPage{Frame: f, Name: "Port engineer", Why: "Name and password do not go together."}
		}},
		{"office-notice", "notice", func(f desk.Frame) any {
			return desk.NoticePage{Frame: f, Heading: "Not for you", Words: "You may see one ship.",
				Opens: "Whoever looks after the server ashore can change that."}
		}},
	}
}

func cannedPassing() []shore.PassingPoint {
	return []shore.PassingPoint{{Ship: 2, N: 80_112, At: before(41 * 24 * time.Hour), Point: "S1-V4", Kind: "valve",
		Place: "deck 2, starboard", Words: "drips when shut, a drop a second"}}
}

func cannedBoard() shore.Board {
	return shore.Board{FleetLine: cannedFleet()[1], Passing: cannedPassing(),
		Open: []shore.PermitLine{
			{ID: 1204, State: "live", MachineName: "Fuel separator 1", Title: "Bowl overhaul", Work: "Renew the bowl seals",
				RequestedAt: before(30 * time.Hour), Until: before(2 * time.Hour), Locks: 12, LocksOn: 12},
			{ID: 1207, State: "isolating", MachineName: "Sea-water pump 1", Title: "Shaft seal", Work: "Renew the shaft seal",
				RequestedAt: before(5 * time.Hour), Until: before(-19 * time.Hour), Locks: 8, LocksOn: 5}},
		Keys: []shore.Key{{Key: "stillwatch-4f2c1a9e+4f2c1a9e+AXZzYW1wbGUtb25seS1uby1rZXktYXQtYWxsLTAxMjM0NQ==",
			At: before(400 * 24 * time.Hour)}}}
}

func cannedFigures() lookback.Figures {
	h := func(n float64) time.Duration { return time.Duration(n * float64(time.Hour)) }
	month := func(m time.Month, n, live int, half float64) lookback.Month {
		return lookback.Month{Begins: time.Date(2026, m, 1, 0, 0, 0, 0, time.UTC), Requested: n,
			ToLive: lookback.Spread{N: live, Half: h(half)}}
	}
	return lookback.Figures{Requested: 214, ToLive: lookback.Spread{N: 197, Half: h(3.1), Nine: h(7.4), Most: h(31)},
		Months:   []lookback.Month{month(9, 81, 76, 3.4), month(10, 74, 69, 3.0), month(11, 59, 52, 2.8)},
		Refusals: []lookback.Count{{Words: "fit lock", N: 41}, {Words: "prove", N: 18}, {Words: "authorise", N: 7}},
		Refused:  66}
}

func cannedCompared() shore.Compared {
	return shore.Compared{Of: "West Example", With: "South Example",
		Differences: []plantfile.Difference{{Of: "node", ID: "S1-V9", Fate: plantfile.Added},
			{Of: "node", ID: "S1-V4", Fate: plantfile.Changed, Changes: []plantfile.Change{{Key: "lockable", Before: "true",
				After: "false"}}}, {Of: "job", ID: "S1-heater", Fate: plantfile.Added}},
		Jobs:  []isolation.Job{{ID: "S1-heater", Title: "Open the fuel heater"}},
		Rules: []string{"+ max_period_h: 12", "− max_period_h: 24"}}
}
