package doctor

import (
	"time"

	"stillwatch/permits/shore/sender"
)

// shoreAge is for how long a ship may be without a link before somebody looks.
const shoreAge = 30 * 24 * time.Hour

// lookAtShore says what the shore said last, where the ship sends its log ashore.
func (d *doctor) lookAtShore() {
	const what = "shore"
	switch s, known, err := sender.ReadState(d.data); {
	case err != nil:
		d.say(gradeLook, what, "Serve goes on without it: the shore says it again.", "%v.", err)
	case !known: // nothing was ever sent, and nobody asked for it
	case s.Words != "":
		d.say(gradeWrong, what, "Call the office. What is recorded aboard is safe here.", "%s", s.Words)
	case d.now.Sub(s.At) > shoreAge:
		d.say(gradeLook, what, "Look at the ship's link, and whether serve is told --shore.",
			"%s has not answered since %s; it has %d entries.", s.Shore, s.At.Format(time.DateOnly), s.Size)
	default:
		d.say(gradeOK, what, "", "%s has %d entries of %s.", s.Shore, s.Size, s.Ship)
	}
}
