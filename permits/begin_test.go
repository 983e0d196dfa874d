package permits

import (
	"testing"

	"stillwatch/isolation"
)

// done returns how many of the things are done, from the first on.
func done(list []BeginStep) int {
	for i, b := range list {
		if !b.Done {
			return i
		}
	}
	return len(list)
}

func TestWhatANewRegisterNeedsIsToldUntilTheFirstPermit(t *testing.T) {
	r := newRig(t)
	full := r.ship
	at := func(want int, what string) {
		t.Helper()
		if got := done(r.setting(chief, AdoptPlant{}).ToBegin()); got != want {
			t.Errorf("%s: %d things are done, want %d", what, got, want)
		}
	}
	r.ship = Ship{People: map[PersonID]Person{chief.ID: chief, olga.ID: olga, tomas.ID: tomas}}
	at(0, "one technician")
	r.ship.People = full.People
	at(1, "the crew, each with the first PIN")
	r.ship.PINs = map[PersonID]PINSet{}
	for id := range r.ship.People {
		r.ship.PINs[id] = PINSet{ByOwner: id != vera.ID} // who only visits signs nothing
	}
	at(2, "own PINs")
	r.ship.Proposed = map[FileKind]Proposal{PlantFile: {}}
	at(3, "a proposal")
	r.ship.Proposed, r.ship.PlantSHA256, r.ship.RulesSHA256 = nil, full.PlantSHA256, full.RulesSHA256
	at(4, "a plant in force")
	r.ship.Labels = map[isolation.NodeID]TagDigest{"V1": "x"}
	at(5, "labels")
	r.must(0, tomas, Request{Plan: r.plan(), Work: "Shaft seal"})
	if list := r.setting(chief, AdoptPlant{}).ToBegin(); list != nil {
		t.Errorf("after the first permit %d things are told, want none", len(list))
	}
}
