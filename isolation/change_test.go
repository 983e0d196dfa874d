package isolation

import (
	"slices"
	"testing"
)

// growingPlant is a machine with jobs that can be added to each other, and one that cannot.
func growingPlant() *Plant {
	p := &Plant{SHA256: "hash"}
	for _, n := range []Node{{ID: "body", Kind: Vessel}, {ID: "cover", Kind: Vessel, Name: "Cover"},
		{ID: "V1", Kind: Valve}, {ID: "other", Kind: Vessel}, {ID: "tank", Kind: Source}, {ID: "D1", Kind: Opening}} {
		p.AddNode(n)
	}
	p.AddMachine(Machine{ID: "M", Nodes: []NodeID{"body", "cover"}})
	p.AddMachine(Machine{ID: "N", Name: "Pump", Nodes: []NodeID{"other"}})
	p.AddJob(Job{ID: "clean", Machine: "M", Title: "Clean", Opens: []NodeID{"body"}, KeptOff: []NodeID{"cover"},
		Exposure: Enter, Hazards: []string{"sludge"}, Live: []LivePart{{ID: "lamp"}, {ID: "fan"}},
		Deviations: []Deviation{{Source: "tank", Demand: DemandSingle}}, Holds: []Hold{{ID: "body", Minutes: 30}}})
	p.AddJob(Job{ID: "weld", Machine: "M", Title: "Weld", Opens: []NodeID{"cover", "body"}, Exposure: HotWork,
		Hazards: []string{"fire", "sludge"}, Live: []LivePart{{ID: "lamp"}}, Adjoining: []string{"void space 2"}})
	p.AddJob(Job{ID: "live", Machine: "M", Title: "Live", Opens: []NodeID{"cover"}, LiveBecause: "it cannot be done dead"})
	return p
}

// TestWidenedJobAsksForAllOfBoth adds hot work to an entry: the wider exposure, both kinds of work, every hazard and
// hold; and of what would ask for less only what both jobs have. (Of several kinds the stricter holds: own reasoning.)
func TestWidenedJobAsksForAllOfBoth(t *testing.T) {
	p := growingPlant()
	w, err := p.Widened("clean", Added{Jobs: []string{"weld"}, Points: []NodeID{"V1"}})
	if err != nil {
		t.Fatal(err)
	}
	j := w.Job("clean")
	if j.Exposure != HotWork || !slices.Contains(j.Kinds(), WorkEntry) || !slices.Contains(j.Kinds(), WorkHot) {
		t.Errorf("exposure %s, kinds %v, want hot work and entry", j.Exposure, j.Kinds())
	}
	if !slices.Equal(j.Opens, []NodeID{"body", "cover"}) || !slices.Equal(j.Hazards, []string{"sludge", "fire"}) ||
		len(j.Holds) != 1 || len(j.Adjoining) != 1 {
		t.Errorf("opens %v, hazards %v, holds %v, want those of both", j.Opens, j.Hazards, j.Holds)
	}
	if len(j.Live) != 1 || j.Live[0].ID != "lamp" || len(j.Deviations) != 0 {
		t.Errorf("live %v, deviations %v, want only what both jobs have", j.Live, j.Deviations)
	}
	if w.SHA256 != p.SHA256 || len(p.Job("clean").Opens) != 1 || len(p.Job("clean").WorkKinds) != 0 {
		t.Error("the plant itself was changed")
	}
}

// TestPartOpenedTooIsKeptOffNoMore opens what was kept off.
func TestPartOpenedTooIsKeptOffNoMore(t *testing.T) {
	w, err := growingPlant().Widened("clean", Added{Opens: []NodeID{"cover"}})
	if err != nil {
		t.Fatal(err)
	}
	if j := w.Job("clean"); len(j.KeptOff) != 0 || j.Title != "Clean; Cover opened too" {
		t.Errorf("kept off %v, title %q", j.KeptOff, j.Title)
	}
}

// TestWhatCannotBeAddedToAJob names each.
func TestWhatCannotBeAddedToAJob(t *testing.T) {
	for name, a := range map[string]Added{
		"live work": {Jobs: []string{"live"}}, "twice": {Jobs: []string{"weld", "weld"}}, "itself": {Jobs: []string{"clean"}},
		"another machine": {Opens: []NodeID{"other"}}, "a source": {Opens: []NodeID{"tank"}},
		"a drain":         {Opens: []NodeID{"D1"}},
		"an opened point": {Opens: []NodeID{"V1"}, Points: []NodeID{"V1"}}, "no point": {Points: []NodeID{"body"}},
	} {
		if _, err := growingPlant().Widened("clean", a); err == nil {
			t.Errorf("%s was added", name)
		}
	}
}
