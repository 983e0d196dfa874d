package permits

import (
	"strings"
	"testing"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
)

// otherPlant is the tiny plant with some of its words replaced, as a file to put in force.
func otherPlant(t *testing.T, pairs ...string) AdoptPlant {
	t.Helper()
	plant, err := tinyPlant()
	if err != nil {
		t.Fatal(err)
	}
	text := strings.NewReplacer(pairs...).Replace(string(plant.Text))
	p, err := plantfile.Read("other.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return AdoptPlant{"other.yaml", p.SHA256, text}
}

func wantGate(t *testing.T, what string, err error, gate, words string) {
	t.Helper()
	if no, ok := err.(*Refusal); !ok || no.Gate != gate || !strings.Contains(no.What, words) {
		t.Errorf("%s: %v, want a refusal by gate %q with %q", what, err, gate, words)
	}
}

// Two people answer for a file on which every later plan rests (common practice for drawings, no source).
func TestAFileIsPutInForceByAnotherThanWhoProposedIt(t *testing.T) {
	r := newRig(t)
	file := otherPlant(t, "Pump suction", "Suction of the pump")
	wantGate(t, "what nobody proposed", r.tryAboard(chief, file), "adopt plant", "was not proposed")
	wantGate(t, "proposed by a visitor", r.tryAboard(vera, file.Proposal()), "propose file", "")
	broken := file.Proposal()
	broken.Text += "pipes: []\n"
	wantGate(t, "a file with faults", r.tryAboard(olga, broken), "propose file", "unknown key")
	if err := r.tryAboard(chief, file.Proposal()); err != nil {
		t.Fatal(err)
	}
	wantGate(t, "by who proposed it", r.tryAboard(chief, file), "adopt plant", "Two people answer for it")
	if err := r.tryAboard(tomas, file.Proposal()); err != nil {
		t.Fatal(err)
	}
	third := otherPlant(t, "Pump suction", "Intake")
	wantGate(t, "another file than the proposed", r.tryAboard(chief, third), "adopt plant", "was not proposed")
	if err := r.tryAboard(chief, file); err != nil {
		t.Fatal(err)
	}
	if _, still := r.ship.Proposed[PlantFile]; still || r.ship.PlantSHA256 != file.SHA256 {
		t.Errorf("in force is %.8s, want %.8s and no proposal left", r.ship.PlantSHA256, file.SHA256)
	}
	rules := AdoptRules{"rules.yaml", r.rules.SHA256, string(r.rules.Text)}
	wantGate(t, "rules that nobody proposed", r.tryAboard(chief, rules), "adopt rules", "was not proposed")
	if err := r.tryAboard(olga, ProposeFile{RulesFile, rules.Name, rules.SHA256, rules.Text}); err != nil {
		t.Fatal(err)
	}
	if err := r.tryAboard(chief, rules); err != nil {
		t.Error(err)
	}
}

// An earlier log has files that were put in force by one person.
func TestAnEarlierEditionAsksForNoProposal(t *testing.T) {
	r := newRig(t)
	file := otherPlant(t, "Pump suction", "Suction of the pump")
	s := r.setting(chief, file)
	s.Judge = Judges()[0]
	if _, err := DecideShip(s, file); err != nil {
		t.Error(err)
	}
}

func TestAPointOnWhichALockHangsStaysInTheFile(t *testing.T) {
	r := newRig(t)
	r.must(0, tomas, Request{Plan: r.plan(), Work: "Shaft seal"})
	before := otherPlant(t, "{id: V1, kind: valve", "{id: V1, kind: blank")
	if err := r.tryAboard(olga, before.Proposal()); err != nil {
		t.Fatal(err)
	}
	held := r.setting(chief, before)
	held.Held = held.Held.With(1, []Holding{{Permit: 1, Step: 2, Point: "V1", Position: isolation.Closed, On: true}})
	_, err := DecideShip(held, before)
	wantGate(t, "a point of another kind", err, "adopt plant", "Permit 1 has a lock or tag on V1")
	held.Held = held.Held.With(1, []Holding{{Permit: 1, Step: 2, Point: "V1", Position: isolation.Closed}})
	if _, err = DecideShip(held, before); err != nil {
		t.Errorf("where nothing hangs: %v", err)
	}
	touched := held.TouchedByFile([]isolation.NodeID{"V1"}, nil)
	if len(touched) != 1 || touched[0].Permit != 1 || !touched[0].Anew || len(touched[0].Points) != 1 {
		t.Errorf("touched are %+v, want permit 1 with V1, to be requested anew", touched)
	}
	if touched = held.TouchedByFile(nil, []string{"P1-seal"}); len(touched) != 1 || !touched[0].Plan {
		t.Errorf("touched are %+v, want permit 1 by its job", touched)
	}
}
