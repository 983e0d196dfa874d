package permits

import (
	"time"

	"stillwatch/isolation"
	"stillwatch/isolation/envelope"
)

// readingAge is how old a reading may be when the proof is signed or the permit accepted: the length of a watch (common
// practice, no source).
const readingAge = 4 * time.Hour

// slip is how many times above its figure at the stop a reading is taken for a slip of the finger (common practice, no
// source).
const slip = 2

// plausible holds a reading of a stored energy, made at a moment, against what was foretold.
func (p Permit) plausible(c StoredState, value float64, at time.Time) (isolation.Plausibility, error) {
	return envelope.StoredPlausibility(&c.Check, value, secondsFrom(p.storedWait(c).Since, at))
}

// plausibleDrain holds what came out of a section against what was foretold.
func (p Permit) plausibleDrain(d DrainState, r isolation.DrainReading, at time.Time) isolation.Plausibility {
	return envelope.DrainPlausibility(&d.Section, r, secondsFrom(p.drainOpenedAt(d), at))
}

// secondsFrom returns how long ago a moment was; -1 where it is not known.
func secondsFrom(since, at time.Time) float64 {
	if since.IsZero() {
		return -1
	}
	return max(0, at.Sub(since).Seconds())
}

// doubt returns why a reading opens no gate before a second person has read it too; "" for one that needs none: it is
// as foretold, or shuts the gate anyway, or comes after a right but doubtful reading by somebody else.
func doubt(odd isolation.Plausibility, ok, second bool) string {
	if !ok || second || odd.Verdict == isolation.Plausible {
		return ""
	}
	return odd.Words
}

// possible refuses a reading that cannot be, and one that is odd until the person has said, in words, how it was read.
func possible(field string, odd isolation.Plausibility, said string) error {
	switch odd.Verdict {
	case isolation.Impossible:
		return invalid(field, "%s Read the instrument again.", odd.Words)
	case isolation.Plausible:
		return nil
	}
	if words("words", said, 5, 500) == nil {
		return nil
	}
	return invalid("words", "%s Say how you read it (5 characters at least).", odd.Words)
}

// isOld reports whether something recorded at a moment is too old at now to sign on it; never for the zero now.
func isOld(recorded Mark, now time.Time) bool {
	return !now.IsZero() && !recorded.IsZero() && now.Sub(recorded.At) > readingAge
}

const readAgain = ": the reading is more than 4 h old; read it again"
