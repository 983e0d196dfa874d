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

func (Suspend) gate(Setting, Permit) error { return nil }

func (a Suspend) decide(_ Setting, _ Permit) (outcome, error) {
	return outcome{to: Suspended}, words("words", a.Words, 3, 500)
}

func (a Suspend) apply(e Entry, p *Permit) {
	p.suspended, p.stopped = Mark{e.By, e.At}, strings.TrimSpace(a.Words)
	p.forgetProof()
}

// Resume lets a suspended permit be proved anew.
type Resume struct{}

// Kind says which act this is.
func (Resume) Kind() Kind { return KindResume }

func (Resume) gate(s Setting, p Permit) error {
	if err := inPeriod(s, p, "resume"); err != nil {
		return err
	}
	return p.nobodyOn(s, "resume")
}

func (Resume) decide(Setting, Permit) (outcome, error) { return outcome{to: Proving}, nil }

func (Resume) apply(_ Entry, p *Permit) { p.suspended, p.stopped = Mark{}, "" }

// forgetProof takes back the proof and everything that it rested on: each section, reading and test is recorded anew.
func (p *Permit) forgetProof() {
	p.proved, p.accepted = Mark{}, Mark{}
	for i := range p.drains {
		p.drains[i].Stale, p.drains[i].Accepted = true, false
	}
	for i := range p.stored {
		p.stored[i].Stale = true
	}
	for i := range p.dead {
		p.dead[i].OK = false
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
