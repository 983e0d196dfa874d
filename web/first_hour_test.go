package web

import (
	"strings"
	"testing"
	"time"

	"stillwatch/permits"
)

// TestTheFirstHour goes through the README's first hour by the pages alone: from an empty folder to the first own
// machine isolated. The plant is the template workbook as it is downloaded. What the board says comes next is followed.
func TestTheFirstHour(t *testing.T) {
	a := emptyShip(t)
	head := a.browser()
	next := func(want string) {
		t.Helper()
		body := head.get("/").body
		_, now, _ := strings.Cut(body, `<li class="now"><p>`)
		if now, _, _ = strings.Cut(now, "</p>"); !strings.Contains(now, want) {
			t.Fatalf("the board says %q is next, want %q", now, want)
		}
	}
	head.must(head.post("/first-run", "id", "chief", "name", "Chief Engineer", "pin", testPINs["chief"], "pin_again",
		testPINs["chief"]), "/")
	next("Add the crew")
	for _, p := range testCrew[1:4] { // an officer and two technicians
		head.must(head.post("/people", "id", string(p.ID), "name", p.Name, "role", string(p.Roles[0]), "new_pin", firstPIN,
			"pin", testPINs["chief"]), "/people")
	}
	next("chooses an own PIN")
	for _, p := range testCrew[1:4] {
		b := a.browser()
		b.must(b.post("/sign-in", "person", string(p.ID), "pin", firstPIN), "/pin")
		own := testPINs[string(p.ID)]
		b.must(b.post("/pin", "old_pin", firstPIN, "new_pin", own, "new_pin_again", own), "/")
	}
	j := &job{a: a, tech: a.as("tech"), mate: a.as("mate"), oow: a.as("oow"), head: head, id: 1, path: "/permits/1"}
	next("fills in the template workbook")
	workbook := j.tech.get("/plant/workbook").body
	j.tech.must(j.tech.upload("/plant/propose", "mine.xlsx", []byte(workbook), "pin", testPINs["tech"]), "/plant/proposed")
	next("puts it in force")
	head.must(head.post("/plant", "sha256", a.reg.Ship().Proposed[permits.PlantFile].SHA256, "pin", testPINs["chief"]),
		"/plant")
	next("Print the labels")
	points := []string{}
	for _, n := range a.reg.Plant().Points() {
		points = append(points, "point", string(n.ID))
	}
	head.must(head.post("/points/labels", points...), "/points")
	wantPDF(t, head, "/points/labels.pdf")
	next("Request the first permit")

	j.tech.must(j.tech.post("/permits", "job", "P1-seal", "work", "The seal drips"), j.path)
	if strings.Contains(head.get("/").body, "Before the first permit") {
		t.Error("the board still tells what a new register needs")
	}
	j.authorise()
	wantPDF(t, j.oow, j.path+"/tags.pdf")
	labels, err := a.reg.LabelCodes(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	tags := a.codes(j.id)
	for _, l := range a.permit(j.id).Locks() {
		tag := tags[l.Step.N]
		a.wait(time.Minute) // what turns comes to rest
		if l.Step.N == 5 {  // the first that opens
			rotor := a.permit(j.id).Stored()[0].Check.ID
			j.tech.must(j.tech.post(j.path+"/reading/"+rotor, "value", "0"), j.path)
		}
		fields := append(j.fitFields(l), "label", labels[l.Step.Point].Text(), "measure_done", "yes", "no_pressure", "yes")
		j.tech.must(j.tech.post(tag+"/fit", fields...), tag)
		j.mate.must(j.mate.post(tag+"/check", "seen", "right", "pin", testPINs["mate"]), tag)
	}
	if p := a.permit(j.id); p.State() != permits.Proving || p.LocksOn() != 6 {
		t.Errorf("the permit is %s with %d locks and tags on, want 6 and to be proved", p.State(), p.LocksOn())
	}
}
