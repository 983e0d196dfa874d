package sheets

import (
	"slices"
	"strconv"

	"stillwatch/isolation"
	"stillwatch/permits/paper"
)

// Place returns a place as papers print it; nothing for one that is not known.
func Place(p isolation.Place) paper.Place {
	if p.IsZero() {
		return paper.Place{}
	}
	return paper.Place{Deck: strconv.Itoa(p.Deck), Frame: strconv.Itoa(p.Frame), Side: p.Side}
}

// placeOfMachine returns where the plan's machine stands: the place of the first of its parts, or of its controls, that
// has one. Nothing where another plant file is in force than that of the plan.
func placeOfMachine(plan *isolation.Plan, plant *isolation.Plant) paper.Place {
	if plant == nil || plant.SHA256 != plan.PlantSHA256 {
		return paper.Place{}
	}
	m := plant.Machine(plan.Machine)
	if m == nil {
		return paper.Place{}
	}
	for _, id := range slices.Concat(m.Nodes, m.Controls) {
		if n := plant.Node(id); n != nil && !n.Place.IsZero() {
			return Place(n.Place)
		}
	}
	return paper.Place{}
}

// PaperMarks returns the symbol of a position: first the one that stops, then the one that lets pass.
var PaperMarks = map[isolation.Kind][2]paper.Mark{
	isolation.Breaker:        {paper.SwitchOff, paper.SwitchOn},
	isolation.Disconnector:   {paper.SwitchOff, paper.SwitchOn},
	isolation.Switch:         {paper.SwitchOff, paper.SwitchOn},
	isolation.Fuse:           {paper.Withdrawn, paper.InPlace},
	isolation.Earth:          {paper.EarthOn, paper.EarthOff},
	isolation.Blank:          {paper.BlankIn, paper.BlankOut},
	isolation.Spool:          {paper.SpoolOut, paper.SpoolIn},
	isolation.Plug:           {paper.PlugIn, paper.PlugOut},
	isolation.Valve:          {paper.ValveShut, paper.ValveOpen},
	isolation.Opening:        {paper.ValveShut, paper.ValveOpen},
	isolation.AutomaticValve: {paper.ValveShut, paper.ValveOpen},
}

// Position returns a position as printed. One that the kind of point cannot have is not set, and then the paper is
// refused.
func Position(kind isolation.Kind, at isolation.Position) paper.Position {
	marks, known := PaperMarks[kind]
	switch {
	case !known:
		return paper.Position{}
	case at == kind.Isolating():
		return paper.Position{Mark: marks[0], Word: kind.Word(at)}
	case at == kind.Passing():
		return paper.Position{Mark: marks[1], Word: kind.Word(at)}
	}
	return paper.Position{}
}

func nodeWords(ids []isolation.NodeID) []string {
	out := make([]string, len(ids))
	for i, id := range ids {
		out[i] = string(id)
	}
	return out
}
