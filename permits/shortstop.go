package permits

import (
	"slices"
	"strings"
	"time"
)

// mostShort is how long a short stop lasts at most: one watch (common practice, no source).
const mostShort = 4 * time.Hour

// pause is what the work rested on when somebody stopped it, and the officer who answered for it then.
type pause struct {
	drains         []DrainState
	stored         []StoredState
	dead           []DeadState
	start          StartState
	proved, issued Mark
	hand           PersonID
}

// pauseOf keeps the proof of live work that somebody stops.
func pauseOf(p *Permit) *pause {
	if p.state != Live || p.under != 0 {
		return nil
	}
	return &pause{drains: slices.Clone(p.drains), stored: slices.Clone(p.stored), dead: slices.Clone(p.dead),
		start: p.start, proved: p.proved, issued: p.issued, hand: p.InHand()}
}

// takeUp gives a permit back what its proof rested on; each lock is still to be looked at again.
func (p *Permit) takeUp(was *pause) {
	p.drains, p.stored, p.dead, p.start = was.drains, was.stored, was.dead, was.start
	p.proved, p.issued, p.goesOn = was.proved, was.issued, true
}

// LongOnly says why a stop can't be taken for a short one, whatever the officer confirms; nil if it can. After a short
// stop in the same watch, with people near and nothing opened or left open alone, each lock is seen again and no more.
// The atmosphere of a space is tested after every break (IMO A.1050(27), 7.3), so entry and hot work know no short
// stop.
func (p Permit) LongOnly(s Setting) *Refusal {
	no := func(what string, args ...any) *Refusal {
		return refuse("resume", "Let it go on as after a long stop: everything is proved anew.", what, args...)
	}
	switch {
	case p.Plan().Air != nil || p.needsConsent():
		return no("For entry and hot work there is no short stop.")
	case p.pause == nil:
		return no("The work did not run when it was stopped, or something was found, opened or taken over since.")
	case p.pause.hand != p.InHand():
		return no("The watch has changed since the work was stopped.")
	case s.At.Sub(p.suspended.At) > mostShort:
		return no("The work was stopped more than %d h ago.", int(mostShort.Hours()))
	}
	for _, l := range p.locks {
		if at, found := s.Ship.FoundPassing[l.Step.Point]; found && l.Step.Isolates() && !at.Before(p.suspended.At) {
			return no("%s was found leaking since.", l.Step.Point)
		}
	}
	return nil
}

// short refuses a short stop that was none.
func (a Resume) short(s Setting, p Permit) error {
	if no := p.LongOnly(s); no != nil {
		return no
	}
	var missing []string
	if !a.Near {
		missing = append(missing, "people stayed near")
	}
	if !a.Untouched {
		missing = append(missing, "nothing was opened, moved or left open alone")
	}
	if len(missing) > 0 {
		return refuse("resume", "Ask, look and confirm it; or let it go on as after a long stop.",
			"It is not confirmed that %s.", strings.Join(missing, ", and that "))
	}
	return nil
}
