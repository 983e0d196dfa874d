package web

import (
	"html/template"
	"net/url"
	"strconv"
	"strings"
	"time"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// wordFuncs are the functions that templates may use: they put figures, times and positions into words, nothing else.
func wordFuncs() template.FuncMap {
	return template.FuncMap{
		"clock":    clockWords,
		"stamp":    stampWords,
		"iso":      func(t time.Time) string { return t.Format(time.RFC3339) },
		"figure":   figure,
		"typed":    typedFigure,
		"suspect":  suspectHref,
		"litres":   func(v float64) string { return figureTo(v, 1) },
		"span":     spanWords,
		"position": positionWords,
		"mark":     positionMark,
		"slug":     slug,
		"newID":    newActID,
		"path":     url.PathEscape,
		"join":     strings.Join,
		"nodes":    nodeList,
		"plural":   plural,
		"other":    otherPosition,
	}
}

// clockWords returns the time of day on the ship.
func clockWords(t time.Time) string {
	if t.IsZero() {
		return "–"
	}
	return t.Local().Format("15:04")
}

// stampWords returns day and time on the ship, "–" for no time.
func stampWords(t time.Time) string {
	if t.IsZero() {
		return "–"
	}
	return t.Local().Format("2 Jan 2006, 15:04")
}

// typedFigure returns a number as somebody would type it into a field, to a hundredth.
func typedFigure(v float64) string {
	return strings.Replace(figureTo(v, 2), "−", "-", 1)
}

// suspectHref returns the address at which a point that a finding names can be recorded as passing, with the words filled
// in.
func suspectHref(point isolation.NodeID, f isolation.Finding) string {
	return "/points/" + url.PathEscape(string(point)) + "?seen=" + url.QueryEscape(shorten("Suspected: "+f.Words, 300)) +
		"#f-passing"
}

// figure returns a number as an instrument would show it: up to three decimals, none that say nothing.
func figure(v float64) string { return figureTo(v, 3) }

func figureTo(v float64, decimals int) string { return permits.Figure(v, decimals) }

// spanWords returns a time span in the two largest units that say something: "1 h 5 min", "7 min", "40 s".
func spanWords(seconds float64) string { return permits.Span(seconds) }

// positionWords returns a position in the words of the trade, see isolation.Kind.Word; a dash for none.
func positionWords(kind isolation.Kind, at isolation.Position) string {
	if at == "" {
		return "–"
	}
	return kind.Word(at)
}

// positionMark names the symbol that goes with a position.
func positionMark(kind isolation.Kind, at isolation.Position) string {
	stops := at == kind.Isolating()
	switch {
	case kind.IsElectrical():
		return choose(stops, "m-off", "m-on")
	case kind == isolation.Blank:
		return choose(stops, "m-blank-in", "m-blank-out")
	case kind == isolation.Spool:
		return choose(stops, "m-parted", "m-joined")
	}
	return choose(stops, "m-shut", "m-open")
}

// otherPosition returns the position of a kind of point that is not this one.
func otherPosition(kind isolation.Kind, at isolation.Position) isolation.Position {
	if at == kind.Isolating() {
		return kind.Passing()
	}
	return kind.Isolating()
}

func choose(is bool, yes, no string) string {
	if is {
		return yes
	}
	return no
}

// slug returns a text as part of a name in HTML: letters, digits and hyphens.
func slug(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9', r >= 'A' && r <= 'Z':
			return r
		}
		return '-'
	}, s)
}

func nodeList(ids []isolation.NodeID) string {
	words := make([]string, len(ids))
	for i, id := range ids {
		words[i] = string(id)
	}
	return strings.Join(words, ", ")
}

// plural returns a number with the word that goes with it.
func plural(n int, one, many string) string { return permits.Plural(n, one, many) }

// permitPath returns the address of a permit's page.
func permitPath(id permits.PermitID) string { return "/permits/" + strconv.FormatInt(int64(id), 10) }
