package screens

import (
	"bytes"
	"html/template"
	"strconv"
	"time"

	"stillwatch/isolation/drawing/chart"
	"stillwatch/permits"
	"stillwatch/permits/lookback"
)

// FiguresPage is what a chief engineer is asked about the permits of a time.
type FiguresPage struct {
	Frame
	Figures  lookback.Figures
	Parts    []FigurePart
	From, To string // as the fields have them
	Query    string // of the exports
	Most     bool   // more was refused than was counted
}

// FigurePart is one figure: a sentence, a picture, and the table beside it.
type FigurePart struct {
	ID       string
	Title    string
	Says     string // the figure in a sentence
	Of       string // heads the names
	Quantity string // heads the amounts
	None     string // said where there is nothing to count
	Rows     []FigureRow
}

// FigureRow is one amount.
type FigureRow struct {
	Name, Words string
	Value       float64
	None        bool // there is no amount
	Unit        string
	Over        bool   // beyond what it may be
	Flag        string // how so, in a word
	Note        string
}

// SVG returns the picture of a figure.
func (p FigurePart) SVG() template.HTML {
	c := chart.Bars{ID: "figure-" + p.ID, Title: p.Title, Desc: p.Says + " The table beside the picture says the same."}
	for _, r := range p.Rows {
		c.Bars = append(c.Bars, chart.Bar{Name: r.Name, Value: r.Value, Words: r.Words, Over: r.Over})
	}
	var b bytes.Buffer
	if err := c.SVG(&b); err != nil {
		return "" // the table says it
	}
	return template.HTML(b.String()) // made by package chart, which escapes every word
}

// HasNotes reports whether a row has something to note.
func (p FigurePart) HasNotes() bool {
	for _, r := range p.Rows {
		if r.Note != "" || r.Over {
			return true
		}
	}
	return false
}

// FigureParts puts figures into parts; name returns what people are called.
func FigureParts(f lookback.Figures, name func(permits.PersonID) string) []FigurePart {
	return []FigurePart{toLivePart(f), monthsPart(f), locksPart(f), refusalsPart(f), passingPart(f), auditsPart(f, name),
		duePart(f)}
}

// FleetFigures puts what an office asks of its ships into parts.
func FleetFigures(f lookback.Figures) []FigurePart {
	return []FigurePart{toLivePart(f), monthsPart(f), refusalsPart(f)}
}

// HalfWithin says within how long half of the permits went live.
func (p FiguresPage) HalfWithin() string {
	if p.Figures.ToLive.N == 0 {
		return "–"
	}
	return FigureTo(p.Figures.ToLive.Half.Hours(), 1) + "\u00a0h"
}

// longWords returns a time in words; what is longer than two days in days.
func longWords(d time.Duration) string {
	if d >= 48*time.Hour {
		return FigureTo(d.Hours()/24, 1) + " days"
	}
	return SpanWords(d.Seconds())
}

func hoursRow(name string, d time.Duration, n int) FigureRow {
	r := FigureRow{Name: name, Value: d.Hours(), Unit: "h", Words: longWords(d)}
	if n == 0 {
		r.Words, r.None = "–", true
	}
	return r
}

func toLivePart(f lookback.Figures) FigurePart {
	p := FigurePart{ID: "live", Title: "From request to live", Of: "Of the permits that went live", Quantity: "At most",
		None: "No permit went live."}
	if f.ToLive.N == 0 {
		return p
	}
	p.Says = "1 permit went live, " + longWords(f.ToLive.Half) + " after its request."
	if f.ToLive.N > 1 {
		p.Says = Plural(f.ToLive.N, "permit", "permits") + " went live, half of them within " + longWords(f.ToLive.Half) +
			" of the request."
	}
	p.Rows = []FigureRow{hoursRow("half of them", f.ToLive.Half, 1), hoursRow("nine in ten", f.ToLive.Nine, 1),
		hoursRow("the longest", f.ToLive.Most, 1)}
	return p
}

func monthsPart(f lookback.Figures) FigurePart {
	p := FigurePart{ID: "months", Title: "From request to live, by month", Of: "Requested in", Quantity: "Half within",
		None: "No permit was requested.", Says: Plural(f.Requested, "permit was", "permits were") + " requested."}
	if f.Requested == 0 {
		return p
	}
	for _, m := range f.Months {
		r := hoursRow(m.Begins.Format("January 2006"), m.ToLive.Half, m.ToLive.N)
		r.Note = Plural(m.Requested, "permit", "permits") + ", " + strconv.Itoa(m.ToLive.N) + " went live"
		p.Rows = append(p.Rows, r)
	}
	return p
}

func countRows(list []lookback.Count) []FigureRow {
	out := make([]FigureRow, len(list))
	for i, c := range list {
		out[i] = FigureRow{Name: c.Words, Value: float64(c.N), Unit: "times", Words: strconv.Itoa(c.N)}
	}
	return out
}

func locksPart(f lookback.Figures) FigurePart {
	p := FigurePart{ID: "locks", Title: "Locks and tags of a permit", Of: "Permits with", Quantity: "Permits",
		None: "No permit was requested.", Rows: countRows(f.Locks)}
	if f.Requested > 0 {
		p.Says = "Half of the permits needed " + Plural(f.LocksHalf, "lock or tag", "locks and tags") + " at most."
	}
	for i := range p.Rows {
		p.Rows[i].Unit = "permits"
	}
	return p
}

func refusalsPart(f lookback.Figures) FigurePart {
	return FigurePart{ID: "refusals", Title: "What gates refused", Of: "Gate", Quantity: "Refused",
		None: "No gate refused anything.", Rows: countRows(f.Refusals),
		Says: Plural(f.Refused, "act was", "acts were") + " refused."}
}

func passingPart(f lookback.Figures) FigurePart {
	p := FigurePart{ID: "passing", Title: "Points that pass", Of: "Point", Quantity: "For",
		None: "No point is recorded as passing.",
		Says: Plural(len(f.Passing), "point passes", "points pass") + " now. In this time a point was found passing " +
			Plural(f.Found, "time", "times") + ", and repaired " + Plural(f.Repaired, "time", "times") + "."}
	for _, x := range f.Passing {
		r := FigureRow{Name: string(x.Point) + ": " + x.Words, Unit: "d", Words: "for longer", Note: "found before this time",
			Value: f.To.Sub(f.From).Hours() / 24}
		if !x.Since.IsZero() {
			r.Value = f.To.Sub(x.Since).Hours() / 24
			r.Words, r.Note = longWords(f.To.Sub(x.Since)), "found "+StampWords(x.Since)
		}
		p.Rows = append(p.Rows, r)
	}
	return p
}

func auditsPart(f lookback.Figures, name func(permits.PersonID) string) FigurePart {
	p := FigurePart{ID: "audits", Title: "Audits of the tags", Of: "Signed", Quantity: "After the one before",
		None: "No audit was signed.", Says: Plural(len(f.Audits), "audit was", "audits were") + " signed."}
	late := 0
	for _, a := range f.Audits {
		r := FigureRow{Name: dayWords(a.At) + ", " + name(a.By), Value: a.After.Hours() / 24, Unit: "d",
			Words: longWords(a.After), Over: a.Late, Note: Plural(a.Tags, "tag", "tags")}
		if a.After == 0 {
			r.Words, r.None = "the first", true
		}
		if a.Late {
			late++
			r.Flag = "late"
			r.Note += ", if any hung between: more than " + strconv.Itoa(permits.AuditMostDays) + " days"
		}
		p.Rows = append(p.Rows, r)
	}
	if late > 0 {
		p.Says += " " + Plural(late, "of them came", "of them came") + " more than " + strconv.Itoa(permits.AuditMostDays) +
			" days after the one before."
	}
	return p
}

func duePart(f lookback.Figures) FigurePart {
	row := func(name string, n int, over bool, of string) FigureRow {
		return FigureRow{Name: name, Value: float64(n), Unit: of, Words: strconv.Itoa(n), Over: over && n > 0,
			Flag: "overdue"}
	}
	return FigurePart{ID: "due", Title: "Overdue now", Of: "What", Quantity: "How many", None: "Nothing.",
		Says: strconv.Itoa(f.Tags.Overdue) + " of " + Plural(f.Tags.All, "tag", "tags") + " and " +
			strconv.Itoa(f.Plans.Overdue) + " of " + Plural(f.Plans.All, "plan", "plans") + " are overdue.",
		Rows: []FigureRow{row("tags that hang", f.Tags.All, false, "tags"),
			row("of these overdue for the sight audit", f.Tags.Overdue, true, "tags"),
			row("plans in use", f.Plans.All, false, "plans"),
			row("of these overdue for inspection", f.Plans.Overdue, true, "plans")}}
}
