package permits

import (
	"strings"
	"time"
)

// Kinds of stopping the work for a while, and of going on.
const (
	KindSuspend Kind = "suspend"
	KindResume  Kind = "resume"
)

// Suspend stops the work: anybody of the crew may, at once, also while people are signed on. Nobody may sign on until
// everything has been proved again; the locks stay.
type Suspend struct {
	Words string `json:"words"` // why
}

// Kind says which act this is.
func (Suspend) Kind() Kind { return KindSuspend }

func (Suspend) rule() rule { return unsignedBy("stop the work", anybody...) }

func (a Suspend) tell(Names, Entry) string { return "stopped the work: " + a.Words }

func (Suspend) touches(Permit) Touched { return Touched{} }

func (Suspend) gate(Setting, Permit) error { return nil }

func (a Suspend) decide(_ Setting, _ Permit) (outcome, error) {
	return outcome{to: Suspended}, words("words", a.Words, 3, 500)
}

func (a Suspend) apply(e Entry, p *Permit) {
	was := pauseOf(p)
	p.stop(e, strings.TrimSpace(a.Words))
	p.pause = was
}

// stop notes who stopped the work and why, and takes the proof back.
func (p *Permit) stop(e Entry, why string) {
	p.suspended, p.stopped, p.pause = Mark{e.By, e.At}, why, nil
	p.endTest()
	p.forgetProof(e)
}

// FollowsFrom returns the act that happens to an open permit in the same commit as an entry: it stops if it is live and
// relies on a point that is recorded as leaking, if an emergency is declared, and if the permit under whose locks it
// works is not live any more; its lock is found wrong if the audit of the tags finds the point in a wrong position; it
// is reckoned anew if it has entries of a clock that ran ahead. What follows may have followers of its own.
func FollowsFrom(e Entry, p Permit) (PermitAct, bool) {
	switch a := e.Act.(type) {
	case PutClockRight:
		return ReckonAnew{}, p.changed.After(e.At)
	case RecordPassing:
		return p.stopsFor(a)
	case SightTag:
		if act, follows := a.stopsFor(p); follows && p.id != e.Permit {
			return act, true
		}
	case DeclareEmergency:
		return StopForEmergency{Words: strings.TrimSpace(a.Words)}, p.Has(KindStopForEmergency)
	}
	return p.stopsWithParent(e)
}

func (p Permit) stopsFor(a RecordPassing) (PermitAct, bool) {
	if p.state != Live && p.state != Testing {
		return nil, false
	}
	for _, l := range p.locks {
		if l.Step.Point == a.Point && l.Step.Isolates() && l.IsOn() {
			return Suspend{Words: string(a.Point) + " was found leaking: " + strings.TrimSpace(a.Words)}, true
		}
	}
	return nil, false
}

// Resume lets a suspended permit go on: each lock is looked at again by a second person, then all is proved anew. After
// a short stop the proof holds, and the looks are all that is asked before the work is accepted again.
type Resume struct {
	Short     bool `json:"short,omitempty"`
	Near      bool `json:"near,omitempty"`      // people stayed near
	Untouched bool `json:"untouched,omitempty"` // nothing was opened, moved or left open alone
}

// Kind says which act this is.
func (Resume) Kind() Kind { return KindResume }

func (Resume) rule() rule { return signedBy("let the work go on", Officer) }

func (a Resume) tell(n Names, _ Entry) string {
	if a.Short {
		return "let it go on after a short stop: people stayed near, nothing was opened or left open alone; each lock is " +
			"looked at again before the work"
	}
	return "let it go on: each lock is looked at and everything is proved anew before the work"
}

func (Resume) touches(Permit) Touched { return Touched{} }

func (Resume) gate(s Setting, p Permit) error {
	if err := notAtTheValves(s, p, "let go on"); err != nil {
		return err
	}
	if err := inOwnHands(s, p, KindResume, "resume"); err != nil {
		return err
	}
	if err := inPeriod(s, p, "resume"); err != nil {
		return err
	}
	if err := p.noChangeAsked(s, "resume"); err != nil {
		return err
	}
	return p.nobodyOn(s, "resume")
}

func (a Resume) decide(s Setting, p Permit) (outcome, error) {
	if a.Short {
		if err := a.short(s, p); err != nil {
			return outcome{}, err
		}
	}
	if p.under != 0 {
		return outcome{to: Authorised}, p.parentStands(s, "resume")
	}
	if p.allChecked() {
		return outcome{to: Proving}, nil
	}
	return outcome{to: Isolating}, nil
}

func (a Resume) apply(_ Entry, p *Permit) {
	if a.Short {
		p.takeUp(p.pause)
	}
	p.suspended, p.stopped, p.pause = Mark{}, "", nil
}

// forgetProof takes back the proof and everything that it rested on: each lock is looked at again, each section,
// reading and test is recorded anew.
func (p *Permit) forgetProof(e Entry) {
	p.proved, p.issued, p.accepted, p.goesOn = Mark{}, Mark{}, Mark{}, false
	for i := range p.locks {
		p.locks[i].Checked, p.locks[i].Looked = Mark{}, Mark{}
	}
	p.forgetReadings(e)
}

// forgetReadings takes back what was recorded of sections, stored energies and tests: it is recorded anew.
func (p *Permit) forgetReadings(e Entry) {
	p.anew = e.At
	for i := range p.drains {
		p.drains[i].Stale, p.drains[i].Accepted = true, false
	}
	for i := range p.stored {
		p.stored[i].Stale, p.stored[i].Accepted = true, false
	}
	for i := range p.dead {
		p.dead[i].OK = false
	}
	for i := range p.air {
		p.air[i].Stale = true
	}
	p.start.OK = false
}

// Suspended returns who stopped the work, and why; zero while it is not stopped.
func (p Permit) Suspended() (by Mark, why string) { return p.suspended, p.stopped }

// drainOpenedAt returns when the last of a section's drains was tagged open; zero if one is not.
func (p Permit) drainOpenedAt(d DrainState) time.Time {
	var last time.Time
	for _, l := range p.locks {
		for _, id := range d.Section.Drains {
			if l.Step.Point != id {
				continue
			}
			if !l.IsOn() {
				return time.Time{}
			}
			if l.Fitted.At.After(last) {
				last = l.Fitted.At
			}
		}
	}
	return last
}
