package sample

import (
	"strings"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proved"
	"stillwatch/permits"
	"stillwatch/web/screens"
)

// otherPlant is the sample plant with what somebody might propose: another name, a drain more, a valve that is gone.
func otherPlant() (*isolation.Plant, error) {
	return plantfile.Read("plant.yaml", []byte(strings.NewReplacer(
		"name: Filter 1 outlet,", "name: Filter 1 outlet to the booster loop,",
		"  - {id: F1-A1, kind: opening", "  - {id: F1-D2, kind: opening, name: Filter 1 sump drain, role: drain, bore_mm: "+
			"20, elevation_m: 4.9, place: {deck: 2, frame: 43, side: starboard}}\n  - {id: F1-A1, kind: opening",
		"  - {a: F1-body, b: F1-A1", "  - {a: F1-body, b: F1-D2, bore_mm: 20, length_m: 0.3, invert_m: [5.1, 4.9]}\n  - "+
			"{a: F1-body, b: F1-A1",
		"  - {id: T1-V1, kind: valve, name: Tank 1 filling valve, lockable: true, place: {deck: 2, frame: 40, side: port}}\n",
		"", "  - {a: main, b: T1-V1, bore_mm: 40, length_m: 5, invert_m: [3, 3]}\n", "", "{a: T1-V1, b: T1-F,",
		"{a: main, b: T1-F,").Replace(string(cannedPlant))))
}

// proposal is the page of a plant file that the fitter proposed, as the chief engineer sees it.
func (s *Ship) proposal(b screens.Frame) any {
	b.Me = CannedCrew[0]
	after, err := otherPlant()
	if err != nil {
		panic(err) // the text is part of the program; TestEveryCannedPageIsWhole makes the page
	}
	set := s.Setting(b.Me)
	set.Ship.Proposed = map[permits.FileKind]permits.Proposal{permits.PlantFile: {Name: "plant.yaml",
		Mark: permits.Mark{By: CannedCrew[2].ID, At: s.at}, SHA256: after.SHA256}}
	effects := proved.Effects(s.plant, after, s.rules, isolation.Circumstances{}, 100)
	page := screens.ProposalOf(set, s.plant, after, effects)
	page.Frame = b
	return page
}

// newBoard is the board of a register that has its crew and a proposal, and nothing else yet.
func (s *Ship) newBoard(b screens.Frame) any {
	set := permits.Setting{At: s.at, Next: 1, Ship: permits.Ship{People: s.Ship.People,
		PINs: map[permits.PersonID]permits.PINSet{}, Proposed: map[permits.FileKind]permits.Proposal{permits.PlantFile: {}}}}
	for id := range s.Ship.People {
		set.Ship.PINs[id] = permits.PINSet{ByOwner: true}
	}
	page := screens.BoardOf(set, nil)
	page.Frame = b
	return page
}
