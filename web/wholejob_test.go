package web

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"stillwatch/permits"
)

// job is one permit on its way, with the people who take it there.
type job struct {
	a                     *aboard
	tech, mate, oow, head *browser
	id                    permits.PermitID
	path                  string
}

func begin(t *testing.T) *job {
	t.Helper()
	a := ship(t)
	return beginOn(a)
}

func beginOn(a *aboard) *job {
	a.t.Helper()
	j := &job{a: a, tech: a.as("tech"), mate: a.as("mate"), oow: a.as("oow"), head: a.as("chief"), id: 1,
		path: "/permits/1"}
	j.tech.must(j.tech.post("/permits", "job", "P1-seal", "work", "Seal leaks: renew it"), j.path)
	return j
}

func (j *job) authorise() {
	j.a.t.Helper()
	j.oow.must(j.oow.post(j.path+"/authorise", "hours", "12", "signer", "oow", "pin", testPINs["oow"]), j.path)
}

func (j *job) fitFields(l permits.Lock) []string {
	f := []string{"position", string(l.Step.Position)}
	if l.Step.Lock {
		f = append(f, "padlock", fmt.Sprintf("L-%d", l.Step.N))
	}
	return f
}

func (j *job) isolate() {
	j.a.t.Helper()
	tags := j.a.codes(j.id)
	for _, l := range j.a.permit(j.id).Locks() {
		tag := tags[l.Step.N]
		j.tech.must(j.tech.post(tag+"/fit", j.fitFields(l)...), tag)
		j.mate.must(j.mate.post(tag+"/check", "seen", "right", "pin", testPINs["mate"]), tag)
	}
}

// drainsRun is how long the tests let drains run before they record: longer than the hold that they write down.
const drainsRun = 20 * time.Minute

func (j *job) record() {
	j.a.t.Helper()
	j.a.wait(drainsRun)
	p := j.a.permit(j.id)
	for _, d := range p.Drains() {
		j.tech.must(j.tech.post(j.path+"/drain/"+d.Section.ID, "out_l", fmt.Sprintf("%.2f", d.Section.OutL), "hold_min", "15",
			"hold_in_l", "0", "gauge_bar", "0", "temp_c", "30", "into", "Sludge tank"), j.path)
	}
	for _, r := range p.Stored() {
		j.tech.must(j.tech.post(j.path+"/reading/"+r.Check.ID, "value", fmt.Sprintf("%.2f", r.Check.Limit)), j.path)
	}
	for _, d := range p.Dead() {
		j.tech.must(j.tech.post(j.path+"/dead/"+d.Test.ID, "proved_before", "yes", "dead", "yes", "proved_after", "yes"),
			j.path)
	}
	if p.NeedsStart() {
		j.tech.must(j.tech.post(j.path+"/start", "still", "yes", "controls_off", "yes"), j.path)
	}
}

func (j *job) goLive() {
	j.a.t.Helper()
	j.tech.must(j.tech.post(j.path+"/prove", "pin", testPINs["tech"]), j.path)
	j.oow.must(j.oow.post(j.path+"/issue", "pin", testPINs["oow"]), j.path)
	j.tech.refused(j.tech.post(j.path+"/accept", "tools_out", "7", "pin", testPINs["tech"]), 422, "signed the proof")
	j.mate.must(j.mate.post(j.path+"/accept", "tools_out", "7", "pin", testPINs["mate"]), j.path)
}

// test runs the motor for a test, from a live permit to a live permit; see is called at every step.
func (j *job) test(see func()) {
	j.a.t.Helper()
	asks := func(tools string) answerPage {
		return j.mate.post(j.path+"/test", "run", "motor", "tools_back", tools, "closed", "yes", "pin", testPINs["mate"])
	}
	j.mate.refused(asks("6"), 422, "7 tools and parts went out and 6 came back")
	j.mate.must(asks("7"), j.path)
	see()
	lift, _ := j.a.permit(j.id).NextLift()
	tag := j.codeOf(lift.Step.N)
	left := string(lift.Step.Clearance)
	j.tech.refused(j.tech.post(tag+"/lift", "position", left), 422, "not sanctioned")
	j.oow.must(j.oow.post(j.path+"/test/sanction", "pin", testPINs["oow"]), j.path)
	see()
	j.tech.must(j.tech.post(tag+"/lift", "position", left), tag)
	see()
	j.tech.must(j.tech.post(j.path+"/test/record", "words", "turns the right way", "pin", testPINs["tech"]), j.path)
	j.tech.refused(j.tech.post(j.path+"/test/end", "pin", testPINs["tech"]), 422, "only where nothing runs")
	j.tech.must(j.tech.post(j.path+"/test/end", "stopped", "yes", "pin", testPINs["tech"]), j.path)
	see()
	l, _ := j.a.permit(j.id).Lock(lift.Step.N)
	j.tech.must(j.tech.post(tag+"/fit", j.fitFields(l)...), tag)
	j.check()
	j.record()
	j.goLive()
}

func (j *job) work() {
	j.a.t.Helper()
	j.tech.must(j.tech.post(j.path+"/sign-on", "pin", testPINs["tech"]), j.path)
	j.tech.must(j.tech.post(j.path+"/sign-on", "signer", "mate", "pin", testPINs["mate"]), j.path)
	j.mate.refused(j.mate.post(j.path+"/hand-back", "tools_back", "7", "guards_back", "yes", "pin", testPINs["mate"]), 422,
		"Still signed on")
	j.tech.must(j.tech.post(j.path+"/sign-off", "signer", "mate", "pin", testPINs["mate"]), j.path)
	j.tech.must(j.tech.post(j.path+"/sign-off", "pin", testPINs["tech"]), j.path)
	j.mate.refused(j.mate.post(j.path+"/hand-back", "tools_back", "6", "guards_back", "yes", "pin", testPINs["mate"]), 422,
		"7 tools and parts went out and 6 came back")
	j.mate.must(j.mate.post(j.path+"/hand-back", "tools_back", "7", "guards_back", "yes", "pin", testPINs["mate"]), j.path)
}

func (j *job) restore() {
	j.a.t.Helper()
	tags := j.a.codes(j.id)
	for {
		j.between()
		l, on := j.a.permit(j.id).NextRemove()
		if !on {
			break
		}
		tag := tags[l.Step.N]
		j.tech.must(j.tech.post(tag+"/remove", "position", string(l.Step.Clearance)), tag)
	}
	j.see()
	j.between()
}

// between signs what comes before the next lock, or after the last when every point was seen.
func (j *job) between() {
	j.a.t.Helper()
	for {
		p := j.a.permit(j.id)
		a, due, _ := p.NextAdded()
		if !due || a.Before == 0 && len(p.Unseen()) > 0 {
			return
		}
		at := fmt.Sprintf("%s/back/%d", j.path, a.N)
		if body := j.tech.get(j.path).body; !strings.Contains(body, `action="`+at+`"`) {
			j.a.t.Fatalf("the page does not ask for %q", a.Do)
		}
		j.tech.must(j.tech.post(at, "pin", testPINs["tech"]), j.path)
	}
}

// check has a second person look at every lock that wants it.
func (j *job) check() {
	j.a.t.Helper()
	tags := j.a.codes(j.id)
	for _, l := range j.a.permit(j.id).Unchecked() {
		j.mate.must(j.mate.post(tags[l.Step.N]+"/check", "seen", "right", "pin", testPINs["mate"]), tags[l.Step.N])
	}
}

// see has a second person look at every point whose lock came off.
func (j *job) see() {
	j.a.t.Helper()
	tags := j.a.codes(j.id)
	for _, l := range j.a.permit(j.id).Unseen() {
		tag, who, pin := tags[l.Step.N], j.mate, "mate"
		if l.Removed.By == "mate" {
			who, pin = j.tech, "tech"
		}
		who.must(who.post(tag+"/see", "seen", "right", "pin", testPINs[pin]), tag)
	}
}

func (j *job) close() {
	j.a.t.Helper()
	j.head.must(j.head.post(j.path+"/close", "positions", "yes", "told", "yes", "pin", testPINs["chief"]), j.path)
}

func (j *job) wantState(want permits.State) {
	j.a.t.Helper()
	if got := j.a.permit(j.id).State(); got != want {
		j.a.t.Fatalf("State() = %s, want %s", got, want)
	}
}

func TestWholeJobIsDoneThroughPlainForms(t *testing.T) {
	j := begin(t)
	j.wantState(permits.Draft)
	j.authorise()
	j.wantState(permits.Authorised)
	j.isolate()
	j.wantState(permits.Proving)
	j.record()
	j.goLive()
	j.wantState(permits.Live)
	j.work()
	j.wantState(permits.HandedBack)
	j.head.refused(j.head.post(j.path+"/close", "positions", "yes", "told", "yes", "pin", testPINs["chief"]), 422,
		"still hang")
	j.restore()
	j.wantState(permits.Restoring)
	j.close()
	j.wantState(permits.Closed)
	for _, path := range []string{j.path, j.path + "/plan", "/", "/permits", "/log", "/points", "/points/V1", "/people",
		"/plant", "/entries/3"} {
		if got := j.tech.get(path); got.status != http.StatusOK {
			t.Errorf("GET %s = %d, want 200", path, got.status)
		}
	}
}

// TestEveryStateOffersItsForms walks the job and wants, in each state, the forms on the page that lead on.
func TestEveryStateOffersItsForms(t *testing.T) {
	j := begin(t)
	offers := func(path string, actions ...string) {
		t.Helper()
		body := j.tech.get(path).body
		for _, action := range actions {
			i := strings.Index(body, `action="`+action+`"`)
			if i < 0 {
				t.Errorf("%s in state %s does not offer %s", path, j.a.permit(j.id).State(), action)
			} else if !strings.Contains(body[i:], `name="act_id"`) {
				t.Errorf("the form %s carries no act id", action)
			}
		}
	}
	offers(j.path, j.path+"/authorise", j.path+"/cancel")
	j.authorise()
	tags := j.a.codes(j.id)
	offers(tags[1], tags[1]+"/fit")
	offers(j.path, j.path+"/extend", j.path+"/cancel")
	l, _ := j.a.permit(j.id).Lock(1)
	j.tech.must(j.tech.post(tags[1]+"/fit", j.fitFields(l)...), tags[1])
	offers(tags[1], tags[1]+"/check")
	if body := j.tech.get(tags[3]).body; strings.Contains(body, tags[3]+"/fit") ||
		!strings.Contains(body, "Tag 2 comes first") {
		t.Error("the page of tag 3 does not say that tag 2 comes first, or has a form")
	}
	j.mate.must(j.mate.post(tags[1]+"/check", "seen", "right", "pin", testPINs["mate"]), tags[1])
	for _, l := range j.a.permit(j.id).Locks()[1:] {
		j.tech.must(j.tech.post(tags[l.Step.N]+"/fit", j.fitFields(l)...), tags[l.Step.N])
		j.mate.must(j.mate.post(tags[l.Step.N]+"/check", "seen", "right", "pin", testPINs["mate"]), tags[l.Step.N])
	}
	for _, d := range j.a.permit(j.id).Drains() {
		offers(j.path, j.path+"/drain/"+d.Section.ID)
	}
	offers(j.path, j.path+"/start")
	j.record()
	offers(j.path, j.path+"/prove")
	j.goLive()
	offers(j.path, j.path+"/sign-on", j.path+"/hand-back", j.path+"/cancel")
	j.work()
	last, _ := j.a.permit(j.id).NextRemove()
	offers(tags[last.Step.N], tags[last.Step.N]+"/remove")
	if body := j.tech.get(tags[1]).body; strings.Contains(body, tags[1]+"/remove") || !strings.Contains(body,
		"comes off next") {
		t.Error("the page of tag 1 does not say which comes off next, or has a form")
	}
	offers(j.path, j.path+"/release")
	j.restore()
	offers(j.path, j.path+"/close")
	j.close()
	body := j.tech.get(j.path).body
	if strings.Contains(body, `action="`+j.path+"/") {
		t.Error("the page of a closed permit offers a form")
	}
}
