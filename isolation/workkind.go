package isolation

import (
	"slices"
	"strconv"

	"stillwatch/isolation/atmosphere"
)

// WorkKind is what work is beside the opening of a machine: a permit for entry, for hot work. A job may be of several.
type WorkKind string

// The kinds of work that a table row describes; see WorkKinds.
const (
	WorkEntry       WorkKind = "entry"
	WorkHot         WorkKind = "hot work"
	WorkElectrical  WorkKind = "electrical"
	WorkHighVoltage WorkKind = "high voltage"
	WorkLive        WorkKind = "live work"
	WorkAloft       WorkKind = "aloft"
	WorkOverside    WorkKind = "overside"
	WorkPressure    WorkKind = "pressure"
)

// Issuer says who may sign that the measures of a permit are in place.
type Issuer uint8

// The issuers.
const (
	EitherIssues   Issuer = iota // the officer of the watch or the chief engineer
	OfficerIssues                // the bridge must know: people where nobody looks for them, fire, things outside the hull
	EngineerIssues               // who knows the plant
)

// Post is where somebody stands by for others, and does nothing else.
type Post string

// The posts.
const (
	NoPost    Post = ""
	Attendant Post = "attendant"  // at the entrance of an enclosed space
	FireWatch Post = "fire watch" // at hot work, and for a time after it
)

// WorkRow describes one kind of work: what its permit asks for beside the isolation. One row, and nothing else, makes a
// kind.
type WorkRow struct {
	Kind        WorkKind
	Title       string
	Source      string
	Hazards     []string
	Precautions []string
	Protective  []string
	Measures    []Measure
	MostHours   float64 // longest period; 0: as the rules file says
	Master      bool    // the master countersigns, whatever the rules file says
	Issuer      Issuer
	Post        Post
	Levels      []string // where the air is tested before the work; none: it is not
	Inhibits    bool     // detectors may be inhibited, and are counted back
}

// Measure is one thing that somebody sees to and answers with yes before the permit is issued.
type Measure struct {
	ID     string
	Words  string // "The fire main is under pressure"
	Source string
}

// Row returns the row of a kind.
func (k WorkKind) Row() (WorkRow, bool) {
	i := slices.IndexFunc(workRows, func(r WorkRow) bool { return r.Kind == k })
	if i < 0 {
		return WorkRow{}, false
	}
	return workRows[i], true
}

// WorkRows returns every kind of work, in the order of the table.
func WorkRows() []WorkRow { return slices.Clone(workRows) }

// GasLimit is a gas that a space may hold beside those that are always tested, with its exposure limit.
type GasLimit struct {
	Gas      string
	LimitPPM float64
	Because  string // where the limit stands
}

// AirTest is how the air is tested before and during the work of a plan.
type AirTest struct {
	RuleSet string             `json:"rule_set"`
	Levels  []string           `json:"levels"` // each is tested
	Limits  []atmosphere.Limit `json:"limits"` // each is read at every level
	EveryS  float64            `json:"every_s"`
	// after so long without anybody inside the test before counts no more
	BreakS float64 `json:"break_s"`
	Source string  `json:"source"`
}

// AdjoiningMeasure returns the measure for the nth space beside hot work, from 1.
func AdjoiningMeasure(n int, space string) Measure {
	return Measure{"adjoining-" + strconv.Itoa(n), "Adjoining " + space + ": looked at, free of gas and of what burns, " +
		"and somebody looks again during the work", "ISGOT, hot work, from memory"}
}

// CheckOf returns the question that a measure is on a permit, answered with yes or no.
func (m Measure) CheckOf(kind WorkKind) StoredCheck {
	return StoredCheck{ID: "measure-" + Hyphened(string(kind)) + "-" + m.ID, Name: m.Words, Quantity: "done", Limit: 1,
		Stored: Stored{Kind: KindMeasure, Name: m.Words}, Source: m.Source, Words: m.Words + "."}
}

// Exposures returns every exposure of a job, its own first: who enters and brings fire is under the rules for both.
func (j *Job) Exposures() []Exposure {
	out := []Exposure{j.Exposure}
	add := func(e Exposure, kind WorkKind) {
		if slices.Contains(j.WorkKinds, kind) && !slices.Contains(out, e) {
			out = append(out, e)
		}
	}
	add(Enter, WorkEntry)
	add(HotWork, WorkHot)
	return out
}

// Kinds returns the kinds of work that a job is without regard to voltages: those that it names, and those that its
// exposure means.
func (j *Job) Kinds() []WorkKind {
	out := slices.Clone(j.WorkKinds)
	add := func(k WorkKind, is bool) {
		if is && !slices.Contains(out, k) {
			out = append(out, k)
		}
	}
	add(WorkEntry, j.Exposure == Enter)
	add(WorkHot, j.Exposure == HotWork)
	return out
}
