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
			Point: fmt.Sprintf("S1-V%d", i+1), Name: "Separator 1 oil inlet", Place: Place{Deck: "4", Frame: "32", Side: "port", Note: "behind the cooler"},
			Held: Position{Mark: ValveShut}, Clearance: Position{Mark: ValveOpen},
			AuthorisedBy: "Second engineer", AuthorisedAt: at(25, 7, 30), ValidUntil: at(26, 7, 30),
			URL: fmt.Sprintf("HTTP://STILLWATCH.LOCAL/T/7K3MQ2XD9PTR%04d", i), Code: fmt.Sprintf("7K3MQ2XD%04dX", i),
		}
		switch {
		case i == 0:
			t.Point, t.Name, t.Held, t.Clearance = "S1-Q1", "Separator 1 motor breaker", Position{Mark: SwitchOff}, Position{Mark: SwitchOn}
			t.FittedBy, t.FittedAt, t.LockNumber = "Third engineer", at(25, 8, 5), "17"
		case i%3 == 2:
			t.Name, t.Held, t.Clearance, t.Proves = "Separator 1 inlet drain", Position{Mark: ValveOpen}, Position{Mark: ValveShut}, true
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
		s.Labels = append(s.Labels, PointLabel{Point: fmt.Sprintf("S1-V%d", i+1), Name: "Separator 1 oil inlet", Kind: "valve",
			Place: Place{Deck: "4", Frame: "32", Side: "port"}, URL: fmt.Sprintf("HTTP://STILLWATCH.LOCAL/P/5H8WN2%06dK", i), Code: fmt.Sprintf("5H8WN2%06dK", i)})
	}
	return s
}
