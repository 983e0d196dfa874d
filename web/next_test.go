package web

import (
	"regexp"
	"strings"
	"testing"
	"time"

	"stillwatch/permits"
	"stillwatch/web/sample"
	"stillwatch/web/screens"
)

// TestEveryOpenPermitIsOnTheBoard walks the canned permits and wants each that is not over to wait for somebody, and
// none that is over.
func TestEveryOpenPermitIsOnTheBoard(t *testing.T) {
	s, err := sample.NewShip()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := sample.CannedStages(s); err != nil {
		t.Fatal(err)
	}
	if s.Fault != nil {
		t.Fatal(s.Fault)
	}
	seen := map[permits.State]bool{}
	for _, p := range s.Permits {
		seen[p.State()] = true
		list := permits.WhatNext(s.Setting(sample.CannedCrew[2]), p)
		if got := len(list) > 0; got == p.State().IsOver() {
			t.Errorf("permit %d is %s and waits for %d things", p.ID(), p.State(), len(list))
		}
		for _, n := range list {
			if n.Who == "" || len(n.Roles) == 0 || !strings.HasSuffix(n.What, ".") {
				t.Errorf("permit %d, %s: next = %+v, want who, roles and a sentence", p.ID(), p.State(), n)
			}
		}
	}
	for _, st := range []permits.State{permits.Draft, permits.Authorised, permits.Isolating, permits.Proving, permits.Live,
		permits.Restoring, permits.Closed} {
		if !seen[st] {
			t.Errorf("no canned permit is %s", st)
		}
	}
	board := screens.BoardOf(s.Setting(sample.CannedCrew[2]), s.Open())
	lines := map[permits.PermitID]bool{}
	for _, g := range board.Groups {
		for _, l := range g.Lines {
			if lines[l.ID] {
				t.Errorf("permit %d stands on the board twice", l.ID)
			}
			lines[l.ID] = true
		}
	}
	if len(lines) != len(s.Open()) || board.Open != len(lines) {
		t.Errorf("the board shows %d permits and counts %d, want %d", len(lines), board.Open, len(s.Open()))
	}
}

func TestOverduePermitIsTheFirstThingOnTheBoard(t *testing.T) {
	j := begin(t)
	j.oow.must(j.oow.post(j.path+"/authorise", "hours", "2", "signer", "oow", "pin", testPINs["oow"]), j.path)
	if body := j.oow.get("/").body; strings.Contains(body, "Overdue: ") {
		t.Error("a running authorisation counts as overdue")
	}
	j.a.wait(3 * time.Hour)
	body := j.oow.get("/").body
	if !strings.Contains(body, "Overdue: 1 authorisation has run out") ||
		!strings.Contains(body, "Extend the authorisation, or cancel the permit") {
		t.Error("the board does not tell of the authorisation that has run out")
	}
	tag := j.a.codes(1)[1]
	if got := j.tech.get(tag).body; !strings.Contains(got, "The authorisation ran out at") {
		t.Error("the tag's page does not say that the authorisation has run out")
	}
	l, _ := j.a.permit(1).Lock(1)
	j.tech.refused(j.tech.post(tag+"/fit", j.fitFields(l)...), 422, "ran out at")
	j.oow.must(j.oow.post(j.path+"/extend", "hours", "4", "pin", testPINs["oow"]), j.path)
	j.tech.must(j.tech.post(tag+"/fit", j.fitFields(l)...), tag)
}

func TestSpansAreInWords(t *testing.T) {
	for s, want := range map[float64]string{0: "0 s", 89: "89 s", 90: "2 min", 3599: "60 min", 3600: "1 h",
		3900: "1 h 5 min", 86400: "1 d 0 h", -1: "not known"} {
		if got := screens.SpanWords(s); got != want {
			t.Errorf("spanWords(%g) = %q, want %q", s, got, want)
		}
	}
	for v, want := range map[float64]string{12: "12", 12.5: "12.5", -0.0001: "0", -3.25: "−3.25", 1234567: "1234567"} {
		if got := screens.Figure(v); got != want {
			t.Errorf("figure(%g) = %q, want %q", v, got, want)
		}
	}
}

// nextGo is a link that leads from what is next to where it is done.
var nextGo = regexp.MustCompile(`<p class="next-line yours">.*?</p>`)

// leadsOn holds each link of what is next for whoever reads: it leads to a page that has the form.
func (j *job) leadsOn() {
	j.a.t.Helper()
	for _, c := range []*browser{j.tech, j.mate, j.oow, j.head} {
		body := c.get(j.path).body
		wantAnchors(j.a.t, j.path+" ("+j.a.permit(j.id).State().String()+")", body)
		for _, line := range nextGo.FindAllString(body, -1) {
			m := regexp.MustCompile(`class="next-go" href="([^"]*)"`).FindStringSubmatch(line)
			if m == nil {
				j.a.t.Errorf("%s: no link leads to where it is done: %s", j.path, line)
				continue
			}
			page, id, _ := strings.Cut(m[1], "#")
			there := body
			if page != "" {
				there = c.get(page).body
			}
			if id != "" && !strings.Contains(there, `id="`+id+`"`) || id == "" && !strings.Contains(there, `id="f-`) {
				j.a.t.Errorf("%s: the link %s leads to no form: %s", j.path, m[1], line)
			}
		}
	}
}

// wantAnchors holds each link within a page: what it leads to is there.
func wantAnchors(t *testing.T, name, body string) {
	t.Helper()
	for _, m := range regexp.MustCompile(`href="#([^"]*)"`).FindAllStringSubmatch(body, -1) {
		if !strings.Contains(body, `id="`+m[1]+`"`) {
			t.Errorf("%s: nothing stands at #%s", name, m[1])
		}
	}
}

func TestWhatIsNextLeadsToItsForm(t *testing.T) {
	j := begin(t)
	for _, stage := range []func(){func() {}, j.authorise, j.isolate, j.record,
		func() { j.tech.must(j.tech.post(j.path+"/prove", "pin", testPINs["tech"]), j.path) },
		func() { j.oow.must(j.oow.post(j.path+"/issue", "pin", testPINs["oow"]), j.path) },
		func() {
			j.mate.must(j.mate.post(j.path+"/accept", "tools_out", "7", "pin", testPINs["mate"]), j.path)
		}, j.work} {
		stage()
		j.leadsOn()
	}
	for {
		j.between()
		l, on := j.a.permit(j.id).NextRemove()
		if !on {
			break
		}
		j.tech.must(j.tech.post(j.codeOf(l.Step.N)+"/remove", "position", string(l.Step.Clearance)), j.codeOf(l.Step.N))
		j.leadsOn()
	}
	j.see()
	j.leadsOn()
	j.between()
	j.leadsOn()
}

// TestEveryLinkWithinAPageLeadsSomewhere holds every page with made-up data.
func TestEveryLinkWithinAPageLeadsSomewhere(t *testing.T) {
	set, err := screens.Load(nil, func(name string) (string, error) { return "static/" + name, nil })
	if err != nil {
		t.Fatal(err)
	}
	list, err := sample.List()
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range list {
		body, err := set.Write(p.Screen, p.Make(sample.CannedBase("day", p.Name)))
		if err != nil {
			t.Fatal(err)
		}
		wantAnchors(t, p.Name, string(body))
	}
}

// TestTestRunThatAnotherPermitBlocksIsNotAskedFor has a second permit that is to hold the same points: the page of the
// first says so before tools are counted, and has no form.
func TestTestRunThatAnotherPermitBlocksIsNotAskedFor(t *testing.T) {
	j := liveJob(t)
	for _, who := range []string{"tech", "mate"} {
		j.tech.must(j.tech.post(j.path+"/sign-off", "signer", who, "pin", testPINs[who]), j.path)
	}
	const field = `id="ask-for-test-tools"`
	j.shows(j.mate, j.path, field)
	j.tech.must(j.tech.post("/permits", "job", "P1-seal", "work", "The other seal"), "/permits/2")
	j.oow.must(j.oow.post("/permits/2/authorise", "hours", "12", "pin", testPINs["oow"]), "/permits/2")
	j.shows(j.oow, "/permits/2", "Print the lock tags (PDF)")
	j.shows(j.mate, j.path, "Permit 2 is to hold Q1 too", "the test waits")
	j.hides(j.mate, j.path, field)
}
