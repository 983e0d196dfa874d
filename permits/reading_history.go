package permits

import (
	"strings"
	"time"

	"stillwatch/isolation"
)

// Measured is one reading as it was recorded, with the moment from which its time counts.
type Measured struct {
	Entry   int64 // number in the log
	At      time.Time
	By      PersonID
	Since   time.Time // when the drain was tagged open, or the supply cut; zero if not known
	Value   float64   // litres out of a section; else in the check's unit
	HoldS   float64   // of a section: the hold before At, seconds
	HoldL   float64   // of a section: what came in that hold, litres
	Into    string    // of a section: the tank that took it
	Finding isolation.Finding
	Doubt   string // what is odd about it, in words; "" if nothing is
}

// After returns the time from the moment that counts to the reading; ok is false where that moment is not known.
func (m Measured) After() (d time.Duration, ok bool) {
	return m.At.Sub(m.Since), !m.Since.IsZero()
}

// History is every reading of a permit: of each section by its id, of each stored energy by its check's id, in the
// order of the log. The permit itself keeps only the last of each.
type History struct {
	Sections map[string][]Measured
	Stored   map[string][]Measured
}

// Readings folds the history from one permit's entries, in the order of the log. Entries of other permits, and
// refused acts, are passed over. Where the entries don't begin with the request the moments are not known.
func Readings(entries []Entry) History {
	h := History{Sections: map[string][]Measured{}, Stored: map[string][]Measured{}}
	var p Permit
	for _, e := range entries {
		if p.id != 0 && e.Permit != p.id {
			continue
		}
		switch a := e.Act.(type) {
		case RecordDrain:
			h.Sections[a.Section] = append(h.Sections[a.Section], p.measuredDrain(e, a))
		case RecordStored:
			m := measured(e, a.Value)
			if i := p.storedIndex(a.Check); i >= 0 {
				m.Since = p.storedWait(p.stored[i]).Since
			}
			h.Stored[a.Check] = append(h.Stored[a.Check], m)
		}
		if _, begins := e.Act.(Request); begins || p.state != unset {
			p = Apply(p, e)
		}
	}
	return h
}

func measured(e Entry, value float64) Measured {
	m := Measured{Entry: e.N, At: e.At, By: e.By, Value: value}
	if len(e.Found) > 0 {
		m.Finding = e.Found[0]
	}
	return m
}

// measuredDrain is a record of a section that is still to be applied to p.
func (p Permit) measuredDrain(e Entry, a RecordDrain) Measured {
	m := measured(e, a.Reading.OutL)
	m.HoldS, m.HoldL, m.Into = a.Reading.HoldS, a.Reading.HoldInL, a.Tank()
	i := p.drainIndex(a.Section)
	if i < 0 {
		return m
	}
	m.Since = p.sectionWait(p.drains[i]).Since
	if open, ok := m.After(); ok && open.Seconds()+1 < a.Reading.HoldS {
		m.Doubt = "the hold is longer than the drain had been tagged open"
	}
	return m
}

// Tank returns the name of the tank that took what was drained, with one blank between its words; "" if nobody wrote
// it.
func (a RecordDrain) Tank() string { return strings.Join(strings.Fields(a.Into), " ") }
