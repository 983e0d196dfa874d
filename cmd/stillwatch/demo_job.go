package main

import (
	"fmt"
	"strconv"
	"time"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// wholeJob is the main job of one separator: everything from the request to the closed permit, with five things that
// a gate must refuse on the way. It returns the permit's number.
func (d *drive) wholeJob() permits.PermitID {
	id := d.request("tove", "S1-bowl", "Bowl overhaul: running hours reached, water seal lost twice this week")
	d.authorise("ilse", id, "12")
	d.isolate(id)
	d.prove(id)
	d.work(id)
	d.restore(id)
	return id
}

// isolate fits and checks every lock; on the way a tag comes out of order, and the fitter wants to check his own lock.
func (d *drive) isolate(id permits.PermitID) {
	locks := d.permit(id).Locks()
	if d.err != nil || len(locks) < 3 {
		return
	}
	second := "/T/" + d.codes(id)[2].Text()
	d.refused("tove", "scans tag 2 before tag 1 hangs", second, second+"/fit", fitFields(locks[1], id, d.labels()))
	for i, l := range locks {
		d.readFirst(id, l)
		d.fit("tove", id, l)
		if i == 0 {
			first := "/T/" + d.codes(id)[1].Text()
			d.refused("tove", "wants to check the lock that she fitted herself", first, first+"/check",
				d.signedBy("tove", map[string]string{"seen": "right"}))
		}
	}
	for _, l := range locks {
		d.check("bao", id, l)
	}
}

// prove drains, reads and tests, then signs the proof.
func (d *drive) prove(id permits.PermitID) {
	p, path := d.permit(id), permitPath(id)
	d.wait("the lines drain, the bowl runs down and cools", longestWait(p))
	for _, s := range p.Drains() {
		words := fmt.Sprintf("drains %s: %.1f of %.1f litres out, nothing in the hold", s.Section.Name, s.Section.OutL,
			s.Section.TrappedL)
		d.act("tove", words, path, path+"/drain/"+s.Section.ID, map[string]string{
			"out_l": number(s.Section.OutL), "hold_min": "15", "hold_in_l": "0", "gauge_bar": "0", "temp_c": "40",
			"into": "Sludge tank"})
	}
	for _, s := range p.Stored() {
		d.read(id, s)
	}
	for _, t := range p.Dead() {
		d.act("tove", "tests dead: "+t.Test.Name, path, path+"/dead/"+t.Test.ID,
			map[string]string{"proved_before": "yes", "dead": "yes", "proved_after": "yes"})
	}
	if p.NeedsStart() {
		d.act("tove", "tries to start: nothing moves, controls back to off", path, path+"/start",
			map[string]string{"still": "yes", "controls_off": "yes"})
	}
	d.act("tove", "signs the proof", path, path+"/prove", d.signedBy("tove", nil))
}

// readFirst waits for what must be at rest before a step is fitted, and reads it; on the way the step comes too early.
func (d *drive) readFirst(id permits.PermitID, l permits.Lock) {
	first := d.permit(id).FirstReadings(d.clock.Now())
	if d.err != nil || len(first) == 0 {
		return
	}
	tag := "/T/" + d.codes(id)[l.Step.N].Text()
	d.refused("tove", fmt.Sprintf("wants to open %s while the bowl still turns", l.Step.Point), tag, tag+"/fit",
		fitFields(l, id, d.labels()))
	d.wait("the bowl runs down", longestOf(first))
	for _, s := range first {
		d.read(id, s)
	}
}

// read records one stored energy within its limit.
func (d *drive) read(id permits.PermitID, s permits.StoredState) {
	path := permitPath(id)
	if s.Check.Unit == "" {
		d.act("tove", "confirms at "+s.Check.Name+": "+s.Check.Quantity, path, path+"/reading/"+s.Check.ID,
			map[string]string{"value": "yes"})
		return
	}
	d.act("tove", fmt.Sprintf("reads %s: %s %s", s.Check.Name, number(s.Check.Limit), s.Check.Unit), path,
		path+"/reading/"+s.Check.ID, map[string]string{"value": number(s.Check.Limit)})
}

// longestOf is the longest of the waits that were foretold for some stored energies.
func longestOf(list []permits.StoredState) time.Duration {
	s := 0.0
	for _, c := range list {
		s = max(s, c.Check.WaitS)
	}
	return time.Duration(s * float64(time.Second))
}

// longestWait is how long the crew waits before it reads anything: the longest of what was foretold.
func longestWait(p permits.Permit) time.Duration {
	s := longestOf(p.Stored())
	for _, d := range p.Drains() {
		s = max(s, time.Duration(d.Section.DrainS*float64(time.Second)))
	}
	return s
}

func number(v float64) string { return strconv.FormatFloat(v, 'f', 2, 64) }

// work takes the permit live, works, and hands back.
func (d *drive) work(id permits.PermitID) {
	path := permitPath(id)
	d.act("ilse", "issues the permit: the measures are in place", path, path+"/issue", d.signedBy("ilse", nil))
	d.act("bao", "accepts the permit: 24 tools and parts go to the work; it is live", path, path+"/accept",
		d.signedBy("bao", map[string]string{"tools_out": "24"}))
	d.act("tove", "signs on", path, path+"/sign-on", d.signedBy("tove", nil))
	d.act("bao", "signs on", path, path+"/sign-on", d.signedBy("bao", nil))
	d.act("bao", "signs off", path, path+"/sign-off", d.signedBy("bao", nil))
	d.act("tove", "signs off", path, path+"/sign-off", d.signedBy("tove", nil))
	d.act("bao", "hands back: 24 tools counted, guards in place", path, path+"/hand-back",
		d.signedBy("bao", map[string]string{"tools_back": "24", "guards_back": "yes"}))
}

// restore takes every lock off in reverse; on the way the chief engineer wants to close too early.
func (d *drive) restore(id permits.PermitID) {
	path := permitPath(id)
	closing := d.signedBy("aram", map[string]string{"positions": "yes", "told": "yes"})
	for first := true; d.err == nil; first = false {
		p := d.permit(id)
		l, on := p.NextRemove()
		if !on {
			break
		}
		d.between(id, l)
		d.remove("tove", id, l)
		if first {
			d.refused("aram", fmt.Sprintf("wants to close with %d still on", p.LocksOn()-1), path, path+"/close", closing)
		}
	}
	for _, l := range d.permit(id).Unseen() {
		d.see("bao", id, l)
	}
	d.between(id, permits.Lock{})
	d.act("aram", fmt.Sprintf("closes permit %d", id), path, path+"/close", closing)
}

// between signs what comes before a lock is taken off, or after the last; on the way a lock comes off too early.
func (d *drive) between(id permits.PermitID, l permits.Lock) {
	path := permitPath(id)
	for d.err == nil {
		a, due, _ := d.permit(id).NextAdded()
		if !due {
			return
		}
		if a.Kind == isolation.RestoreTell {
			tag := "/T/" + d.codes(id)[l.Step.N].Text()
			d.refused("tove", fmt.Sprintf("wants to open %s before anybody is told", l.Step.Point), tag, tag+"/remove",
				map[string]string{"position": string(l.Step.Clearance)})
		}
		d.act("tove", "on the way back: "+a.Do, path, fmt.Sprintf("%s/back/%d", path, a.N), d.signedBy("tove", nil))
	}
}

// halfWay leaves a second permit where the visitor can go on: some locks on, one of them checked.
func (d *drive) halfWay() permits.PermitID {
	id := d.request("bao", "SW1-impeller", "Impeller worn: discharge pressure down by a third")
	d.authorise("rui", id, "24")
	locks := d.permit(id).Locks()
	for i, l := range locks {
		if d.err == nil && i < 3 {
			d.fit("bao", id, l)
		}
	}
	if d.err == nil && len(locks) > 0 {
		d.check("tove", id, locks[0])
	}
	return id
}
