package web

import (
	"os/exec"
	"regexp"
	"strings"
	"testing"

	"stillwatch/permits"
	"stillwatch/permits/register"
)

// TestWorkIsAddedThroughThePages takes a live permit through added work by the forms of the pages, from the wish to the
// closed permit, and reads plan sheet and permit on paper.
func TestWorkIsAddedThroughThePages(t *testing.T) {
	a := ship(t)
	a.as("chief").putInForce("/plant", "growing.yaml", plantText(t, "growing.yaml"))
	j := beginOn(a)
	j.authorise()
	j.isolate()
	j.record()
	j.goLive()
	change := j.path + "/change"
	j.shows(j.mate, j.path, change)
	j.tech.must(j.tech.post(j.path+"/sign-on", "pin", testPINs["tech"]), j.path)
	j.shows(j.mate, change, "Still signed on: Fitter One")
	j.tech.must(j.tech.post(j.path+"/sign-off", "pin", testPINs["tech"]), j.path)

	j.shows(j.mate, change+"?part=V2", "hangs for this permit as step 2 and would be opened itself")
	j.shows(j.mate, change+"?job=P1-filter", "V3", "new", `action="`+change+`"`)
	shown := regexp.MustCompile(`name="plan" value="([0-9a-f]{64})"`).FindStringSubmatch(j.mate.get(change +
		"?job=P1-filter").body)
	if shown == nil {
		t.Fatal("the page has no form for the plan that it shows")
	}
	asks := []string{"job", "P1-filter", "plan", shown[1], "words", "the filter is full of sludge", "signer", "mate",
		"pin", testPINs["mate"]}
	stale := append([]string{"job", "P1-filter", "plan", strings.Repeat("0", 64)}, asks[4:]...)
	j.mate.refused(j.mate.post(change, stale...), 409, "another one now than the one that was shown")
	j.mate.refused(j.mate.post(change, append([]string{"part", "V2"}, asks[2:]...)...), 422, "would be opened itself")
	j.mate.must(j.mate.post(change, asks...), change)
	j.wantState(permits.Suspended)
	j.shows(j.oow, "/", "Read what plan 2 changes")
	j.shows(j.oow, j.path, "Added work: plan 2, in place of plan 1")
	j.shows(j.oow, change, "the filter is full of sludge", `action="`+change+`/authorise"`, `action="`+change+`/drop"`)
	j.oow.refused(j.oow.post(j.path+"/resume", "pin", testPINs["oow"]), 422, "has asked for added work")
	j.oow.refused(j.oow.post(change+"/authorise", "number", "2", "asked", j.asked(), "hours", "900", "pin",
		testPINs["oow"]), 422, "The period must be")
	first := j.asked()
	j.mate.must(j.mate.post(change+"/drop", "words", "no time for it", "pin", testPINs["mate"]), j.path)
	j.mate.must(j.mate.post(change, asks...), change)
	j.oow.refused(j.oow.post(change+"/authorise", "number", "2", "asked", first, "hours", "8", "pin", testPINs["oow"]),
		409, "changed since the page was made")
	j.oow.must(j.oow.post(change+"/authorise", "number", "2", "asked", j.asked(), "hours", "8", "pin", testPINs["oow"]),
		j.path)
	j.wantState(permits.Isolating)

	j.fitNew(t)
	j.check()
	j.record()
	j.goLive()
	j.shows(j.oow, j.path, "plan 2, in place of plan 1", "Added: the filter is full of sludge")
	j.shows(j.oow, j.path+"/plan", "Plan 2, in place of plan 1", "New: Filter outlet (V3) is brought to SHUT")
	j.papersSay(t, "plan.pdf", "Plan 2, in place of plan 1 of this permit", "Filter outlet (V3) is brought to SHUT")
	j.papersSay(t, "permit.pdf", "Plan 2, in place of plan 1 of this permit", "authorised the added work")
	j.work()
	j.restore()
	j.close()
	j.wantState(permits.Closed)
	report, err := register.Verify(t.Context(), a.reg.Dir()) // every entry again through its gate, and the tables
	if err != nil || !report.OK() {
		t.Errorf("Verify() = %+v, %v, want nothing wrong", report, err)
	}
}

// asked is what the officer's form says of the wish that it shows.
func (j *job) asked() string {
	j.a.t.Helper()
	found := regexp.MustCompile(`name="asked" value="([0-9]+)"`).FindStringSubmatch(j.oow.get(j.path + "/change").body)
	if found == nil {
		j.a.t.Fatal("the page has no form for the officer")
	}
	return found[1]
}

// fitNew fits what the added work brought, and wants nothing else to be fitted.
func (j *job) fitNew(t *testing.T) {
	t.Helper()
	hang := j.a.permit(j.id).LocksOn()
	for {
		l, more := j.a.permit(j.id).NextFit()
		if !more {
			break
		}
		if l.Step.N <= hang {
			t.Fatalf("step %d is to be fitted, and %d hung before", l.Step.N, hang)
		}
		tag := j.codeOf(l.Step.N)
		j.tech.must(j.tech.post(tag+"/fit", j.fitFields(l)...), tag)
	}
}

// papersSay reads a paper of the permit.
func (j *job) papersSay(t *testing.T, name string, want ...string) {
	t.Helper()
	if _, err := exec.LookPath("pdftotext"); err != nil {
		t.Skip("no pdftotext to read papers with")
	}
	cmd := exec.Command("pdftotext", "-layout", "-", "-")
	cmd.Stdin = strings.NewReader(j.oow.get(j.path + "/" + name).body)
	text, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	said := strings.Join(strings.Fields(string(text)), " ")
	for _, w := range want {
		if !strings.Contains(said, w) {
			t.Errorf("%s does not say %q", name, w)
		}
	}
}
