package main

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
)

// drive walks permits through the running server's own pages, as the crew would, and prints one line an act. It
// remembers the first thing that went otherwise than it should; after that it does nothing more.
type drive struct {
	ctx    context.Context
	out    io.Writer
	reg    *register.Register
	clock  dayClock
	base   string
	people map[string]*demoPerson
	acts   int
	no     int // refusals, all of them wanted
	err    error
}

// signIn opens a session for everybody of the crew.
func (d *drive) signIn() {
	d.people = map[string]*demoPerson{}
	for _, c := range demoCrew {
		p, err := newDemoPerson(d.base, string(c.ID), c.Name, c.pin)
		if err != nil {
			d.err = err
			return
		}
		d.people[p.id] = p
		d.enters(p, "signs in as "+c.Rank)
	}
}

// enters signs somebody in on their own device.
func (d *drive) enters(p *demoPerson, words string) {
	d.act(p.id, words, "/sign-in", "/sign-in", map[string]string{"person": p.id, "pin": p.pin})
}

// act sends one form and wants it taken. It returns the path of the page that came back.
func (d *drive) act(who, words, path, action string, fields map[string]string) string {
	a, ok := d.send(who, words, path, action, fields)
	if !ok {
		return ""
	}
	if a.status >= http.StatusBadRequest || a.refusal() != "" {
		d.err = fmt.Errorf("%s %s: status %d, %s", who, words, a.status, a.refusal())
		return ""
	}
	d.acts++
	fmt.Fprintf(d.out, "  %3d  %s  %-5s %s\n", d.acts, d.clock.Now().Format("15:04"), d.people[who].name, words)
	d.clock.pass(2 * time.Minute)
	return a.path
}

// refused sends one form, also where the page does not offer it any more, and wants it refused with words that say why.
func (d *drive) refused(who, words, path, action string, fields map[string]string) {
	if d.err != nil {
		return
	}
	a, err := d.people[who].insist(d.ctx, path, action, fields)
	if err != nil {
		d.err = fmt.Errorf("%s %s: %w", who, words, err)
		return
	}
	why := a.refusal()
	if a.status < http.StatusBadRequest || why == "" {
		d.err = fmt.Errorf("%s %s: it was taken (status %d), but it must be refused", who, words, a.status)
		return
	}
	d.no++
	fmt.Fprintf(d.out, "   no  %s  %-5s %s\n                    REFUSED: %s\n", d.clock.Now().Format("15:04"),
		d.people[who].name, words, why)
}

func (d *drive) send(who, words, path, action string, fields map[string]string) (answer, bool) {
	if d.err != nil {
		return answer{}, false
	}
	a, err := d.people[who].send(d.ctx, path, action, fields)
	if err != nil {
		d.err = fmt.Errorf("%s %s: %w", who, words, err)
		return answer{}, false
	}
	return a, true
}

// wait lets hours go by, while everybody looks at the board now and then.
func (d *drive) wait(words string, long time.Duration) {
	fmt.Fprintf(d.out, "       %s  ...   %s\n", d.clock.Now().Format("15:04"), words)
	for long > 0 && d.err == nil {
		d.clock.pass(min(long, time.Hour))
		long -= time.Hour
		for _, c := range demoCrew {
			a, err := d.people[string(c.ID)].open(d.ctx, "/")
			switch {
			case d.err != nil:
				return
			case err != nil:
				d.err = err
			case strings.HasPrefix(a.path, "/sign-in"): // a session lasts one long day at most
				d.enters(d.people[string(c.ID)], "signs in anew")
			}
		}
	}
}

// signedBy adds a person's own signature to a form's fields.
func (d *drive) signedBy(who string, fields map[string]string) map[string]string {
	out := map[string]string{"signer": who, "pin": d.people[who].pin}
	for k, v := range fields {
		out[k] = v
	}
	return out
}

// permit returns the permit as the register has it, for the readings that a technician would take at the machine.
func (d *drive) permit(id permits.PermitID) permits.Permit {
	p, err := d.reg.Permit(d.ctx, id)
	if err != nil && d.err == nil {
		d.err = err
	}
	return p
}

// codes returns the codes of a permit's tags, as printed on the sheet that the technician carries.
func (d *drive) codes(id permits.PermitID) map[int]permits.TagCode {
	codes, err := d.reg.TagCodes(d.ctx, id)
	if err != nil && d.err == nil {
		d.err = err
	}
	return codes
}

// labels returns the codes of the labels fixed to the points.
func (d *drive) labels() map[string]string {
	out := map[string]string{}
	codes, err := d.reg.LabelCodes(d.ctx)
	if err != nil && d.err == nil {
		d.err = err
	}
	for point, code := range codes {
		out[string(point)] = code.Text()
	}
	return out
}

// request asks for a permit and returns its number.
func (d *drive) request(who, job, work string) permits.PermitID {
	path := d.act(who, "requests a permit for job "+job, "/permits/new?job="+job, "/permits",
		map[string]string{"job": job, "work": work})
	if d.err != nil {
		return 0
	}
	n, err := strconv.ParseInt(lastPart(path), 10, 64)
	if err != nil {
		d.err = fmt.Errorf("request %s: no permit number in %q", job, path)
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

func permitPath(id permits.PermitID) string { return fmt.Sprintf("/permits/%d", id) }

// authorise lets the officer of the watch sign the isolation.
func (d *drive) authorise(who string, id permits.PermitID, hours string) {
	p := permitPath(id)
	d.act(who, fmt.Sprintf("authorises the isolation of permit %d for %s hours", id, hours), p, p+"/authorise",
		d.signedBy(who, map[string]string{"hours": hours, "unproved": "yes"}))
	if d.permit(id).NeedsAnswer() {
		d.act("aram", "answers with "+d.people[who].name+" for what the plan does not prove", p, p+"/answer",
			d.signedBy("aram", nil))
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

// fit hangs the lock or tag of a step by its code.
func (d *drive) fit(who string, id permits.PermitID, l permits.Lock) {
	tag := "/T/" + d.codes(id)[l.Step.N].Text()
	what := "fits lock"
	if !l.Step.Lock {
		what = "hangs tag"
	}
	d.act(who, fmt.Sprintf("%s %d: %s %s %s", what, l.Step.N, l.Step.Point, l.Step.Name, l.Step.Position), tag, tag+"/fit",
		fitFields(l, id, d.labels()))
}

// check lets a second person look at a fitted lock and sign.
func (d *drive) check(who string, id permits.PermitID, l permits.Lock) {
	tag := "/T/" + d.codes(id)[l.Step.N].Text()
	d.act(who, fmt.Sprintf("sees %d right: %s", l.Step.N, l.Step.Point), tag, tag+"/check",
		d.signedBy(who, map[string]string{"seen": "right"}))
}

// remove takes a lock or tag off and leaves the point where the plant needs it.
func (d *drive) remove(who string, id permits.PermitID, l permits.Lock) {
	tag := "/T/" + d.codes(id)[l.Step.N].Text()
	left, _ := d.permit(id).LeaveAt(d.reg.Held(), l)
	d.act(who, fmt.Sprintf("takes %d off: %s left %s", l.Step.N, l.Step.Point, left), tag, tag+"/remove",
		map[string]string{"position": string(left)})
}

// see lets a second person look at a point whose lock came off, and sign.
func (d *drive) see(who string, id permits.PermitID, l permits.Lock) {
	tag := "/T/" + d.codes(id)[l.Step.N].Text()
	d.act(who, fmt.Sprintf("sees %s right, left %s", l.Step.Point, l.Step.Kind.Word(l.Left)), tag, tag+"/see",
		d.signedBy(who, map[string]string{"seen": "right"}))
}
