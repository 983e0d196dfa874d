package demo

import (
	"fmt"
	"time"

	"stillwatch/permits"
	"stillwatch/web/screens"
)

// watchesDay is how long ago the story of the watches begins: locks hang for a night and a day before the first watch.
const watchesDay = 11*time.Hour + night

const night = 26 * time.Hour

// Watches is the story of one job over three watches. The locks hang for a night, because the spare comes by boat, and
// their tags are audited. The permit is handed over twice, the machine is run for a test under it, and everything is
// proved anew afterwards. A second permit, for an entry, stays half-way. It returns both numbers.
func (d *Drive) Watches() (first, second permits.PermitID) {
	d.say("The day before: the spare impeller comes by boat")
	id := d.Request("tove", "SW1-impeller", "Impeller worn: discharge pressure down by a third")
	d.Authorise("ilse", id, "24")
	d.FitAll(id)
	d.Act("aram", "has tags audited daily while work waits for spares", "/audit", "/audit/interval",
		d.SignedBy("aram", map[string]string{"days": "1"}))
	d.Clock.Pass(night - time.Hour)
	d.wait("a night and a day", time.Hour)

	d.say("First watch: Ilse")
	d.audit(id, "rui")
	path := screens.PermitPath(id)
	d.Act("ilse", "extends the authorisation, which ran out in the night", path, path+"/extend",
		d.SignedBy("ilse", map[string]string{"hours": "24"}))
	d.prove(id, "ilse")
	d.signOn(id, "tove", "bao")
	d.wait("the cover comes off and the impeller out", time.Hour)
	d.signOff(id, "bao", "tove")
	d.handOver(id, "ilse", "rui")

	d.say("Second watch: Rui")
	d.signOn(id, "tove", "bao")
	d.wait("the new impeller goes in and the cover on", 90*time.Minute)
	d.signOff(id, "bao", "tove")
	d.testRun(id, "rui")
	d.FitAll(id)
	d.prove(id, "rui")
	d.handOver(id, "rui", "ilse")

	d.say("Third watch: Ilse")
	d.signOn(id, "tove")
	d.wait("the guard is fitted", 30*time.Minute)
	d.signOff(id, "tove")
	d.handBack(id)
	d.Restore(id)
	if d.Err != nil {
		return id, 0
	}
	d.wait("the machine runs", time.Since(d.Clock.Now())-50*time.Minute)
	d.say("An entry, left half-way for you")
	return id, d.entryHalfWay()
}

func (d *Drive) say(words string) {
	if d.Err == nil {
		fmt.Fprintf(d.Out, "\n%s\n", words)
	}
}

// audit walks past the tags of a permit, by sight only: all are as they were left but one, which cannot be read. It is
// hung anew and sighted again; nobody signs before.
func (d *Drive) audit(id permits.PermitID, who string) {
	codes := d.codes(id)
	sees := func(l permits.Lock, seen permits.Sight, words string) {
		fields := map[string]string{"seen": string(seen)}
		if seen == permits.AsFound {
			fields["code"] = codes[l.Step.N].Text()
		} else {
			fields["words"] = words
		}
		d.Act(who, fmt.Sprintf("sights tag %d at %s: %s", l.Step.N, l.Step.Point, seen),
			"/audit?tag="+screens.TagKey(id, l.Step.N), "/audit/sight", fields)
	}
	locks := d.Permit(id).Locks()
	if d.Err != nil || len(locks) == 0 {
		return
	}
	last := locks[len(locks)-1]
	for _, l := range locks[:len(locks)-1] {
		sees(l, permits.AsFound, "")
	}
	sees(last, permits.Unreadable, "print washed off by the drain")
	signed := d.SignedBy(who, map[string]string{"tags": fmt.Sprint(len(locks))})
	d.refused(who, "wants to sign the audit while one tag cannot be read", "/audit", "/audit", signed)
	sees(last, permits.AsFound, "")
	d.Act(who, fmt.Sprintf("signs the audit: %d tags", len(locks)), "/audit", "/audit", signed)
}

// FitAll fits every lock that does not hang, reads what must be read before, and has each seen.
func (d *Drive) FitAll(id permits.PermitID) {
	for d.Err == nil {
		p := d.Permit(id)
		l, more := p.NextFit()
		if !more {
			break
		}
		if first := p.FirstReadings(d.Clock.Now()); len(first) > 0 {
			d.wait("the machine comes to rest", longestOf(first))
			for _, s := range first {
				d.read(id, s)
			}
		}
		d.Fit("tove", id, l)
	}
	for _, l := range d.Permit(id).Unchecked() {
		d.Check("bao", id, l)
	}
}

// prove proves the isolation, has it issued by an officer, and brings the permit live.
func (d *Drive) prove(id permits.PermitID, officer string) {
	path := screens.PermitPath(id)
	d.Prove(id)
	d.Act(officer, "issues the permit: the measures are in place", path, path+"/issue", d.SignedBy(officer, nil))
	d.Act("bao", "accepts the permit: 18 tools and parts at the work; it is live", path, path+"/accept",
		d.SignedBy("bao", map[string]string{"tools_out": "18"}))
}

func (d *Drive) signOn(id permits.PermitID, people ...string) {
	path := screens.PermitPath(id)
	for _, who := range people {
		d.Act(who, "signs on", path, path+"/sign-on", d.SignedBy(who, nil))
	}
}

func (d *Drive) signOff(id permits.PermitID, people ...string) {
	path := screens.PermitPath(id)
	for _, who := range people {
		d.Act(who, "signs off", path, path+"/sign-off", d.SignedBy(who, nil))
	}
}

// handOver brings a permit from one officer's hands into the other's; between the two signatures nobody goes on.
func (d *Drive) handOver(id permits.PermitID, from, to string) {
	if d.Err != nil {
		return
	}
	path, number := screens.PermitPath(id), map[string]string{"permit": screens.PermitNumber(id)}
	offer := d.SignedBy(from, number)
	offer["to"] = to
	d.Act(from, "reads the open permits with "+d.People[to].name+" and signs them over", "/handover", "/handover/offer",
		offer)
	d.refused("tove", "wants to sign on between the two watches", path, path+"/sign-on", d.SignedBy("tove", nil))
	d.Act(to, "takes them over", "/handover", "/handover/take", d.SignedBy(to, number))
}

// testRun runs the machine under its permit: asked, sanctioned, lifted, run, ended.
func (d *Drive) testRun(id permits.PermitID, officer string) {
	if d.Err != nil {
		return
	}
	path := screens.PermitPath(id)
	runs := d.Permit(id).Plan().Runs(d.Reg.Plant())
	if len(runs) == 0 {
		d.Err = fmt.Errorf("nothing can be run for a test under permit %d", id)
		return
	}
	d.Act("bao", "asks for a test run: everybody out, 18 tools counted in", path, path+"/test",
		d.SignedBy("bao", map[string]string{"run": string(runs[0]), "tools_back": "18", "closed": "yes"}))
	lift, _ := d.Permit(id).NextLift()
	tag := "/T/" + d.codes(id)[lift.Step.N].Text()
	position := map[string]string{"position": string(lift.Step.Clearance)}
	d.refused("tove", "wants to take the first lock off before the officer's sanction", tag, tag+"/lift", position)
	d.Act(officer, "sanctions the test", path, path+"/test/sanction", d.SignedBy(officer, nil))
	for d.Err == nil {
		l, more := d.Permit(id).NextLift()
		if !more {
			break
		}
		at := "/T/" + d.codes(id)[l.Step.N].Text()
		d.Act("tove", fmt.Sprintf("takes %d off for the test: %s left %s", l.Step.N, l.Step.Point,
			l.Step.Kind.Word(l.Step.Clearance)), at, at+"/lift", map[string]string{"position": string(l.Step.Clearance)})
	}
	d.Act("tove", "runs it: no sound, no leak", path, path+"/test/record",
		d.SignedBy("tove", map[string]string{"words": "runs the right way, no sound, no leak"}))
	d.Act("tove", "ends the test: it stands still", path, path+"/test/end",
		d.SignedBy("tove", map[string]string{"stopped": "yes"}))
}

func (d *Drive) handBack(id permits.PermitID) {
	path := screens.PermitPath(id)
	d.Act("bao", "hands back: 18 tools counted, guards in place", path, path+"/hand-back",
		d.SignedBy("bao", map[string]string{"tools_back": "18", "guards_back": "yes"}))
}

// entryHalfWay leaves an entry with hot work where the visitor can go on: some locks on, some measures answered.
func (d *Drive) entryHalfWay() permits.PermitID {
	id := d.Request("bao", "R1-weld", "Condensate drain boss wasted: weld it from inside")
	d.Authorise("ilse", id, "8")
	path := screens.PermitPath(id)
	d.Act("noor", "countersigns: entry and hot work", path, path+"/countersign", d.SignedBy("noor", nil))
	for i, l := range d.Permit(id).Locks() {
		if d.Err == nil && i < 3 {
			d.Fit("bao", id, l)
		}
	}
	if m := d.Permit(id).Measures(); d.Err == nil && len(m) > 0 {
		at := screens.AtWorkPath(id)
		d.Act("bao", "answers the first measure: "+m[0].Check.Name, at, path+"/measures",
			map[string]string{"measure": m[0].Check.ID})
	}
	return id
}
