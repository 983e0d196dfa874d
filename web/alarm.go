package web

import (
	"strings"

	"stillwatch/permits"
)

// alarm is one danger on an open permit that everybody must see first: what is wrong, who is in it, what to do at once.
type alarm struct {
	Permit permits.PermitID
	What   string // "Isolation lost."
	Who    string // "2 people are signed on: Bao, Tove."; "" if nobody is
	Do     string // "Get them out."
}

// alarmsOf returns the dangers of one permit: people at work while it is not live, and points that are recorded as
// passing.
func alarmsOf(p permits.Permit, ship permits.Ship) []alarm {
	var out []alarm
	who := signedOnWords(p, ship)
	out = append(out, passingAlarms(p, ship, who)...)
	switch {
	case who == "" || p.State() == permits.Live:
	case p.State() == permits.Suspended:
		out = append(out, alarm{p.ID(), "The work is stopped.", who, "Get them out, then each signs off."})
	default:
		out = append(out, alarm{p.ID(), "Isolation lost.", who, "Get them out, then each signs off."})
	}
	return out
}

// passingAlarms returns one alarm for every point of the permit that is recorded as passing, with what was found.
func passingAlarms(p permits.Permit, ship permits.Ship, who string) []alarm {
	var out []alarm
	if p.State().IsOver() || permits.CanFollow(p.State(), permits.KindRemoveLock) {
		return nil // nobody is at work any more, and what hangs comes off whether it isolates or not
	}
	for _, point := range p.PassingPoints(ship) {
		a := alarm{Permit: p.ID(), What: string(point) + " is recorded as passing: it does not isolate (" +
			strings.TrimRight(strings.TrimSpace(ship.Passing[point]), ".") + ").", Who: who}
		switch {
		case who != "":
			a.Do = "Get them out and stop the work."
		case p.State() == permits.Live:
			a.Do = "Stop the work: nobody signs on."
		default:
			a.Do = "Nothing goes on until a repair is recorded, or another permit is planned without that point."
		}
		out = append(out, a)
	}
	return out
}

// signedOnWords says who is signed on, by name; "" if nobody is.
func signedOnWords(p permits.Permit, ship permits.Ship) string {
	on := p.SignedOn()
	if len(on) == 0 {
		return ""
	}
	names := make([]string, len(on))
	for i, id := range on {
		names[i] = string(id)
		if who, ok := ship.Person(id); ok {
			names[i] = who.String()
		}
	}
	return plural(len(on), "person is", "people are") + " signed on: " + strings.Join(names, ", ") + "."
}

// words puts an alarm into one text, for paper.
func (a alarm) words() string { return strings.Join(strings.Fields(a.What+" "+a.Who+" "+a.Do), " ") }

// sentence ends somebody's words with a full stop.
func sentence(words string) string {
	words = strings.TrimSpace(words)
	if words == "" || strings.HasSuffix(words, ".") || strings.HasSuffix(words, "!") || strings.HasSuffix(words, "?") {
		return words
	}
	return words + "."
}
