package desk

import (
	"time"

	"stillwatch/permits/shore"
)

// SilentDays is after how many days without a word a ship is called silent. A ship may be for days without a link.
const SilentDays = 3

// ages says how old what the page shows is.
type ages struct{ now time.Time }

// AsOf says in words as of when a ship is shown: when its newest entry was made, and how long ago that is.
func (a ages) AsOf(s shore.FleetLine) string {
	if s.Size == 0 {
		return "nothing sent yet"
	}
	return ago(s.Last, a.now) + ", " + Moment(s.Last)
}

// IsSilent reports whether a ship was not heard for too long.
func (a ages) IsSilent(s shore.FleetLine) bool {
	return a.now.Sub(time.UnixMicro(s.Heard)) > SilentDays*24*time.Hour
}

// IsOverdue reports whether a permit's authorisation has run out.
func (a ages) IsOverdue(p shore.PermitLine) bool {
	return p.Until > 0 && time.UnixMicro(p.Until).Before(a.now)
}

// FleetPage is every ship, each as of its newest head.
type FleetPage struct {
	Frame
	ages
	Ships      []shore.FleetLine
	Alarms     []shore.Alarm
	Sum        shore.FleetLine
	Silent     int
	SilentDays int
}

// NewFleetPage adds up what the ships come to; the ships with an alarm come first.
func NewFleetPage(f Frame, ships []shore.FleetLine, alarms []shore.Alarm) FleetPage {
	p := FleetPage{Frame: f, ages: ages{f.Clock}, Alarms: alarms, SilentDays: SilentDays}
	var rest []shore.FleetLine
	for _, s := range ships {
		p.Sum.Live += s.Live
		p.Sum.Overdue += s.Overdue
		p.Sum.LocksOn += s.LocksOn
		p.Sum.TagsOverdue += s.TagsOverdue
		p.Sum.Passing += s.Passing
		if p.IsSilent(s) {
			p.Silent++
		}
		if s.Alarms > 0 {
			p.Ships = append(p.Ships, s)
		} else {
			rest = append(rest, s)
		}
	}
	p.Ships = append(p.Ships, rest...)
	return p
}

// NameOf returns the name of a ship of the page.
func (p FleetPage) NameOf(id int64) string {
	for _, s := range p.Ships {
		if s.ID == id {
			return s.Name
		}
	}
	return "the ship"
}

// ShipPage is one ship as of its newest head.
type ShipPage struct {
	Frame
	ages
	Ship shore.FleetLine
	shore.Board
}

// NewShipPage makes the page of a ship.
func NewShipPage(f Frame, b shore.Board) ShipPage {
	return ShipPage{Frame: f, ages: ages{f.Clock}, Ship: b.FleetLine, Board: b}
}

// LastEntry returns the number of the newest entry.
func (p ShipPage) LastEntry() int64 { return p.Ship.Size - 1 }

// Heard says when the ship was heard last.
func (p ShipPage) Heard() string { return ago(p.Ship.Heard, p.now) }
