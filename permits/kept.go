package permits

import "time"

// mostKeptS is how long a phone may have kept an act, seconds: longer than any session lasts.
const mostKeptS = 24 * 3600

// validKept refuses an age that no phone can have kept an act for.
func validKept(s int) error {
	if s < 0 || s > mostKeptS {
		return invalid("kept_s", "The phone says that it kept this for %d s; at most %d s can be.", s, mostKeptS)
	}
	return nil
}

// keptWords says in the log for how long a phone kept what it records; "" for what came at once.
func keptWords(s int) string {
	if s <= 0 {
		return ""
	}
	return "; the phone had no connection and kept it for " + Span(float64(s))
}

// before returns the moment so many seconds, by the phone's own clock, before an entry.
func before(at time.Time, keptS int) time.Time {
	return at.Add(-time.Duration(max(0, keptS)) * time.Second)
}

// hungFor returns when the lock or tag of a step was hung, as somebody's own phone tells it: what they hung without a
// line was recorded later. For what others hung the record counts, since their phone has a clock of its own.
func (l Lock) hungFor(who PersonID) time.Time {
	if l.Fitted.By == who {
		return before(l.Fitted.At, l.KeptS)
	}
	return l.Fitted.At
}

// stillSo refuses what somebody saw or read, and a phone kept, when the permit did not stay as it was: then it says
// nothing of how things are now. What the same person hung before it is no change, although it was told later.
func stillSo(s Setting, p Permit, keptS int, gate string) error {
	if err := validKept(keptS); err != nil || keptS == 0 {
		return err
	}
	at := before(s.At, keptS)
	const opens = "Look or read again, and record that."
	said := "This was seen " + Span(float64(keptS)) + " ago, and the phone kept it. Since then "
	for _, l := range p.locks {
		switch {
		case l.hungFor(s.By.ID).After(at):
			return refuse(gate, opens, "%s%s %d was hung (%s).", said, l.Thing(), l.Step.N, l.Step.Point)
		case l.Off().At.After(at):
			return refuse(gate, opens, "%s%s %d came off (%s).", said, l.Thing(), l.Step.N, l.Step.Point)
		case l.Step.Isolates() && s.Ship.FoundPassing[l.Step.Point].After(at):
			return refuse(gate, opens, "%s%s was found leaking.", said, l.Step.Point)
		}
	}
	if s.Judge.Edition >= changeEdition && p.anew.After(at) {
		return refuse(gate, opens, "%severything must be proved anew.", said)
	}
	if p.stood.After(at) {
		return refuse(gate, opens, "%sthe permit became %q.", said, p.state)
	}
	return nil
}

// stillTrue is stillSo for a reading: one that was recorded later stays. The setting's time becomes that of the
// reading, since a figure is judged by when it was read.
func stillTrue(s *Setting, p Permit, keptS int, last Mark) error {
	const gate = "record"
	if err := stillSo(*s, p, keptS, gate); err != nil {
		return err
	}
	if keptS > 0 && last.At.After(before(s.At, keptS)) {
		return refuse(gate, "The later one counts. Read again if it is wrong.",
			"This was read %s ago, and the phone kept it. A later reading is recorded.", Span(float64(keptS)))
	}
	s.At = before(s.At, keptS)
	return nil
}
