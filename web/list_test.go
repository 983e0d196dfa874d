package web

import (
	"strings"
	"testing"

	"stillwatch/permits"
	"stillwatch/web/sample"
	"stillwatch/web/screens"
)

func TestLogLeavesSignInsOutUnlessAskedFor(t *testing.T) {
	j := begin(t)
	const line = "signed in</td>"
	if body := j.tech.get("/log").body; strings.Contains(body, line) ||
		!strings.Contains(body, "Signing in and out is left out") || !strings.Contains(body, "requested the permit") {
		t.Error("the log lists sign-ins unasked, does not say that it leaves them out, or lacks the request")
	}
	for _, path := range []string{"/log?signins=yes", "/log?kind=sign+in", "/log?person=tech"} {
		if body := j.tech.get(path).body; !strings.Contains(body, line) ||
			strings.Contains(body, "is left out of this list") {
			t.Errorf("%s lacks the sign-ins, or says that they are left out", path)
		}
	}
}

// TestLogPagesFillUpPastSignIns puts more sign-ins than a page holds above the last act, and wants the act on the first
// page.
func TestLogPagesFillUpPastSignIns(t *testing.T) {
	j := begin(t)
	for range logPage + 5 {
		j.a.as("hand")
	}
	body := j.tech.get("/log").body
	if !strings.Contains(body, "requested the permit") {
		t.Error("the newest acts are not on the first page")
	}
	if strings.Contains(body, "/log?before=") {
		t.Error("an older page is offered although every entry was looked at")
	}
	if old := j.tech.get("/log?signins=yes").body; !strings.Contains(old, "before=") {
		t.Error("the full list offers no older page")
	}
}

func TestPointsAreFoldedByPlace(t *testing.T) {
	s, err := sample.NewShip()
	if err != nil {
		t.Fatal(err)
	}
	list := screens.PointLines(s.Setting(sample.CannedCrew[2]), "")
	n, passing := 0, 0
	seen := map[string]bool{}
	for _, g := range screens.PointGroups(list, false) {
		if seen[g.Place] {
			t.Errorf("%s stands twice", g.Place)
		}
		seen[g.Place] = true
		n, passing = n+len(g.Points), passing+g.Passing
		if g.Open != (len(list) <= screens.FewPoints) {
			t.Errorf("%s: open = %v with %d points in all", g.Place, g.Open, len(list))
		}
	}
	if n != len(list) || passing != len(s.Ship.Passing) {
		t.Errorf("groups hold %d points and %d that pass, want %d and %d", n, passing, len(list), len(s.Ship.Passing))
	}
	for _, g := range screens.PointGroups(list, true) {
		if !g.Open {
			t.Errorf("%s is folded although points were sought", g.Place)
		}
	}
}

func TestSignInTellsOfTrustOnlyWhereThereIsAnAuthority(t *testing.T) {
	a := ship(t)
	if body := a.browser().get("/sign-in").body; strings.Contains(body, `href="/trust"`) {
		t.Error("the sign-in page leads to an authority that does not exist")
	}
	a.web.cfg.Trust = &screens.Trust{}
	if body := a.browser().get("/sign-in").body; !strings.Contains(body, `href="/trust"`) {
		t.Error("the sign-in page does not tell of the ship's authority")
	}
}

func TestPermitThatWaitsForTwoStandsOnceOnTheBoard(t *testing.T) {
	j := begin(t)
	j.authorise()
	tag := j.a.codes(1)[1]
	l, _ := j.a.permit(1).Lock(1)
	j.tech.must(j.tech.post(tag+"/fit", j.fitFields(l)...), tag)
	j.wantState(permits.Isolating)
	body := j.tech.get("/").body
	if n := strings.Count(body, `class="card-link"`); n != 1 {
		t.Errorf("the board shows %d cards, want 1", n)
	}
	for _, who := range []string{"technician:</b> Fit", "second person:</b> Look at"} {
		if !strings.Contains(body, who) {
			t.Errorf("the card lacks %q", who)
		}
	}
}
