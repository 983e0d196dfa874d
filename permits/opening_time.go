package permits

import (
	"math"
	"slices"
	"strings"
	"time"

	"stillwatch/isolation"
)

// WaitKind is what is waited for.
type WaitKind string

// What is waited for: a section to drain, or a stored energy to fall to its limit.
const (
	WaitSection WaitKind = "section"
	WaitStored  WaitKind = "stored"
)

// NeverAProof stands wherever a waiting time is shown.
const NeverAProof = "A waiting time, never a proof: only readings that are recorded and found right open the gate."

// Wait is one predicted waiting time. It counts from Since, the moment from which the prediction runs; both are zero
// while that moment has not come, and Until where nothing can be foretold.
type Wait struct {
	Kind   WaitKind
	ID     string        // of the section or the stored check
	What   string        // such as "Separator 1 inlet pipe: draining"
	Known  bool          // a waiting time can be foretold
	Length time.Duration // 0 where none is needed, or none is known
	From   string        // the moment from which it counts, in words: completes "when …"
	Since  time.Time
	Until  time.Time
	Proved bool   // a reading after Since was found right already: nothing is waited for any more
	Source string // of the prediction
}

// Left returns what is still to be waited at a moment: 0 when it is over or proved, the whole length before it has
// begun. It says nothing where the wait is not Known.
func (w Wait) Left(now time.Time) time.Duration {
	switch {
	case w.Proved || !w.Known:
		return 0
	case w.Since.IsZero():
		return w.Length
	}
	return max(0, w.Until.Sub(now))
}

// HasBegun reports whether the moment from which the wait counts has come.
func (w Wait) HasBegun() bool { return !w.Since.IsZero() }

// Words returns the wait in a sentence, as it stands at a moment.
func (w Wait) Words(now time.Time) string {
	switch left := w.Left(now); {
	case w.Proved:
		return w.What + ": a reading has shown it; there is nothing to wait for."
	case !w.Known:
		return w.What + ": no waiting time can be foretold. Only a reading opens the gate."
	case !w.HasBegun() && left > 0:
		return w.What + ": the wait of about " + inMinutes(left) + " begins when " + w.From + "."
	case !w.HasBegun():
		return w.What + ": no wait is foretold. Only a reading opens the gate."
	case left > 0:
		return w.What + ": about " + inMinutes(left) + " still."
	}
	return w.What + ": the waiting time is over. Only a reading opens the gate."
}

// Waits returns every waiting time of the permit: sections first, then stored energies, in the plan's order. There are
// none once the work has been handed back or the permit is being taken down.
//
// A section counts from the moment the last of its drains and vents was tagged open. A rotor and a charge count from
// the last electrical step. What stays hot counts from the last isolating step of any sort, since until then something
// may still heat it; gas and trapped liquid from the last step of all, since they leave by what is opened. A step that
// waits for the reading itself does not count, nor does one after it.
func (p Permit) Waits() []Wait {
	switch p.state {
	case unset, HandedBack, Restoring, Closed, Cancelled:
		return nil
	}
	var out []Wait
	for _, d := range p.drains {
		out = append(out, p.sectionWait(d))
	}
	for _, s := range p.stored {
		out = append(out, p.storedWait(s))
	}
	return out
}

// What a section's wait is made of beyond the plan's figure. A bore may be 4 % narrower than it is given (common
// practice, no source), and in the worst case drains slower by its fourth power (laminar flow), as package drain has
// it. A hold shorter than 10 minutes proves nothing (common practice, no source).
const (
	narrowBore  = 0.96
	leastHoldS  = 600
	drainSource = "quasi-steady outflow with bores 4 % narrow, then the hold of 10 minutes without which no drain is " +
		"proved, or the longer one that the job asks for"
)

func (p Permit) sectionWait(d DrainState) Wait {
	s := d.Section
	w := Wait{Kind: WaitSection, ID: s.ID, What: s.Name + ": draining and the hold after it",
		From: "its drain and vent are tagged open", Source: drainSource}
	opens := func(st isolation.Step) bool {
		return st.Position == isolation.Open && (slices.Contains(s.Drains, st.Point) || slices.Contains(s.Vents, st.Point))
	}
	if s.DrainS <= 0 || math.IsNaN(s.DrainS) || !slices.ContainsFunc(p.locks, func(l Lock) bool { return opens(l.Step) }) {
		return w
	}
	w.Known, w.Length = true, inSeconds(s.DrainS*math.Pow(narrowBore, -4)+max(leastHoldS, s.HoldS))
	return w.counting(p.hungSince(opens), (d.Finding.OK || d.Accepted) && !d.Stale, d.Recorded)
}

func (p Permit) storedWait(s StoredState) Wait {
	c := s.Check
	w := Wait{Kind: WaitStored, ID: c.ID, What: c.Name + ": " + untilWhat(c), Source: c.Source,
		Known: c.Unit != "" && (c.WaitS > 0 || c.Now <= c.Limit)}
	of, from := p.momentOf(c)
	w.From = from
	if w.Known {
		w.Length = inSeconds(max(0, c.WaitS))
	}
	return w.counting(p.hungSince(of), (s.Finding.OK || s.Accepted) && !s.Stale, s.Recorded)
}

// counting puts the moment in, and a reading that was found right after it.
func (w Wait) counting(since time.Time, ok bool, recorded Mark) Wait {
	if since.IsZero() {
		return w
	}
	w.Since = since
	if w.Known {
		w.Until = since.Add(w.Length)
	}
	w.Proved = ok && !recorded.IsZero() && !recorded.At.Before(since)
	return w
}

// untilWhat says what a stored energy is waited for.
func untilWhat(c isolation.StoredCheck) string {
	switch c.Stored.Kind {
	case "rotation":
		return "running down"
	case "heat":
		return "cooling"
	case "charge":
		return "discharging"
	case "gas", "liquid":
		return "letting its pressure off"
	case "dry":
		return "running dry"
	case "shut-in":
		return "to be seen without pressure"
	case "entry":
		return "an entry permit of its own"
	case "measure":
		return "its answer"
	}
	return "to be restrained"
}

// momentOf returns the steps of which the last starts the wait for a stored energy, and that moment in words. A step
// that itself waits for the reading, and all after it, start nothing.
func (p Permit) momentOf(c isolation.StoredCheck) (of func(isolation.Step) bool, from string) {
	kind, waits := c.Stored.Kind, p.waitsForReading(c.ID)
	before := func(st isolation.Step) bool { return waits == 0 || st.N < waits }
	electrical := func(st isolation.Step) bool {
		return before(st) && st.Isolates() && st.Kind.IsElectrical()
	}
	isolates := func(st isolation.Step) bool { return before(st) && st.Isolates() }
	has := func(of func(isolation.Step) bool) bool {
		return slices.ContainsFunc(p.locks, func(l Lock) bool { return of(l.Step) })
	}
	switch {
	case slices.Contains([]string{"rotation", "charge", "spring", "weight"}, kind) && has(electrical):
		return electrical, "the last electrical step hangs"
	case slices.Contains([]string{"rotation", "charge", "spring", "weight", "heat"}, kind) && has(isolates):
		return isolates, "the last isolating step hangs"
	case waits > 0:
		return before, "every step before step " + itoa(waits) + " hangs"
	}
	return before, "every step hangs"
}

// hungSince returns when the last of some steps was hung; zero while one of them does not hang, was found wrong, or
// there is none.
func (p Permit) hungSince(of func(isolation.Step) bool) time.Time {
	var last time.Time
	for _, l := range p.locks {
		if !of(l.Step) {
			continue
		}
		if !l.IsOn() || l.Wrong != "" {
			return time.Time{}
		}
		if l.Fitted.At.After(last) {
			last = l.Fitted.At
		}
	}
	return last
}

// OpeningTime is the earliest moment at which the work could be opened by what is foretold.
type OpeningTime struct {
	At       time.Time // not before; zero if nothing is waited for. It moves on with the clock while a wait has not begun
	Floor    bool      // At is only a lower bound: a wait has not begun, or cannot be foretold
	Waiting  []Wait    // begun, not over, not proved
	NotBegun []Wait
	Unknown  []Wait // only a reading tells
	Over     []Wait // the time is over, but no reading has shown it yet
	Words    string // all of it in two sentences; the second is NeverAProof
}

// Left returns what is still to be waited at a moment, at least.
func (o OpeningTime) Left(now time.Time) time.Duration {
	if o.At.IsZero() {
		return 0
	}
	return max(0, o.At.Sub(now))
}

// EarliestOpen returns the earliest moment at which everything that must be waited for could be over. It is a waiting
// time, never a proof; the gates look at readings alone. The zero value if nothing is waited for.
func (p Permit) EarliestOpen(now time.Time) OpeningTime {
	var o OpeningTime
	waits := p.Waits()
	if len(waits) == 0 {
		return o
	}
	for _, w := range waits {
		if w.Proved {
			continue
		}
		at := w.Until
		switch {
		case !w.Known:
			o.Unknown = append(o.Unknown, w)
			continue
		case !w.HasBegun():
			o.NotBegun = append(o.NotBegun, w)
			at = now.Add(w.Length)
		case w.Left(now) > 0:
			o.Waiting = append(o.Waiting, w)
		default:
			o.Over = append(o.Over, w)
		}
		if at.After(o.At) {
			o.At = at
		}
	}
	o.Floor = len(o.NotBegun)+len(o.Unknown) > 0
	o.Words = o.sentence(now) + " " + NeverAProof
	return o
}

func (o OpeningTime) sentence(now time.Time) string {
	left := o.Left(now)
	switch {
	case len(o.NotBegun) > 0 && left > 0:
		return "Not before about " + inMinutes(left) + " from now, and later the longer the last steps take: " +
			whats(o.NotBegun) + " cannot begin yet."
	case len(o.NotBegun) > 0:
		return "No wait is foretold, but not every step hangs yet."
	case left > 0 && o.Floor:
		return "Not before about " + inMinutes(left) + " from now; for " + whats(o.Unknown) + " nobody can foretell how long."
	case left > 0:
		return "Not before about " + inMinutes(left) + " from now."
	case o.Floor:
		return "How long to wait for " + whats(o.Unknown) + " nobody can foretell."
	case len(o.Over) > 0:
		return "The waiting times are over."
	}
	return "Every reading is within what is asked."
}

// whats joins what is waited for.
func whats(list []Wait) string {
	names := make([]string, len(list))
	for i, w := range list {
		names[i] = w.What
	}
	return strings.Join(names, "; ")
}

// inSeconds turns seconds into a duration, rounded up to a whole second; at most a year.
func inSeconds(s float64) time.Duration {
	return time.Duration(math.Ceil(min(s, 365*86400))) * time.Second
}

// inMinutes writes a wait, always rounded up: nobody should come too early by a rounding.
func inMinutes(d time.Duration) string {
	switch up := func(unit time.Duration) string { return itoa(int((d + unit - 1) / unit)) }; {
	case d <= 2*time.Minute:
		return up(time.Second) + " s"
	case d <= 3*time.Hour:
		return up(time.Minute) + " min"
	default:
		tenths := int((d + 6*time.Minute - 1) / (6 * time.Minute))
		return itoa(tenths/10) + "." + itoa(tenths%10) + " h"
	}
}
