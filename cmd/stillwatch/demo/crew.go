package demo

import (
	"stillwatch/permits"
	"stillwatch/web/screens"
)

// DemoCrew is the invented crew of the demo. Their PINs are printed for everybody to see: they are for the demo only,
// and no other command knows them.
var DemoCrew = []struct {
	permits.Person
	Pin string
}{
	{permits.Person{ID: "aram", Name: "Aram", Rank: "chief engineer", Roles: []permits.Role{permits.ChiefEngineer}},
		"604271"},
	{permits.Person{ID: "ilse", Name: "Ilse", Rank: "second engineer", Roles: []permits.Role{permits.Officer}}, "815936"},
	{permits.Person{ID: "tove", Name: "Tove", Rank: "fitter", Roles: []permits.Role{permits.Technician}}, "392748"},
	{permits.Person{ID: "bao", Name: "Bao", Rank: "motorman", Roles: []permits.Role{permits.Technician}}, "570163"},
	{permits.Person{ID: "rui", Name: "Rui", Rank: "third engineer", Roles: []permits.Role{permits.Officer, permits.Crew}},
		"948205"},
	{permits.Person{ID: "noor", Name: "Noor", Rank: "master", Roles: []permits.Role{permits.Master}}, "126795"},
	{permits.Person{ID: "vito", Name: "Vito", Rank: "surveyor on a visit", Roles: []permits.Role{permits.Visitor}},
		"731408"},
}

// demoFirstPIN is what everybody gets from the chief engineer, and changes before the story begins.
const demoFirstPIN = "917340"

// DemoPINs is what the demo's sign-in page tells the visitor.
func DemoPINs() []screens.DemoPerson {
	var out []screens.DemoPerson
	for _, p := range DemoCrew {
		out = append(out, screens.DemoPerson{ID: string(p.ID), Name: p.Name, Role: p.Rank, PIN: p.Pin})
	}
	return out
}
