package demo

import (
	"fmt"
	"strconv"
	"time"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/web/screens"
)

// WholeJob is the main job of one separator: everything from the request to the closed permit, with five things that
// a gate must refuse on the way. It returns the permit's number.
func (d *Drive) WholeJob() permits.PermitID {
	id := d.Request("tove", "S1-bowl", "Bowl overhaul: running hours reached, water seal lost twice this week")
	d.Authorise("ilse", id, "12")
	d.isolate(id)
	d.Prove(id)
	d.Work(id)
	d.Restore(id)
	return id
}

// isolate fits and checks every lock; on the way a tag comes out of order, and the fitter wants to check his own lock.
func (d *Drive) isolate(id permits.PermitID) {
	locks := d.Permit(id).Locks()
	if d.Err != nil || len(locks) < 3 {
		return
	}
	second := "/T/" + d.codes(id)[2].Text()
	d.refused("tove", "scans tag 2 before tag 1 hangs", second, second+"/fit", fitFields(locks[1], id, d.Labels()))
	for i, l := range locks {
		d.readFirst(id, l)
		d.Fit("tove", id, l)
		if i == 0 {
			first := "/T/" + d.codes(id)[1].Text()
			d.refused("tove", "wants to check the lock that she fitted herself", first, first+"/check",
				d.SignedBy("tove", map[string]string{"seen": "right"}))
		}
	}
	for _, l := range locks {
		d.Check("bao", id, l)
	}
}

// Prove drains, reads and tests, then signs the proof.
func (d *Drive) Prove(id permits.PermitID) {
	d.Record(id)
	d.air(id)
	path := screens.PermitPath(id)
	d.Act("tove", "signs the proof", path, path+"/prove", d.SignedBy("tove", nil))
}

// Record drains, reads and tests everything that the proof needs but the air, and answers the measures.
func (d *Drive) Record(id permits.PermitID) {
	p, path := d.Permit(id), screens.PermitPath(id)
	// The hold begins when all hang and were seen, also after a test run: 15 minutes, and one to be sure.
	d.wait("the lines drain, the machine runs down and cools", max(LongestWait(p), 16*time.Minute))
	for _, s := range p.Drains() {
		words := fmt.Sprintf("drains %s: %.1f of %.1f litres out, nothing in the hold", s.Section.Name, s.Section.OutL,
			s.Section.TrappedL)
		d.Act("tove", words, path, path+"/drain/"+s.Section.ID, map[string]string{
			"out_l": Number(s.Section.OutL), "hold_min": "15", "hold_in_l": "0", "gauge_bar": "0", "temp_c": "40",
			"into": "Sludge tank"})
	}
	for _, s := range p.Stored() {
		if s.Check.Stored.Kind == isolation.KindMeasure {
			d.Act("tove", "has seen to it: "+s.Check.Name, screens.AtWorkPath(id), path+"/measures",
				map[string]string{"measure": s.Check.ID})
			continue
		}
		d.read(id, s)
	}
	for _, t := range p.Dead() {
		d.Act("tove", "tests dead: "+t.Test.Name, path, path+"/dead/"+t.Test.ID,
			map[string]string{"proved_before": "yes", "dead": "yes", "proved_after": "yes"})
	}
	if p.NeedsStart() {
		d.Act("tove", "tries to start: nothing moves, controls back to off", path, path+"/start",
			map[string]string{"still": "yes", "controls_off": "yes"})
	}
}

// air has the air tested at each level, and found right.
func (d *Drive) air(id permits.PermitID) {
	p, path := d.Permit(id), screens.PermitPath(id)
	for i, a := range p.Air() {
		fields := map[string]string{"meter": "G-07", "tested": "yes", "still": "yes"}
		for _, l := range p.Plan().Air.Limits {
			fields["gas_"+l.Gas] = screens.Choose(l.Gas == "O2", "20.9", "0")
		}
		d.Act("tove", "tests the air, "+a.Level, screens.AtWorkPath(id), fmt.Sprintf("%s/air/%d", path, i+1), fields)
	}
}

// readFirst waits for what must be at rest before a step is fitted, and reads it; on the way the step comes too early.
func (d *Drive) readFirst(id permits.PermitID, l permits.Lock) {
	first := d.Permit(id).FirstReadings(d.Clock.Now())
	if d.Err != nil || len(first) == 0 {
		return
	}
	tag := "/T/" + d.codes(id)[l.Step.N].Text()
	d.refused("tove", fmt.Sprintf("wants to open %s while the bowl still turns", l.Step.Point), tag, tag+"/fit",
		fitFields(l, id, d.Labels()))
	d.wait("the bowl runs down", longestOf(first))
	for _, s := range first {
		d.read(id, s)
	}
}

// read records one stored energy within its limit.
func (d *Drive) read(id permits.PermitID, s permits.StoredState) {
	path := screens.PermitPath(id)
	if s.Check.Unit == "" {
		d.Act("tove", "confirms at "+s.Check.Name+": "+s.Check.Quantity, path, path+"/reading/"+s.Check.ID,
			map[string]string{"value": "yes"})
		return
	}
	d.Act("tove", fmt.Sprintf("reads %s: %s %s", s.Check.Name, Number(s.Check.Limit), s.Check.Unit), path,
		path+"/reading/"+s.Check.ID, map[string]string{"value": Number(s.Check.Limit)})
}

// longestOf is the longest of the waits that were foretold for some stored energies.
func longestOf(list []permits.StoredState) time.Duration {
	s := 0.0
	for _, c := range list {
		s = max(s, c.Check.WaitS)
	}
	return time.Duration(s * float64(time.Second))
}

// LongestWait is how long the crew waits before it reads anything: the longest of what was foretold.
func LongestWait(p permits.Permit) time.Duration {
	s := longestOf(p.Stored())
	for _, d := range p.Drains() {
		s = max(s, time.Duration(d.Section.DrainS*float64(time.Second)))
	}
	return s
}

// Number writes a figure as a person types it into a form.
func Number(v float64) string { return strconv.FormatFloat(v, 'f', 2, 64) }

// Work takes the permit live, works, and hands back.
func (d *Drive) Work(id permits.PermitID) {
	path := screens.PermitPath(id)
	d.Act("ilse", "issues the permit: the measures are in place", path, path+"/issue", d.SignedBy("ilse", nil))
	d.Act("bao", "accepts the permit: 24 tools and parts go to the work; it is live", path, path+"/accept",
		d.SignedBy("bao", map[string]string{"tools_out": "24"}))
	d.Act("tove", "signs on", path, path+"/sign-on", d.SignedBy("tove", nil))
	d.Act("bao", "signs on", path, path+"/sign-on", d.SignedBy("bao", nil))
	d.Act("bao", "signs off", path, path+"/sign-off", d.SignedBy("bao", nil))
	d.Act("tove", "signs off", path, path+"/sign-off", d.SignedBy("tove", nil))
	d.Act("bao", "hands back: 24 tools counted, guards in place", path, path+"/hand-back",
		d.SignedBy("bao", map[string]string{"tools_back": "24", "guards_back": "yes"}))
}

// Restore takes every lock off in reverse; on the way the chief engineer wants to close too early.
func (d *Drive) Restore(id permits.PermitID) {
	path := screens.PermitPath(id)
	closing := d.SignedBy("aram", map[string]string{"positions": "yes", "told": "yes"})
	for first := true; d.Err == nil; first = false {
		p := d.Permit(id)
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
	for _, l := range d.Permit(id).Unseen() {
		d.see("bao", id, l)
	}
	d.between(id, permits.Lock{})
	d.Act("aram", fmt.Sprintf("closes permit %d", id), path, path+"/close", closing)
}

// between signs what comes before a lock is taken off, or after the last; on the way a lock comes off too early.
func (d *Drive) between(id permits.PermitID, l permits.Lock) {
	path := screens.PermitPath(id)
	for d.Err == nil {
		a, due, _ := d.Permit(id).NextAdded()
		if !due {
			return
		}
		if a.Kind == isolation.RestoreTell || a.Kind == isolation.RestoreEarths {
			tag := "/T/" + d.codes(id)[l.Step.N].Text()
			d.refused("tove", fmt.Sprintf("wants to open %s before anybody is told", l.Step.Point), tag, tag+"/remove",
				map[string]string{"position": string(l.Step.Clearance)})
		}
		d.Act("tove", "on the way back: "+a.Do, path, fmt.Sprintf("%s/back/%d", path, a.N), d.SignedBy("tove", nil))
	}
}

// HalfWay leaves a second permit where the visitor can go on: some locks on, one of them checked.
func (d *Drive) HalfWay() permits.PermitID {
	id := d.Request("bao", "SW1-impeller", "Impeller worn: discharge pressure down by a third")
	d.Authorise("rui", id, "24")
	locks := d.Permit(id).Locks()
	for i, l := range locks {
		if d.Err == nil && i < 3 {
			d.Fit("bao", id, l)
		}
	}
	if d.Err == nil && len(locks) > 0 {
		d.Check("tove", id, locks[0])
	}
	return id
}
