package permits

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"stillwatch/isolation"
)

// Names is what an entry is put into words with: the ship's people, the permit that it is of, and how a time is
// written.
type Names struct {
	Ship   Ship
	Permit Permit // zero for an entry that concerns the whole ship, or whose permit cannot be read
	Stamp  func(time.Time) string
}

// Tell completes "NAME …" with what an entry says: "fitted step 3 on S1-V1, held SHUT, with lock L-7".
func Tell(n Names, e Entry) string { return e.Act.tell(n, e) }

// Name returns what people call somebody.
func (n Names) Name(id PersonID) string {
	if id == "" {
		return "nobody signed in"
	}
	return Setting{Ship: n.Ship}.name(id)
}

// Who returns whose entry it is: the program's own are nobody's.
func (n Names) Who(e Entry) string {
	if e.By == "" && (e.Kind == KindAdoptEdition || e.Kind == KindReckonAnew || e.Kind == KindStopForEmergency) {
		return "the program"
	}
	return n.Name(e.By)
}

// step names a step of the permit and its point.
func (n Names) step(i int) string {
	if l, ok := n.Permit.Lock(i); ok {
		return "step " + itoa(i) + " (" + string(l.Step.Point) + ")"
	}
	return "step " + itoa(i)
}

// Section returns the name of a section of the permit.
func (n Names) Section(id string) string {
	for _, d := range n.Permit.EverDrained() {
		if d.Section.ID == id {
			return d.Section.Name
		}
	}
	return id
}

// DeadTest returns the name of the part that is tested dead.
func (n Names) DeadTest(id string) string {
	if i := n.Permit.deadIndex(id); i >= 0 {
		return n.Permit.dead[i].Test.Name
	}
	return id
}

// period says for how long an authorisation runs.
func (n Names) period(e Entry, h float64) string {
	return Figure(h, 3) + " h, until " + n.Stamp(e.At.Add(hours(h)))
}

// Touched is what an entry is about beside its permit: points of the plant, and a person.
type Touched struct {
	Points []isolation.NodeID
	Person PersonID
}

// Touches returns what an entry is about; after is its permit after it.
func Touches(e Entry, after Permit) Touched { return e.Act.touches(after) }

// atStep is what an act about one step touches.
func atStep(p Permit, n int) Touched {
	if l, ok := p.Lock(n); ok {
		return Touched{Points: []isolation.NodeID{l.Step.Point}}
	}
	return Touched{}
}

// atTag is what an act about one lock tag touches.
func atTag(p Permit, tag TagDigest) Touched {
	if l, ok := p.LockByTag(tag); ok {
		return Touched{Points: []isolation.NodeID{l.Step.Point}}
	}
	return Touched{}
}

// Figure returns a number as an instrument would show it: at most so many decimals, none that say nothing.
func Figure(v float64, decimals int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "–"
	}
	text := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	if text == "-0" {
		return "0"
	}
	return strings.Replace(text, "-", "−", 1)
}

// Span returns a time span in the two largest units that say something: "1 h 5 min", "7 min", "40 s".
func Span(seconds float64) string {
	if math.IsNaN(seconds) || math.IsInf(seconds, 0) || seconds < 0 || seconds > 3650*86400 {
		return "not known"
	}
	s := int64(math.Ceil(seconds))
	switch {
	case s < 90:
		return fmt.Sprintf("%d s", s)
	case s < 3600:
		return fmt.Sprintf("%d min", (s+59)/60)
	case s < 86400:
		m := (s + 59) / 60
		if m%60 == 0 {
			return fmt.Sprintf("%d h", m/60)
		}
		return fmt.Sprintf("%d h %d min", m/60, m%60)
	}
	return fmt.Sprintf("%d d %d h", s/86400, s%86400/3600)
}

// Plural returns a number with the word that goes with it.
func Plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return itoa(n) + " " + many
}

func either(is bool, yes, no string) string {
	if is {
		return yes
	}
	return no
}

// changedWords says what a record tells to have been changed since the one before.
func changedWords(words string) string {
	if strings.TrimSpace(words) == "" {
		return ""
	}
	return "; changed since the record before: " + strings.TrimSpace(words)
}
