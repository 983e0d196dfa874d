package desk

import (
	"stillwatch/isolation/plantfile"
	"stillwatch/permits/shore"
	"stillwatch/web/screens"
)

// SistersPage compares what two ships have in force.
type SistersPage struct {
	Frame
	Ships    []shore.FleetLine
	Of, With int64  // the two that are compared; 0: none are
	Why      string // they cannot be compared
	Compared *shore.Compared
	Counts   []screens.DifferenceCount
	Shown    []plantfile.Difference
	More     int // differences beyond those shown
}

// differencesShown is how many differences the page lists.
const differencesShown = 200

// Compare puts what was compared into the page.
func (p *SistersPage) Compare(c shore.Compared) {
	p.Compared, p.Counts = &c, screens.CountDifferences(c.Differences)
	p.Shown = c.Differences[:min(len(c.Differences), differencesShown)]
	p.More = len(c.Differences) - len(p.Shown)
}

// ComparedLines is what was compared, in lines for a console.
func ComparedLines(c shore.Compared) []string {
	out := []string{"From the plant file of " + c.Of + " to that of " + c.With + ":"}
	for _, d := range c.Differences {
		out = append(out, "  "+d.String())
	}
	if len(c.Differences) == 0 {
		out = append(out, "  Nothing is another.")
	}
	for _, r := range c.Rules {
		out = append(out, "rules: "+r)
	}
	if len(c.Jobs) > 0 {
		out = append(out, "Jobs that may be taken over as a draft:")
	}
	for _, j := range c.Jobs {
		out = append(out, "  "+j.ID+": "+j.Title)
	}
	return out
}
