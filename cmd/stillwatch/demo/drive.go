package demo

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"strings"
	"time"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/register"
	"stillwatch/web/screens"
)

// Drive walks permits through the running server's own pages, as the crew would, and prints one line an act. It
// remembers the first thing that went otherwise than it should; after that it does nothing more.
type Drive struct {
	Ctx    context.Context
	Out    io.Writer
	Reg    *register.Register
	Clock  DayClock
	Base   string
	People map[string]*demoPerson
	acts   int
	No     int // refusals, all of them wanted
	Err    error
}

// SignIn opens a session for everybody of the crew.
func (d *Drive) SignIn() {
	d.People = map[string]*demoPerson{}
	for _, c := range DemoCrew {
		p, err := NewDemoPerson(d.Base, string(c.ID), c.Name, c.Pin)
		if err != nil {
			d.Err = err
			return
		}
		d.People[p.id] = p
		d.enters(p, "signs in as "+c.Rank)
	}
}

// enters signs somebody in on their own device.
func (d *Drive) enters(p *demoPerson, words string) {
	d.Act(p.id, words, "/sign-in", "/sign-in", map[string]string{"person": p.id, "pin": p.Pin})
}

// Act sends one form and wants it taken. It returns the path of the page that came back.
func (d *Drive) Act(who, words, path, action string, fields map[string]string) string {
	a, ok := d.send(who, words, path, action, fields)
	if !ok {
		return ""
	}
	if a.Status >= http.StatusBadRequest || a.Refusal() != "" {
		d.Err = fmt.Errorf("%s %s: status %d, %s", who, words, a.Status, a.Refusal())
		return ""
	}
	d.acts++
	fmt.Fprintf(d.Out, "  %3d  %s  %-5s %s\n", d.acts, d.Clock.Now().Format("15:04"), d.People[who].name, words)
	d.Clock.Pass(2 * time.Minute)
	return a.path
}

// refused sends one form, also where the page does not offer it any more, and wants it refused with words that say why.
func (d *Drive) refused(who, words, path, action string, fields map[string]string) {
	if d.Err != nil {
		return
	}
	a, err := d.People[who].insist(d.Ctx, path, action, fields)
	if err != nil {
		d.Err = fmt.Errorf("%s %s: %w", who, words, err)
		return
	}
	why := a.Refusal()
	if a.Status < http.StatusBadRequest || why == "" {
		d.Err = fmt.Errorf("%s %s: it was taken (status %d), but it must be refused", who, words, a.Status)
		return
	}
	d.No++
	fmt.Fprintf(d.Out, "   no  %s  %-5s %s\n                    REFUSED: %s\n", d.Clock.Now().Format("15:04"),
		d.People[who].name, words, why)
}

func (d *Drive) send(who, words, path, action string, fields map[string]string) (Answer, bool) {
	if d.Err != nil {
		return Answer{}, false
	}
	a, err := d.People[who].send(d.Ctx, path, action, fields)
	if err != nil {
		d.Err = fmt.Errorf("%s %s: %w", who, words, err)
		return Answer{}, false
	}
	return a, true
}

// wait lets hours go by, while everybody looks at the board now and then.
func (d *Drive) wait(words string, long time.Duration) {
	fmt.Fprintf(d.Out, "       %s  ...   %s\n", d.Clock.Now().Format("15:04"), words)
	for long > 0 && d.Err == nil {
		d.Clock.Pass(min(long, time.Hour))
		long -= time.Hour
		for _, c := range DemoCrew {
			a, err := d.People[string(c.ID)].Open(d.Ctx, "/")
			switch {
			case d.Err != nil:
				return
			case err != nil:
				d.Err = err
			case strings.HasPrefix(a.path, "/sign-in"): // a session lasts one long day at most
				d.enters(d.People[string(c.ID)], "signs in anew")
			}
		}
	}
}

// SignedBy adds a person's own signature to a form's fields.
func (d *Drive) SignedBy(who string, fields map[string]string) map[string]string {
	out := map[string]string{"signer": who, "pin": d.People[who].Pin}
	for k, v := range fields {
		out[k] = v
	}
	return out
}

// Permit returns the permit as the register has it, for the readings that a technician would take at the machine.
func (d *Drive) Permit(id permits.PermitID) permits.Permit {
	p, err := d.Reg.Permit(d.Ctx, id)
	if err != nil && d.Err == nil {
		d.Err = err
	}
	return p
}

// codes returns the codes of a permit's tags, as printed on the sheet that the technician carries.
func (d *Drive) codes(id permits.PermitID) map[int]permits.TagCode {
	codes, err := d.Reg.TagCodes(d.Ctx, id)
	if err != nil && d.Err == nil {
		d.Err = err
	}
	return codes
}

// Labels returns the codes of the labels fixed to the points.
func (d *Drive) Labels() map[string]string {
	out := map[string]string{}
	codes, err := d.Reg.LabelCodes(d.Ctx)
	if err != nil && d.Err == nil {
		d.Err = err
	}
	for point, code := range codes {
		out[string(point)] = code.Text()
	}
	return out
}

// Request asks for a permit and returns its number.
func (d *Drive) Request(who, job, work string) permits.PermitID {
	path := d.Act(who, "requests a permit for job "+job, "/permits/new?job="+job, "/permits",
		map[string]string{"job": job, "work": work})
	if d.Err != nil {
		return 0
	}
	n, err := strconv.ParseInt(lastPart(path), 10, 64)
	if err != nil {
		d.Err = fmt.Errorf("request %s: no permit number in %q", job, path)
	}
	return permits.PermitID(n)
}

func lastPart(path string) string {
	for i := len(path) - 1; i >= 0; i-- {
		if path[i] == '/' {
			return path[i+1:]
		}
	}
	return path
}

// Authorise lets the officer of the watch sign the isolation.
func (d *Drive) Authorise(who string, id permits.PermitID, hours string) {
	p := screens.PermitPath(id)
	d.Act(who, fmt.Sprintf("authorises the isolation of permit %d for %s hours", id, hours), p, p+"/authorise",
		d.SignedBy(who, map[string]string{"hours": hours, "unproved": "yes"}))
	if d.Permit(id).NeedsAnswer() {
		d.Act("aram", "answers with "+d.People[who].name+" for what the plan does not prove", p, p+"/answer",
			d.SignedBy("aram", nil))
	}
}

// fitFields are what a technician enters at the tag of a step.
func fitFields(l permits.Lock, id permits.PermitID, labels map[string]string) map[string]string {
	f := map[string]string{"position": string(l.Step.Position), "label": labels[string(l.Step.Point)]}
	if l.Step.Measure != "" {
		f["measure_done"] = "yes"
	}
	if l.Step.Phase == isolation.PhaseBlank {
		f["no_pressure"] = "yes"
	}
	if l.Step.Lock {
		f["padlock"] = fmt.Sprintf("L%d-%02d", id, l.Step.N)
	}
	return f
}

// Fit hangs the lock or tag of a step by its code.
func (d *Drive) Fit(who string, id permits.PermitID, l permits.Lock) {
	tag := "/T/" + d.codes(id)[l.Step.N].Text()
	what := "fits lock"
	if !l.Step.Lock {
		what = "hangs tag"
	}
	d.Act(who, fmt.Sprintf("%s %d: %s %s %s", what, l.Step.N, l.Step.Point, l.Step.Name, l.Step.Position), tag, tag+"/fit",
		fitFields(l, id, d.Labels()))
}

// Check lets a second person look at a fitted lock and sign.
func (d *Drive) Check(who string, id permits.PermitID, l permits.Lock) {
	tag := "/T/" + d.codes(id)[l.Step.N].Text()
	d.Act(who, fmt.Sprintf("sees %d right: %s", l.Step.N, l.Step.Point), tag, tag+"/check",
		d.SignedBy(who, map[string]string{"seen": "right"}))
}

// remove takes a lock or tag off and leaves the point where the plant needs it.
func (d *Drive) remove(who string, id permits.PermitID, l permits.Lock) {
	tag := "/T/" + d.codes(id)[l.Step.N].Text()
	left, _ := d.Permit(id).LeaveAt(d.Reg.Held(), l)
	d.Act(who, fmt.Sprintf("takes %d off: %s left %s", l.Step.N, l.Step.Point, left), tag, tag+"/remove",
		map[string]string{"position": string(left)})
}

// see lets a second person look at a point whose lock came off, and sign.
func (d *Drive) see(who string, id permits.PermitID, l permits.Lock) {
	tag := "/T/" + d.codes(id)[l.Step.N].Text()
	d.Act(who, fmt.Sprintf("sees %s right, left %s", l.Step.Point, l.Step.Kind.Word(l.Left)), tag, tag+"/see",
		d.SignedBy(who, map[string]string{"seen": "right"}))
}
