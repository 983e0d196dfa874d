package shore

import (
	"strconv"
	"time"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/register"
	"stillwatch/permits/shore/store"
)

// reading makes the shore's own tables of entries as they are replayed.
type reading struct {
	f       *register.Follower
	batch   store.Batch
	audited time.Time // when the last audit of the tags was signed
}

func newReading(f *register.Follower) *reading {
	r := &reading{f: f, batch: store.Batch{Accepted: map[int64]int64{}, Refusals: map[store.RefusalKey]int64{}}}
	r.audited = r.setting().Ship.Audited.At
	return r
}

// ignore sees entries that are in the tables already.
func ignore(permits.Entry, permits.Permit) {}

func (r *reading) setting() permits.Setting { return r.f.Setting(time.Time{}) }

// see looks at one entry.
func (r *reading) see(e permits.Entry, _ permits.Permit) {
	b, at := &r.batch, e.At.UnixMicro()
	b.Shapes = append(b.Shapes, register.Shapes(e.Kind))
	switch a := e.Act.(type) {
	case permits.RefusedAct:
		b.Refusals[store.RefusalKey{Day: e.At.Unix() / daySeconds, Gate: a.Gate}]++
	case permits.RecordPassing:
		b.Passings = append(b.Passings, r.passing(e, a))
	case permits.RecordRepair:
		b.Passings = append(b.Passings, store.Repair{Point: string(a.Point), At: at})
	case permits.SignAudit:
		late := !r.audited.IsZero() && e.At.Sub(r.audited) > permits.AuditMostDays*24*time.Hour
		b.Audits = append(b.Audits, store.AuditRow{N: e.N, At: at, Tags: int64(a.Tags), Late: late})
		r.audited = e.At
	case permits.AdoptPlant:
		b.Files = append(b.Files, store.FileRow{What: filePlant, Name: a.Name, Text: a.Text, N: e.N})
	case permits.AdoptRules:
		b.Files = append(b.Files, store.FileRow{What: fileRules, Name: a.Name, Text: a.Text, N: e.N})
	}
	if _, known := b.Accepted[int64(e.Permit)]; e.Kind == permits.KindAccept && !known {
		b.Accepted[int64(e.Permit)] = at
	}
}

const daySeconds = 86400

// What a file is that was put in force.
const (
	filePlant = "plant"
	fileRules = "rules"
)

// passing returns the row of a point that was found passing, with what the plant file in force calls it.
func (r *reading) passing(e permits.Entry, a permits.RecordPassing) store.PassingRow {
	row := store.PassingRow{N: e.N, At: e.At.UnixMicro(), Point: string(a.Point), Words: a.Words}
	if plant := r.setting().Plant; plant != nil {
		if n := plant.Node(a.Point); n != nil {
			row.Kind, row.Place = string(n.Kind), placeWords(n.Place)
		}
	}
	return row
}

// placeWords names the part of a ship where a point is: deck and side, which sister ships have alike; the frame too
// would part what belongs together.
func placeWords(p isolation.Place) string {
	if p.IsZero() {
		return p.String()
	}
	words := "deck " + strconv.Itoa(p.Deck)
	if p.Side != "" {
		words += ", " + p.Side
	}
	return words
}

// ship returns the ship's row after the entries.
func (r *reading) ship(s store.Ship, head register.Head, now time.Time) store.Ship {
	ends, set := r.f.Ends(), r.setting()
	s.Size, s.Hash, s.Head, s.Heard = head.Size, head.Hash, string(head.Signed), now.UnixMicro()
	s.Last, s.Latest, s.Next, s.Edition = ends.Last, ends.Latest, ends.Next, int64(set.Ship.Edition())
	if set.Plant != nil {
		s.Plant = set.Plant.Title
	}
	s.State = stateOf(set)
	return s
}

// stateOf returns what the fleet board shows of a ship.
func stateOf(set permits.Setting) store.State {
	s := store.State{Open: int64(len(set.Open)), Passing: int64(len(set.Ship.PassingPoints())), Untils: []int64{},
		TagsDue: []int64{}, PlansDue: []int64{}}
	for _, p := range set.Open {
		if p.State() == permits.Live {
			s.Live++
		}
		s.LocksOn += int64(p.LocksOn())
		s.SignedOn += int64(len(p.SignedOn()))
		if !p.Until().IsZero() {
			s.Untils = append(s.Untils, p.Until().UnixMicro())
		}
	}
	for _, d := range permits.AuditDue(set) {
		s.TagsDue = append(s.TagsDue, d.Due.UnixMicro())
	}
	for _, d := range permits.InspectionsDue(set) {
		if !d.Due.IsZero() {
			s.PlansDue = append(s.PlansDue, d.Due.UnixMicro())
		}
	}
	return s
}
