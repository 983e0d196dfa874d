package permits

import (
	"fmt"
	"math"
	"time"
)

// How readings are held against what was foretold. None of these figures opens a gate; they only ask again.
const (
	// readingAge is how old a reading may be when the proof is signed or the permit accepted: the length of a watch
	// (common practice, no source).
	readingAge = 4 * time.Hour
	// leastForetold is the shortest wait against which a reading is held.
	leastForetold = 5 * time.Minute
	// farOff is how many times more than expected may come out of a section before the figure is asked for again.
	farOff = 3
	// aboveStart is how far a reading may lie above what the energy was when the machine stopped.
	aboveStart = 1.5
)

// early says that a reading is right far sooner than was foretold; "" if it is not. at is when it was read.
func (p Permit) early(c StoredState, ok bool, at time.Time) string {
	w := p.storedWait(c)
	if !ok || !w.Known || !w.HasBegun() || w.Length < leastForetold {
		return ""
	}
	passed := at.Sub(w.Since)
	if passed >= w.Length/2 {
		return ""
	}
	return fmt.Sprintf("%s was expected to need about %s, and %s have passed", c.Check.Name, inMinutes(w.Length),
		inMinutes(max(passed, time.Second)))
}

// possible refuses a reading that the energy cannot have any more: far above what it was when the machine stopped.
func possible(c StoredState, value float64) error {
	most := c.Check.Now*aboveStart + 10
	if c.Check.Unit == "" || c.Check.Now <= 0 || value <= most {
		return nil
	}
	return invalid("value", "%s cannot be %s %s: it had %s %s when the machine stopped. Read the instrument again.",
		c.Check.Name, plain(value), c.Check.Unit, plain(math.Round(c.Check.Now*100)/100), c.Check.Unit)
}

// tooMuch says that far more is said to have come out of a section than it was expected to hold; "" if not.
func tooMuch(d DrainState, outL float64) string {
	expected := d.Section.OutL + d.Section.SpreadL
	if d.Section.OutL <= 0 || outL <= farOff*expected+1 {
		return ""
	}
	return fmt.Sprintf("%s L were given, and about %s L were expected", plain(outL),
		plain(math.Round(d.Section.OutL*10)/10))
}

// askAgain refuses an odd figure until the person has said, in words, how it was read.
func askAgain(odd, said string) error {
	if odd == "" || words("words", said, 5, 500) == nil {
		return nil
	}
	return invalid("words", "%s. Read it again. If it is so, say how you read it (5 characters at least).", odd)
}

// isOld reports whether something recorded at a moment is too old at now to sign on it; never for the zero now.
func isOld(recorded Mark, now time.Time) bool {
	return !now.IsZero() && !recorded.IsZero() && now.Sub(recorded.At) > readingAge
}

const readAgain = ": the reading is more than 4 h old; read it again"
