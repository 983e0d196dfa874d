package office

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"stillwatch/isolation/plantfile"
	"stillwatch/permits"
	"stillwatch/permits/shore"
	"stillwatch/permits/shore/wire"
)

// A ship compares itself with a sister, takes over a job as a draft, and two people put the draft in force aboard as
// they do any plant file. Nothing comes to a ship that has not asked.
func TestAJobOfASisterShipIsTakenOver(t *testing.T) {
	a := newAshore(t)
	north, south := newShip(t, "North Example"), newShip(t, "South Example")
	toNorth, toSouth := north.enrolled(a), south.enrolled(a)
	text := strings.Replace(string(tinyPlant(t).Text), "  - {id: P1-seal,",
		"  - {id: P1-bearing, machine: P1, title: Renew the bearing, opens: [motor]}\n  - {id: P1-seal,", 1)
	adopt(t, south, text)
	all(t, toNorth)
	all(t, toSouth)
	ctx := context.Background()
	c := north.client(a.site.URL)
	names, err := c.Sisters(ctx, "")
	if err != nil || len(names) != 1 || names[0] != "South Example: Tiny" {
		t.Errorf("Sisters() = %q, %v", names, err)
	}
	lines, err := c.Sisters(ctx, south.name)
	if said := strings.Join(lines, "\n"); err != nil || !strings.Contains(said, "job P1-bearing added") ||
		!strings.Contains(said, "P1-bearing: Renew the bearing") {
		t.Errorf("Sisters(%s) = %s, %v", south.name, said, err)
	}
	draft, err := c.Draft(ctx, south.name, "P1-bearing")
	if err != nil || !strings.Contains(string(draft), "job P1-bearing of South Example") {
		t.Fatalf("Draft() = %s, %v", draft, err)
	}
	if north.Plant().Job("P1-bearing") != nil {
		t.Error("the job is in force before anybody aboard has put it there")
	}
	adopt(t, north, string(draft))
	if north.Plant().Job("P1-bearing") == nil {
		t.Error("the draft was put in force, and the job is not there")
	}
	for _, no := range [][2]string{{"Nobody's", "P1-bearing"}, {south.name, "nothing"}, {south.name, "P1-seal"}} {
		if _, err := c.Draft(ctx, no[0], no[1]); err == nil {
			t.Errorf("Draft(%q) was made", no)
		}
	}
	stranger := newShip(t, "Stranger")
	if _, err := stranger.client(a.site.URL).Sisters(ctx, ""); err == nil {
		t.Error("a ship that nobody enrolled is told of the others")
	}
}

// adopt has a plant file proposed by one and put in force by another.
func adopt(t *testing.T, s *ship, text string) {
	t.Helper()
	plant, err := plantfile.Read("plant.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	file := permits.AdoptPlant{Name: "plant.yaml", SHA256: plant.SHA256, Text: text}
	s.do(0, file.Proposal(), "oow")
	s.do(0, file, "chief")
}

func TestTheOfficeComparesSisterShips(t *testing.T) {
	a, north, south := fleetOfTwo(t)
	b := a.signedIn(shore.Person{Name: "Port engineer"})
	of, with := shipID(a, north), shipID(a, south)
	adopt(t, south, strings.Replace(string(tinyPlant(t).Text), "name: Pump suction", "name: Suction", 1)+
		"  - {id: P1-bearing, machine: P1, title: Renew the bearing, opens: [motor]}\n")
	all(t, south.to(a.site.URL, wire.Usual))
	status, body := b.get(fmt.Sprintf("/sisters?of=%d&with=%d", of, with))
	for _, want := range []string{"1 job added", "1 point or part changed", "Renew the bearing", "They are the same."} {
		if status != http.StatusOK || !strings.Contains(body, want) {
			t.Errorf("the page of sister ships = %d without %q", status, want)
		}
	}
	status, draft := b.get(fmt.Sprintf("/sisters/draft?of=%d&with=%d&job=P1-bearing", of, with))
	if _, err := plantfile.Read("draft.yaml", []byte(draft)); status != http.StatusOK || err != nil {
		t.Errorf("the draft = %d, %v", status, err)
	}
	for path, want := range map[string]int{"/sisters": 200, "/sisters?of=99&with=1": 404,
		fmt.Sprintf("/sisters/draft?of=%d&with=%d&job=nothing", of, with): 422} {
		if status, _ := b.get(path); status != want {
			t.Errorf("%s = %d, want %d", path, status, want)
		}
	}
}
