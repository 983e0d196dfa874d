package permits

import (
	"slices"
	"strings"
	"time"

	"stillwatch/isolation"
)

// KindProve is the technician's signature under the proof.
const KindProve Kind = "prove"

// Prove signs that isolation, draining and rest have been proved.
type Prove struct{}

// Kind says which act this is.
func (Prove) Kind() Kind { return KindProve }

func (Prove) rule() rule { return signedBy("sign the proof", Technician) }

func (Prove) tell(Names, Entry) string { return "signed the proof" }

func (Prove) touches(Permit) Touched { return Touched{} }

func (Prove) gate(s Setting, p Permit) error {
	const gate = "prove"
	if err := ready(s, p, gate); err != nil {
		return err
	}
	if who := s.Actor(); p.hasSigned(who.ID, KindAccept) {
		return refuse(gate, "Another technician signs the proof.", "%s took the work over and so may not sign its proof.",
			who)
	}
	if open := p.Unproved(s.At); len(open) > 0 {
		return refuse(gate, "Record what is missing, then sign.", "Not everything is proved: %s.",
			strings.Join(open, "; "))
	}
	return nil
}

func (Prove) decide(Setting, Permit) (outcome, error) { return outcome{to: Proving}, nil }

// Unproved returns, in words, everything that keeps the proof from being signed at a moment; empty when nothing does.
// At the zero moment no reading is too old.
func (p Permit) Unproved(now time.Time) []string {
	var open []string
	for _, l := range p.locks {
		if !l.IsChecked() {
			open = append(open, "lock "+itoa(l.Step.N)+" ("+string(l.Step.Point)+") does not hang checked")
		}
	}
	for _, i := range p.ProofItems(now) {
		if i.Missing != "" {
			open = append(open, i.Missing)
		}
	}
	return open
}

// ProofItem is one thing that is read, seen or tried before the proof is signed.
type ProofItem struct {
	Kind    Kind   // of the act that records it
	ID      string // of the section, the stored energy, the dead test, or the level of the air; "" for the start attempt
	Missing string // what keeps it from being proved, as in Unproved; "": it is
}

// ProofItems returns all that the proof rests on beside the locks, in the order in which it is recorded.
func (p Permit) ProofItems(now time.Time) []ProofItem {
	if p.goesOn {
		now = time.Time{}
	}
	var out []ProofItem
	for _, d := range p.drains {
		out = append(out, ProofItem{KindRecordDrain, d.Section.ID, p.openDrain(d, now)})
	}
	for _, c := range p.stored {
		out = append(out, ProofItem{KindRecordStored, c.Check.ID, openStored(c, now)})
	}
	for _, d := range p.dead {
		out = append(out, ProofItem{KindRecordDead, d.Test.ID, openDead(d, now)})
	}
	for _, a := range p.air {
		out = append(out, ProofItem{KindRecordAir, a.Level, openAir(a, now)})
	}
	if p.NeedsStart() {
		missing := ""
		if !p.start.OK || isOld(p.start.Recorded, now) {
			missing = startMissing
		}
		out = append(out, ProofItem{KindRecordStart, "", missing})
	}
	return out
}

const startMissing = "the start attempt, with the controls back to off, is not recorded"

// openDrain says what keeps a section from being proved drained; "" if nothing does.
func (p Permit) openDrain(d DrainState, now time.Time) string {
	switch {
	case d.Recorded.IsZero() || d.Stale:
		return d.Section.Name + ": nothing recorded " + yet(d.Stale)
	case d.Accepted && p.needsConsent() && d.Consented.IsZero():
		return d.Section.Name + ": the officer has not signed the deviation"
	case !d.Finding.OK && !d.Accepted:
		return d.Section.Name + ": " + d.Finding.Result
	case d.Doubt != "" && !d.Accepted:
		return d.Section.Name + ": not as foretold; a second person records it too"
	case !d.Accepted && !p.provedByOpening(d.Section):
		return d.Section.Name + ": the drain that proves it is not tagged open"
	case isOld(d.Recorded, now):
		return d.Section.Name + readAgain
	}
	return ""
}

// openStored says what keeps a stored energy from being proved at rest; "" if nothing does.
func openStored(c StoredState, now time.Time) string {
	switch {
	case c.Recorded.IsZero() || c.Stale:
		return c.Check.Name + ": no reading " + yet(c.Stale)
	case !c.Finding.OK && !c.Accepted:
		return c.Check.Name + ": " + c.Finding.Result
	case c.Doubt != "":
		return c.Check.Name + ": sooner than foretold; a second person reads it too"
	case isOld(c.Recorded, now):
		return c.Check.Name + readAgain
	}
	return ""
}

func yet(stale bool) string {
	if stale {
		return "since the work was stopped"
	}
	return "yet"
}

// openDead says what keeps a part from being proved dead; "" if nothing does.
func openDead(d DeadState, now time.Time) string {
	switch {
	case !d.OK:
		return d.Test.Name + ": not tested dead"
	case isOld(d.Recorded, now):
		return d.Test.Name + ": tested more than 4 h ago; test it again"
	}
	return ""
}

// PassingPoints returns the permit's points that are recorded as passing: while there is one, nothing goes on.
func (p Permit) PassingPoints(ship Ship) []isolation.NodeID {
	var out []isolation.NodeID
	for _, l := range p.locks {
		if l.Step.Isolates() && l.Removed.IsZero() && ship.IsPassing(l.Step.Point) {
			out = append(out, l.Step.Point)
		}
	}
	return out
}

// nothingPasses refuses an act that leads on to the work while a point of the permit is recorded as passing.
func nothingPasses(s Setting, p Permit, gate string) error {
	for _, point := range p.PassingPoints(s.Ship) {
		return refuse(gate, "Have the repair recorded, or cancel this permit and request a new one: its plan will do "+
			"without that point.",
			"%s is recorded as passing: it does not isolate.", point)
	}
	return nil
}

// ready refuses while the period has run out or a point passes.
func ready(s Setting, p Permit, gate string) error {
	if err := inPeriod(s, p, gate); err != nil {
		return err
	}
	return nothingPasses(s, p, gate)
}

// provedByOpening reports whether a drain of the section hangs tagged open: the one that proves it.
func (p Permit) provedByOpening(section isolation.Section) bool {
	return slices.ContainsFunc(p.locks, func(l Lock) bool {
		return l.IsOn() && l.Step.Position == isolation.Open && slices.Contains(section.Drains, l.Step.Point)
	})
}

func (Prove) apply(e Entry, p *Permit) {
	p.proved, p.issued, p.goesOn = Mark{e.By, e.At}, Mark{}, false
}

// KindAccept is the signature of the person in charge of the work, which makes the permit live.
const KindAccept Kind = "accept"

// Accept takes the proved permit over for the work. ToolsOut counts all tools and loose parts at the work: those that
// go there now, and those that are there from before.
type Accept struct {
	ToolsOut int `json:"tools_out"`
}

// Kind says which act this is.
func (Accept) Kind() Kind { return KindAccept }

func (Accept) rule() rule { return signedBy("accept the permit", Technician) }

func (a Accept) tell(Names, Entry) string {
	return "accepted the permit; " + Plural(a.ToolsOut, "tool or part", "tools and parts") + " at the work"
}

func (Accept) touches(Permit) Touched { return Touched{} }

func (Accept) gate(s Setting, p Permit) error {
	const gate = "live"
	if err := ready(s, p, gate); err != nil {
		return err
	}
	if err := handedOver(s, p, gate); err != nil {
		return err
	}
	if p.under != 0 {
		return p.acceptsUnder(s, gate)
	}
	if p.proved.IsZero() {
		return refuse(gate, "The technician signs the proof first.", "The isolation of permit %d is not proved.", p.id)
	}
	if err := issuedToAnother(s, p, gate); err != nil {
		return err
	}
	return stillProved(s, p, gate)
}

// stillProved refuses what rests on a proof that has been signed, and does not hold any more.
func stillProved(s Setting, p Permit, gate string) error {
	if open := p.Unproved(s.At); len(open) > 0 {
		return refuse(gate, "Record what is missing, then sign the proof again.", "Not everything is proved any more: %s.",
			strings.Join(open, "; "))
	}
	return nil
}

func (a Accept) decide(_ Setting, p Permit) (outcome, error) {
	if a.ToolsOut < 0 || a.ToolsOut > 10000 {
		return outcome{}, invalid("tools_out", "The count of tools must be from 0 to 10000.")
	}
	if p.owes() && a.ToolsOut < p.toolsOut {
		return outcome{}, refuse("live", "Count them too: those that are at the work and those that go there now.",
			"%d tools and parts went out before and were not counted in; %d were given now.", p.toolsOut, a.ToolsOut)
	}
	return outcome{to: Live}, nil
}

func (a Accept) apply(e Entry, p *Permit) {
	p.accepted, p.toolsOut, p.counted = Mark{e.By, e.At}, a.ToolsOut, Mark{} // out again after a test run
	p.goesOn = false
}
