package paper

import (
	"fmt"
	"time"
)

var ship = time.FixedZone("", 2*3600)

func at(day, hour, minute int) time.Time { return time.Date(2026, 11, day, hour, minute, 0, 0, ship) }

func cannedStamp() Stamp {
	return Stamp{Ship: "MV Training Ship", PrintedAt: at(25, 7, 40), PrintedBy: "Third engineer",
		Entry: 1284, Hash: "9f3c51d2aa07be4410c7d95e8f6b2a3390e1f7c4d8b6a5e2317f0c9d4b8e6a21"}
}

// cannedTags are n tags: every third a drain that proves, every fifth without a lock.
func cannedTags(n int) LockTagSheet {
	s := LockTagSheet{Stamp: cannedStamp()}
	for i := range n {
		t := LockTag{
			Permit: "2026-014", Title: "Bowl overhaul", Machine: "Separator 1", Step: i + 1, Of: n,
			Point: fmt.Sprintf("S1-V%d", i+1), Name: "Separator 1 oil inlet",
			Place: Place{Deck: "4", Frame: "32", Side: "port", Note: "behind the cooler"},
			Held:  Position{Mark: ValveShut, Word: "SHUT"}, Clearance: Position{Mark: ValveOpen, Word: "OPEN"},
			AuthorisedBy: "Second engineer", AuthorisedAt: at(25, 7, 30), ValidUntil: at(26, 7, 30),
			URL: fmt.Sprintf("HTTP://STILLWATCH.LOCAL/T/7K3MQ2XD%04dX", i), Code: fmt.Sprintf("7K3MQ2XD%04dX", i),
		}
		switch {
		case i == 0:
			t.Point, t.Name, t.Held, t.Clearance = "S1-Q1", "Separator 1 motor breaker", Position{Mark: SwitchOff, Word: "OFF"},
				Position{Mark: SwitchOn, Word: "ON"}
			t.FittedBy, t.FittedAt, t.LockNumber = "Third engineer", at(25, 8, 5), "17"
		case i%3 == 2:
			t.Name, t.Held, t.Clearance, t.Proves = "Separator 1 inlet drain", Position{Mark: ValveOpen, Word: "OPEN"},
				Position{Mark: ValveShut, Word: "SHUT"}, true
		case i%5 == 1:
			t.TagOnly, t.Measure = true, "handwheel taken off and kept in the control room"
			t.SharedWith = []string{"2026-011"}
		}
		s.Tags = append(s.Tags, t)
	}
	return s
}

func cannedLabels(n int) PointLabelSheet {
	s := PointLabelSheet{Stamp: cannedStamp()}
	for i := range n {
		s.Labels = append(s.Labels, PointLabel{Point: fmt.Sprintf("S1-V%d", i+1), Name: "Separator 1 oil inlet",
			Kind:  "valve",
			Place: Place{Deck: "4", Frame: "32", Side: "port"}, URL: fmt.Sprintf("HTTP://STILLWATCH.LOCAL/P/5H8WN2%06dK", i),
			Code: fmt.Sprintf("5H8WN2%06dK", i)})
	}
	return s
}

func cannedPlan() PlanSheet {
	shut, open := Position{Mark: ValveShut, Word: "SHUT"}, Position{Mark: ValveOpen, Word: "OPEN"}
	place := Place{Deck: "4", Frame: "32", Side: "port"}
	s := PlanSheet{Stamp: cannedStamp(), JobID: "S1-bowl", JobTitle: "Bowl overhaul", Machine: "Separator 1",
		Exposure: "open",
		Opens:    []string{"S1-bowl", "S1-inlet-pipe"}, PlantName: "Training engine room",
		PlantSHA256: "4be1d2f07c6a93518d0e7745c2b9a6f1e83d5590ab17c4ef6620d9873b51fe0a", RulesName: "shipped rules",
		Sources: []PlanSource{
			{"msb-440", "Main switchboard 440 V", "electrical", "440 V", "single",
				"below 1000 V a breaker locked off, 29 CFR 1910.147(d)", true},
			{"settling-tank", "Settling tank", "fuel", "HFO, 0.6 bar, 75 °C", "single", "open exposure, below 10 bar", true},
			{"steam-main", "Steam main", "steam", "7 bar, 170 °C", "double", "hot contents in piping: 29 CFR 1915.163(a)(1)",
				true},
			{"control-air", "Control air", "air", "7 bar", "single", "common practice, no source", true},
		},
		Before: []PlanTask{{"warn", "Tell the bridge and the officer of the watch that separator 1 goes out of service."},
			{"change over", "Start separator 2 and see it at rated flow for ten minutes before separator 1 is stopped."},
			{"stop", "Stop separator 1 from the local panel; the bowl runs down for 25 min or longer."}},
		Proofs: []PlanTask{{"drain", "Open S1-D1 and S1-D2 into the sludge tray; record litres and hold ten minutes."},
			{"prove", "Prove dead at the motor terminals, the detector proved before and after; try to start; return the " +
				"controls to off."}},
		Sections: []PlanSection{
			{Name: "Inlet pipe", Fluid: "HFO", TempC: 75, OutL: 12.4, SpreadL: 1.9, KeptL: 0.8, Drain: "S1-D1", Vent: "S1-A1",
				Time: 7*time.Minute + 20*time.Second, Provable: true, Pockets: []string{"strainer bowl"}},
			{Name: "Heating coil", Fluid: "condensate", TempC: 120, OutL: 3.1, SpreadL: 0.6, KeptL: 3.0, Drain: "S1-D4",
				TimeUnknown: true, Why: "No vent: air can't get in."}},
		Stored: []PlanStored{{"Bowl", "rotation", "7200 rpm", "0 rpm, seen", 25 * time.Minute, false,
			"stand-still seen at the shaft", "common practice, no source"},
			{"Heater shell", "heat", "120 °C", "43 °C", 0, true, "surface temperature",
				"from memory: contact longer than 10 min"}},
		Unproved: []string{"Separator 1 starter keeps its electrical supply. Its cover stays on."},
		Restore: []PlanTask{{"lock 10", "Take the tag off S1-V9. Bring it to SHUT."},
			{"do", "See everybody clear of separator 1. Tell them that pressure and current come back. From here on energy " +
				"comes back."},
			{"lock 8", "Take the lock off S1-V7. Bring it to OPEN."}},
		Lost: []string{"S1-heater"}, Standby: []string{"Separator 2"},
		Passing: []PlanPassing{{"S1-V1", "HFO from the settling tank, 0.6 bar, 75 °C"},
			{"S1-V4", "oil from the purified side, 0.3 bar"}},
		Shared: []string{"2026-011 holds CA-V3 shut, as this plan does"},
		Locks:  8, Cost: 8, LowerBound: 8, Checked: "held: a search from each of the 4 sources meets as many closed " +
			"points as demanded",
		Diagram: cannedDrawing(),
	}
	names := []string{"motor breaker", "control power fuse", "oil inlet", "oil outlet", "sludge outlet", "operating water",
		"steam inlet first", "steam inlet second", "steam bleed between", "inlet drain"}
	for i, n := range names {
		st := PlanStep{N: i + 1, Phase: "isolate", Point: fmt.Sprintf("S1-V%d", i), Name: "Separator 1 " + n, Held: shut,
			Lock: i != 4, Place: place, Clearance: open, Cuts: []string{"settling-tank"}}
		switch {
		case i == 0:
			st.Phase, st.Point, st.Held, st.Clearance, st.Cuts = "electrical", "S1-Q1", Position{Mark: SwitchOff, Word: "OFF"},
				Position{Mark: SwitchOn, Word: "ON"}, []string{"msb-440"}
		case i == 1:
			st.Phase, st.Point, st.Held, st.Clearance, st.Cuts = "electrical", "S1-F1", Position{Mark: Withdrawn,
				Word: "WITHDRAWN"},
				Position{Mark: InPlace, Word: "IN PLACE"}, []string{"msb-440"}
		case i == 4:
			st.Measure = "handwheel off"
		case i > 7:
			st.First = []string{"Bowl (rotation)"}
			st.Phase, st.Held, st.Clearance, st.Cuts = "drain and vent", open, shut, nil
		}
		s.Steps = append(s.Steps, st)
	}
	return s
}

func cannedDrawing() *Drawing {
	d := &Drawing{Title: "what reaches separator 1", Width: 100, Height: 40}
	d.Ops = append(d.Ops, Rect{X: 2, Y: 14, W: 18, H: 12}, Text{X: 11, Y: 20, Size: 4, Words: "Settling tank",
		Align: AlignCentre, Bold: true, MaxWidth: 17},
		Line{X1: 20, Y1: 20, X2: 44, Y2: 20, Stroke: Stroke{Heavy: true}},
		Line{X1: 52, Y1: 20, X2: 75, Y2: 20, Stroke: Stroke{Dashed: true}},
		Polygon{Corners: []Corner{{44, 16}, {48, 20}, {44, 24}}, Fill: true},
		Polygon{Corners: []Corner{{52, 16}, {48, 20}, {52, 24}}, Fill: true},
		Text{X: 48, Y: 12, Size: 3.5, Words: "S1-V1 shut", Align: AlignCentre},
		Rect{X: 75, Y: 10, W: 22, H: 20, Stroke: Stroke{Heavy: true}},
		Text{X: 86, Y: 20, Size: 4, Words: "Separator 1", Align: AlignCentre, Bold: true},
		Rect{X: 75, Y: 33, W: 22, H: 4, Fill: true, Stroke: Stroke{Gray: true}})
	return d
}

func cannedPermit() PermitSheet {
	second := Signature{Name: "A. Second", Role: "officer of the watch", Act: "authorised", At: at(25, 7, 30), Entry: 1201}
	s := PermitSheet{Stamp: cannedStamp(), Title: "Separator 1: bowl overhaul", Number: "2026-014", State: "live",
		Place:       Place{Deck: "4", Frame: "32", Side: "port", Note: "separator room"},
		Plant:       "Separator 1, Training engine room",
		PlantSHA256: cannedPlan().PlantSHA256, Work: "Take out and clean the bowl, renew the bowl's rings, refit. Nothing " +
			"else may be opened.",
		Hazards: []string{"Hot oil at 75 °C in the inlet pipe", "Bowl turning for up to 25 min after the stop",
			"Steam at 7 bar in the heater"},
		Precautions: []string{"Separator 2 running", "Tray and fire extinguisher at the place"},
		Protective:  []string{"Gloves against heat", "Face shield while draining"},
		ValidFrom:   at(25, 7, 30), ValidUntil: at(26, 7, 30),
		Authorisation: []Signature{second},
		Acceptance: []Signature{{Name: "B. Third", Role: "person in charge", Act: "accepted", At: at(25, 9, 10),
			Entry: 1240}},
		Drains: []DrainRecord{{Section: "Inlet pipe", Drain: "S1-D1", ExpectedL: 12.4, SpreadL: 1.9, OutL: 11.8, HoldInL: 0,
			Hold: 10 * time.Minute, GaugeKnown: true, TempC: 61, TempKnown: true,
			Verdict: "drained", Words: "11.8 l came out of 12.4 ± 1.9 l expected and nothing came back.", By: "B. Third",
			At: at(25, 8, 52)}},
		Readings: []ReadingRecord{{"Bowl at rest", "0 rpm, seen", "0 rpm", true, "common practice, no source", "B. Third",
			at(25, 8, 40)},
			{"Heater shell", "58 °C", "43 °C", false, "from memory: contact longer than 10 min", "B. Third", at(25, 8, 45)}},
		People: []Attendance{{"B. Third", "technician", at(25, 9, 12), time.Time{}, ""},
			{"C. Fitter", "technician", at(25, 9, 14), at(25, 12, 0),
				"counted out by A. Second, seen: muster station"}},
		Subs: []SubPermit{{"15", "suspended", "Renew the cable gland of the motor", "E. Electrician", at(25, 19, 30)},
			{"16", "draft", "Lag the inlet pipe anew", "", time.Time{}}},
		Boxes: []BoxRecord{{"B2", 9, "B. Third", at(25, 9, 11)}},
		OwnLocks: []OwnLock{{"T-14", "B. Third", "B2", at(25, 9, 12), time.Time{}, "", ""},
			{"C-03", "C. Fitter", "B2", at(25, 9, 14), at(25, 13, 30), "B. Third", "released for an absent owner"}},
		Deviations: []Deviation{{"Heater shell stays at 58 °C; it is covered and marked.",
			Signature{Name: "D. Chief", Role: "chief engineer", Act: "accepted", At: at(25, 9, 0), Entry: 1236}}},
		Oil: []OilTotal{{"HFO", 11.8, "sludge tank"}},
		Refused: []Refusal{{at(25, 8, 20), "B. Third", "check lock 2",
			"the checker fitted this lock; another person has to look"}},
		URL: "HTTP://STILLWATCH.LOCAL/E/1284"}
	s.Signatures = append(s.Signatures, second, s.Acceptance[0], s.Deviations[0].Accepted)
	for i, st := range cannedPlan().Steps {
		l := LockRecord{Step: i + 1, LockNumber: fmt.Sprint(17 + i), TagOnly: !st.Lock, Measure: st.Measure, Point: st.Point,
			Name: st.Name, Place: st.Place, Held: st.Held,
			PostedBy: "B. Third", PostedAt: at(25, 8, i), CheckedBy: "C. Fitter", CheckedAt: at(25, 8, 20+i),
			Clearance: st.Clearance}
		if l.TagOnly {
			l.LockNumber = ""
		}
		s.Locks = append(s.Locks, l)
	}
	s.Unproved, s.Issue = cannedPlan().Unproved, []Signature{{Name: "A. Second", Role: "officer of the watch",
		Act: "issued the permit", At: at(25, 9, 5), Entry: 1238}}
	s.WayBack = []BackRecord{{Do: "See everybody clear of separator 1. Tell them that pressure and current come back.",
		Why: "From here on energy comes back.", By: "B. Fitter", At: at(25, 16, 5)},
		{Do: "Hold S1-A1 open while S1-V3 is opened a little.", LeftOut: "S1-V3 stays shut for permit 2026-011",
			By: "C. Chief", At: at(25, 16, 12)},
		{Do: "Start separator 1 in the usual way.", Why: "Only a run shows that the work was right."}}
	return s
}

func cannedHandover() HandoverSheet {
	return HandoverSheet{Stamp: cannedStamp(), Watch: "08–12", At: at(25, 8, 0),
		Emergency: "Flooding in the shaft tunnel. Declared by A. Second, 2026-11-25 07:20 +02:00. NOT ENDED.",
		From: Signature{Name: "A. Second", Role: "officer of the watch", Act: "handed over", At: at(25, 7, 58),
			Entry: 1283},
		Remarks: []string{"Bilge well 2 pumped at 06:10."},
		Permits: []OpenPermit{
			{Number: "2026-011", Title: "Control air dryer: renew filter",
				Place: Place{Deck: "3", Frame: "40", Side: "starboard"}, State: "suspended",
				Next:  []string{"officer of the watch: resume, or cancel"},
				Alarm: []string{"work is stopped, and one person is signed on"}, InCharge: "E. Electrician",
				LocksOn: 3, Locks: 3, ValidUntil: at(25, 6, 0),
				Overdue: []string{"valid until 2026-11-25 06:00 +02:00, passed 2 h ago", "audit of tags last done 15 days ago"}},
			{Number: "2026-014", Title: "Separator 1: bowl overhaul", Place: Place{Deck: "4", Frame: "32", Side: "port"},
				State: "isolating", Next: []string{"technician: fit lock 5 at S1-V4", "second person: look at locks 3 and 4"},
				InCharge: "B. Third", LocksOn: 4,
				Locking: []string{"permit 2026-015 (suspended) works under these locks; in charge: E. Electrician",
					"keys in group box B2",
					"lock C-03 of C. Fitter hangs on the box since 2026-11-25 06:10 +02:00, who is not signed on"},
				Locks: 10, Unchecked: 2,
				People: []string{"B. Third", "C. Fitter"}, ValidUntil: at(26, 7, 30),
				Remarks: []string{"S1-V4 is stiff, no wheel key yet"}}}}
}

// cannedAudit is an audit sheet with a tag of every sort.
func cannedAudit() AuditSheet {
	shut, off := Position{Mark: ValveShut, Word: "SHUT"}, Position{Mark: SwitchOff, Word: "OFF"}
	place := Place{Deck: "4", Frame: "32", Side: "port"}
	return AuditSheet{Stamp: cannedStamp(), At: at(25, 8, 0), Every: 7, Longest: 14, Since: at(1, 8, 0), Sighted: 9,
		Signed: Signature{Name: "A. Second", Role: "officer of the watch", Act: "signed the audit",
			At: at(18, 9, 30)},
		Findings: []string{"2026-11-18 09:12 +02:00, A. Second, permit 14: sighted step 3 (S1-V3) in the audit: the tag " +
			"cannot be read"},
		Tags: []AuditTag{
			{Permit: "14", Step: 1, Point: "S1-Q1", Name: "Separator 1 motor breaker", Place: place, Held: off, Lock: "R-17",
				HungBy: "C. Fitter", HungAt: at(10, 8, 5), SeenBy: "A. Second", SeenAt: at(18, 9, 5), Due: at(25, 9, 5)},
			{Permit: "14", Step: 3, Point: "S1-V3", Name: "Separator 1 oil inlet", Place: place, Held: shut, Lock: "R-19",
				HungBy: "C. Fitter", HungAt: at(10, 8, 25), Due: at(18, 9, 12), Overdue: true,
				Note: "CANNOT BE READ: hang a new one"},
			{Permit: "11", Step: 2, Point: "A2-V6", Name: "Control air to dryer 2", Held: shut, HungBy: "E. Electrician",
				HungAt: at(9, 16, 0), Due: at(16, 16, 0), Overdue: true}},
		Plans: []AuditPlan{
			{Job: "S1-bowl", Machine: "Separator 1", Title: "Bowl overhaul", By: "D. Chief", At: at(2, 14, 0),
				With: []string{"B. Third", "C. Fitter"}, Due: at(2, 14, 0).AddDate(1, 0, 0)},
			{Job: "A2-filter", Machine: "Control air dryer", Title: "Renew filter", By: "D. Chief", At: at(3, 10, 0),
				With: []string{"E. Electrician"}, Wrong: "the drain of the dryer is missing", Due: at(3, 10, 0).AddDate(1, 0, 0)},
			{Job: "P1-seal", Machine: "Pump 1", Title: "Shaft seal", Due: at(20, 0, 0), Overdue: true},
			{Job: "P2-seal", Machine: "Pump 2", Title: "Shaft seal"}}}
}

// cannedReport is a report with bars, with a table alone, and with nothing.
func cannedReport() Report {
	cols := []ReportColumn{{"Of", 50}, {"How many", 20}, {"Note", 30}}
	return Report{Stamp: cannedStamp(), Title: "FIGURES", Facts: []Fact{{"From, to", clock(at(1, 0, 0)) + " – " +
		clock(at(25, 0, 0))}}, Parts: []ReportPart{
		{Heading: "Audits of the tags", Note: "2 audits were signed.", Columns: cols,
			Bars: []ReportBar{{Name: "8 Nov 2026, A. Second", Words: "13.9 days", Value: 13.9},
				{Name: "24 Nov 2026, A. Second", Words: "16 days", Value: 16, Over: true}},
			Rows: [][]string{{"8 Nov 2026, A. Second", "13.9 days", "9 tags"},
				{"24 Nov 2026, A. Second", "16 days", "LATE: 9 tags"}}},
		{Heading: "What gates refused", Columns: cols, Rows: [][]string{{"fit lock", "3", ""}}},
		{Heading: "Points that pass", Columns: cols, None: "No point is recorded as passing."}}}
}

// cannedNoPlan is the plan of a job that can't be isolated.
func cannedNoPlan() PlanSheet {
	s := cannedPlan()
	s.Steps, s.Diagram, s.Uncut = nil, nil, [][]string{{"settling-tank", "S1-check", "S1-inlet-pipe"}}
	s.Sources[1].Met = false
	return s
}

func pageOf(n, of int) string { return fmt.Sprintf("page %d of %d", n, of) }

// cannedChanged is a plan that stands in place of another.
func cannedChanged() PlanSheet {
	s := cannedPlan()
	s.Permit = "2026-014"
	s.Changes = []PlanChange{{Number: 1, By: "Ilse", At: at(25, 9, 40), Words: []string{"Opened too: S1-strainer.",
		"Step 2: Nothing asks for Oil inlet (S1-V1) any more. It stays SHUT, tagged, until the end.",
		"Step 3: New: Strainer drain (S1-D2) is brought to OPEN and tagged."}}}
	return s
}

// cannedScan is a scan sheet of two pages.
func cannedScan() ScanSheet {
	s := ScanSheet{Stamp: cannedStamp(), Number: "14", Title: "Separator 1: bowl overhaul",
		URL: "http://192.168.1.10:8080/permits/14/walk"}
	for n := 1; n <= 11; n++ {
		s.Rows = append(s.Rows, ScanRow{Step: n, Point: fmt.Sprintf("S1-V%d", n), Name: "Separator 1 oil inlet",
			Place: Place{Deck: "4", Frame: "32", Side: "port"}, Held: Position{Mark: ValveShut, Word: "SHUT"}, Lock: n%2 == 1,
			URL: fmt.Sprintf("http://192.168.1.10:8080/points/S1-V%d", n)})
	}
	return s
}
