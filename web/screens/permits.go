package screens

import (
	"slices"
	"strings"
	"time"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/register"
)

// PermitsPage lists permits, closed ones too.
type PermitsPage struct {
	Frame
	PermitFilter
	Lines    []register.PermitLine
	States   []permits.State
	Machines []isolation.Machine
	Kinds    []string
	Older    string // address of the page before this one
	Now      time.Time
}

// PermitFilter is what a list of permits is asked for, as it was typed.
type PermitFilter struct {
	Text, State, Machine, Point, Person, Kind string
	From, To                                  string // days of the ship
	Overdue                                   bool
	Query                                     string // the whole of it, for an address
}

// More reports whether something is asked for beside words and state.
func (f PermitFilter) More() bool {
	return f.Machine+f.Point+f.Person+f.Kind+f.From+f.To != "" || f.Overdue
}

// Words says what was asked for.
func (f PermitFilter) Words(name func(permits.PersonID) string) string {
	var out []string
	add := func(what, value string) {
		if value != "" {
			out = append(out, what+" "+value)
		}
	}
	add("words", f.Text)
	add("state", f.State)
	add("machine", f.Machine)
	add("point", f.Point)
	if f.Person != "" {
		add("person", name(permits.PersonID(f.Person)))
	}
	add("kind", f.Kind)
	add("requested from", f.From)
	add("up to and with", f.To)
	add("", Choose(f.Overdue, "overdue", ""))
	if len(out) == 0 {
		return "every permit"
	}
	return strings.TrimSpace(strings.Join(out, ", "))
}

// Asked says what is asked for beside words and state.
func (p PermitsPage) Asked() string {
	f := p.PermitFilter
	f.Text, f.State = "", ""
	return f.Words(p.Name)
}

// PermitKinds returns what a list can be asked for: how a machine is opened, and the kinds of work.
func PermitKinds() []string {
	out := []string{string(isolation.Outside), string(isolation.OpenUp), string(isolation.Enter),
		string(isolation.HotWork)}
	for _, r := range isolation.WorkRows() {
		if !slices.Contains(out, string(r.Kind)) {
			out = append(out, string(r.Kind))
		}
	}
	return out
}

// IsOverdue reports whether the authorisation of a listed permit has run out.
func (p PermitsPage) IsOverdue(l register.PermitLine) bool {
	return !l.State.IsOver() && !l.Until.IsZero() && p.Now.After(l.Until)
}

// MachinePage is what was done to one machine.
type MachinePage struct {
	Frame
	ID, Machine string
	Lines       []register.PermitLine
	More        bool // there are older permits
	Points      []pointLine
	History     []EntryLine
}

// MachinePoints returns points with how they stand now.
func MachinePoints(set permits.Setting, points []isolation.NodeID) []pointLine {
	var out []pointLine
	for _, id := range points {
		if set.Plant == nil || set.Plant.Node(id) == nil {
			continue
		}
		out = append(out, pointLine{Node: set.Plant.Node(id), Passing: set.Ship.IsPassing(id),
			On: hanging(set.Held.At(id, 0))})
	}
	return out
}
