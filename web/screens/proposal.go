package screens

import (
	"slices"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
	"stillwatch/permits"
)

// ProposalPage shows a plant file that somebody proposed beside the one in force: what is not the same, what becomes of
// each plan, which open permits it touches. A second person puts it in force here.
type ProposalPage struct {
	Frame
	File    permits.Proposal
	Plant   *isolation.Plant
	First   bool // no plant file is in force yet
	Counts  []DifferenceCount
	Changed []plantfile.Difference // those shown
	More    int                    // changed beyond those shown
	Effects []isolation.Effect     // of jobs whose plan does not stay the same
	Same    int                    // jobs whose plan stays as it is
	Unread  int                    // jobs beyond those that were computed
	Sources []*isolation.Node      // of the proposed plant
	Touched []permits.FileTouches
}

// DifferenceCount is how many entries of one sort had one fate: 3 nodes were added.
type DifferenceCount struct {
	Of   string
	Fate plantfile.Fate
	N    int
}

// String says it in words: "2 pipes or cables added".
func (c DifferenceCount) String() string {
	words := map[string][2]string{"node": {"point or part", "points or parts"},
		"link": {"pipe or cable", "pipes or cables"}, "machine": {"machine", "machines"}, "job": {"job", "jobs"},
		"fluid": {"fluid", "fluids"},
		"plant": {"title", "titles"}}[c.Of]
	return Plural(c.N, words[0], words[1]) + " " + string(c.Fate)
}

// differencesShown is how many changed entries a page lists.
const differencesShown = 100

// ProposalOf returns the page of a proposal, before in its frame. before is nil where no plant is in force.
func ProposalOf(set permits.Setting, before, after *isolation.Plant, effects []isolation.Effect) ProposalPage {
	p := ProposalPage{File: set.Ship.Proposed[permits.PlantFile], Plant: after, First: before == nil,
		Unread: len(after.Jobs) - len(effects)}
	for i := range after.Nodes {
		if n := &after.Nodes[i]; n.Kind == isolation.Source {
			p.Sources = append(p.Sources, n)
		}
	}
	var points []isolation.NodeID
	differences := plantfile.Differences(before, after)
	p.Counts = CountDifferences(differences)
	for _, d := range differences {
		points = append(points, d.Nodes()...)
		if p.Changed = append(p.Changed, d); len(p.Changed) > differencesShown {
			p.Changed, p.More = p.Changed[:differencesShown], p.More+1
		}
	}
	var jobs []string
	for _, e := range effects {
		if e.IsSame() {
			p.Same++
			continue
		}
		p.Effects = append(p.Effects, e)
		jobs = append(jobs, e.Job)
	}
	p.Touched = set.TouchedByFile(points, jobs)
	return p
}

// CountDifferences counts differences by what they are of and what became of it, in the order in which they come.
func CountDifferences(list []plantfile.Difference) (counts []DifferenceCount) {
	for _, d := range list {
		i := slices.IndexFunc(counts, func(c DifferenceCount) bool { return c.Of == d.Of && c.Fate == d.Fate })
		if i < 0 {
			i = len(counts)
			counts = append(counts, DifferenceCount{Of: d.Of, Fate: d.Fate})
		}
		counts[i].N++
	}
	return counts
}
