package isolation

import (
	"fmt"
	"slices"
)

// The demands: how a source must be cut from what is opened.
const (
	DemandSingle = "single" // one closed point on every path
	DemandDouble = "double" // two in series on every path, for what flows with a drain or bleed between them
	DemandBlank  = "blank"  // a blank or a removed spool, behind a closed valve, on every path
)

// Demands are the words of a rule for how a source must be cut, mildest first.
var Demands = []string{DemandSingle, DemandDouble, DemandBlank}

// DemandRank returns the place of a demand among them, mildest 0; -1 for a word that is none.
func DemandRank(demand string) int { return slices.Index(Demands, demand) }

// DemandRule is one rule of a rules file: what it matches, what it demands, and why. A nil threshold or an empty list
// asks for nothing. A source is above a threshold if it is more than it, not if it is equal.
type DemandRule struct {
	Energy      []Energy   `json:"energy,omitempty"` // a general word covers its kinds: see Energy.IsUnder
	Exposure    []Exposure `json:"exposure,omitempty"`
	AboveBar    *float64   `json:"above_bar,omitempty"`
	AboveC      *float64   `json:"above_c,omitempty"`
	AboveVolt   *float64   `json:"above_volt,omitempty"`
	AboveBoreMM *float64   `json:"above_bore_mm,omitempty"`
	Demand      string     `json:"demand"`
	Because     string     `json:"because"` // in the rule's own words, with where it comes from

	Line, Column int `json:"-"`
}

// Demand returns the first rule that matches a source, a job's exposure and the bore in mm through which the source
// reaches the work (0 where it is not known). A source that no rule matches is an error that names it: nothing is
// assumed. So is a node that is no source.
func (r *Rules) Demand(src *Node, job Exposure, boreMM float64) (DemandRule, error) {
	if src == nil || src.Kind != Source {
		return DemandRule{}, fmt.Errorf("find a rule: only a source can be cut from the work")
	}
	for i := range r.Demands {
		if r.Demands[i].Matches(src, job, boreMM) {
			return r.Demands[i], nil
		}
	}
	return DemandRule{}, fmt.Errorf("find a rule: no rule says how %s (%s) must be cut from work that is %q; add one to "+
		"the rules file", src.Label(), src.Energy, string(job))
}

// DemandOfAll returns the strictest of the rules for work of several exposures; of equally strict ones that of the
// first exposure.
func (r *Rules) DemandOfAll(src *Node, exposures []Exposure, boreMM float64) (DemandRule, error) {
	var strictest DemandRule
	for i, e := range exposures {
		rule, err := r.Demand(src, e, boreMM)
		if err != nil {
			return DemandRule{}, err
		}
		if i == 0 || DemandRank(rule.Demand) > DemandRank(strictest.Demand) {
			strictest = rule
		}
	}
	return strictest, nil
}

// Matches reports whether everything that the rule asks for is so.
func (d *DemandRule) Matches(src *Node, job Exposure, boreMM float64) bool {
	over := func(threshold *float64, figure float64, known bool) bool {
		return threshold == nil || (known && figure > *threshold)
	}
	return (len(d.Energy) == 0 || slices.ContainsFunc(d.Energy, src.Energy.IsUnder)) &&
		(len(d.Exposure) == 0 || slices.Contains(d.Exposure, job)) &&
		over(d.AboveBar, src.GaugeBar, src.Energy.Flows()) &&
		over(d.AboveC, src.TempC, src.HasTemp || src.TempC != 0) &&
		over(d.AboveVolt, src.Volt, true) &&
		over(d.AboveBoreMM, boreMM, true)
}

// MatchesAll reports whether the rule asks for nothing, so that none below it is ever reached.
func (d *DemandRule) MatchesAll() bool {
	return len(d.Energy) == 0 && len(d.Exposure) == 0 && d.AboveBar == nil && d.AboveC == nil && d.AboveVolt == nil &&
		d.AboveBoreMM == nil
}

// DemandWordsFor says what a demand means for a source: between two breaks in a cable nothing is bled.
func DemandWordsFor(d string, source *Node) string {
	if d == DemandDouble && !source.Energy.Flows() {
		return "two points in series"
	}
	return DemandWords(d)
}

// DemandWords says what a demand means.
func DemandWords(d string) string {
	switch d {
	case DemandDouble:
		return "two points in series with a drain or bleed between them"
	case DemandBlank:
		return "a blank or a removed spool behind a valve"
	}
	return "one point"
}
