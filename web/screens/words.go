package screens

import (
	"html/template"
	"net/url"
	"regexp"
	"strings"
	"time"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/register"
)

// NewActID draws the id of an act that a form may become.
func NewActID() string { return string(register.NewActID()) }

// Shorten cuts a text for a sentence.
func Shorten(s string, n int) string {
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	return string(r[:n]) + "…"
}

// wordFuncs are the functions that templates may use: they put figures, times and positions into words, nothing else.
func wordFuncs() template.FuncMap {
	return template.FuncMap{
		"clock":    clockWords,
		"stamp":    StampWords,
		"day":      dayWords,
		"sight":    SightWords,
		"iso":      func(t time.Time) string { return t.Format(time.RFC3339) },
		"second":   func(t time.Time) string { return t.Local().Format("15:04:05") },
		"figure":   Figure,
		"typed":    typedFigure,
		"suspect":  SuspectHref,
		"litres":   func(v float64) string { return FigureTo(v, 1) },
		"span":     SpanWords,
		"position": PositionWords,
		"mark":     PositionMark,
		"slug":     Slug,
		"title":    titled,
		"newID":    NewActID,
		"path":     url.PathEscape,
		"join":     strings.Join,
		"nodes":    NodeList,
		"plural":   Plural,
		"other":    otherPosition,
	}
}

// Sentence returns words as a sentence: with a capital and a full stop.
func Sentence(words string) string { return titled(words) + "." }

// titled begins words with a capital.
func titled(words string) string {
	if words == "" {
		return ""
	}
	return strings.ToUpper(words[:1]) + words[1:]
}

// clockWords returns the time of day on the ship.
func clockWords(t time.Time) string {
	if t.IsZero() {
		return "–"
	}
	return t.Local().Format("15:04")
}

// StampWords returns day and time on the ship, "–" for no time.
func StampWords(t time.Time) string {
	if t.IsZero() {
		return "–"
	}
	return t.Local().Format("2 Jan 2006, 15:04")
}

// logTime is a time as the gates write it, in the log's zone; the day may be left out.
var logTime = regexp.MustCompile(`(\d{4}-\d\d-\d\d )?(\d\d:\d\d) UTC`)

// ShipTime returns a gate's words with the times as the clock on the ship shows them. A time without a day is one near
// now.
func ShipTime(words string, now time.Time) string {
	return logTime.ReplaceAllStringFunc(words, func(found string) string {
		m := logTime.FindStringSubmatch(found)
		if m[1] != "" {
			if t, err := time.Parse("2006-01-02 15:04", m[1]+m[2]); err == nil {
				return StampWords(t)
			}
			return found
		}
		t, err := time.Parse("2006-01-02 15:04", now.UTC().Format("2006-01-02 ")+m[2])
		if err != nil {
			return found
		}
		return clockWords(t)
	})
}

// InShipTime returns a refusal with its times so; nil for none.
func InShipTime(no *permits.Refusal, now time.Time) *permits.Refusal {
	if no == nil {
		return nil
	}
	told := *no
	told.What, told.Opens = ShipTime(no.What, now), ShipTime(no.Opens, now)
	return &told
}

// typedFigure returns a number as somebody would type it into a field, to a hundredth.
func typedFigure(v float64) string {
	return strings.Replace(FigureTo(v, 2), "−", "-", 1)
}

// SuspectHref returns the address at which a point that a finding names can be recorded as passing, with the words
// filled in.
func SuspectHref(point isolation.NodeID, f isolation.Finding) string {
	return "/points/" + url.PathEscape(string(point)) + "?seen=" + url.QueryEscape(Shorten("Suspected: "+f.Words, 300)) +
		"#f-passing"
}

// Figure returns a number as an instrument would show it: up to three decimals, none that say nothing.
func Figure(v float64) string { return FigureTo(v, 3) }

// FigureTo returns a figure with at most so many decimals.
func FigureTo(v float64, decimals int) string { return permits.Figure(v, decimals) }

// SpanWords returns a time span in the two largest units that say something: "1 h 5 min", "7 min", "40 s".
func SpanWords(seconds float64) string { return permits.Span(seconds) }

// PositionWords returns a position in the words of the trade, see isolation.Kind.Word; a dash for none.
func PositionWords(kind isolation.Kind, at isolation.Position) string {
	if at == "" {
		return "–"
	}
	return kind.Word(at)
}

// PositionMark names the symbol that goes with a position.
func PositionMark(kind isolation.Kind, at isolation.Position) string {
	stops := at == kind.Isolating()
	switch {
	case kind.IsElectrical():
		return Choose(stops, "m-off", "m-on")
	case kind == isolation.Earth:
		return Choose(stops, "m-earth-on", "m-earth-off")
	case kind == isolation.Blank:
		return Choose(stops, "m-blank-in", "m-blank-out")
	case kind == isolation.Spool:
		return Choose(stops, "m-parted", "m-joined")
	}
	return Choose(stops, "m-shut", "m-open")
}

// otherPosition returns the position of a kind of point that is not this one.
func otherPosition(kind isolation.Kind, at isolation.Position) isolation.Position {
	if at == kind.Isolating() {
		return kind.Passing()
	}
	return kind.Isolating()
}

// Choose returns yes if it is so, else no.
func Choose(is bool, yes, no string) string {
	if is {
		return yes
	}
	return no
}

// Slug returns a text as part of a name in HTML: letters, digits and hyphens.
func Slug(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9', r >= 'A' && r <= 'Z':
			return r
		}
		return '-'
	}, s)
}

// NodeList returns ids with commas between.
func NodeList(ids []isolation.NodeID) string {
	words := make([]string, len(ids))
	for i, id := range ids {
		words[i] = string(id)
	}
	return strings.Join(words, ", ")
}

// Plural returns a number with the word that goes with it.
func Plural(n int, one, many string) string { return permits.Plural(n, one, many) }
