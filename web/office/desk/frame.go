package desk

import (
	"html/template"
	"time"

	"stillwatch/permits"
	"stillwatch/web/screens"
)

// Site is the office's screens.
var Site = screens.Site{Layout: "office.html", Folder: "office", Funcs: template.FuncMap{"moment": Moment,
	"stamp": stamp,
	"day":   day}, Pages: map[string]any{
	"figures_show": FiguresPage{},
	"fleet_show":   FleetPage{},
	"notice":       NoticePage{},
	"passing_list": PassingPage{},
	"ship_show":    ShipPage{},
	"sign_in":      SignInPage{},
	"sisters_show": SistersPage{},
}}

// Frame is what every page carries.
type Frame struct {
	Title   string
	Tab     string // which of the tabs is this one
	Path    string // the page's own address
	Me      string // who is signed in; "": nobody
	OneShip string // the one ship that they may see; "": every ship
	Palette string
	Clock   time.Time
	Version string
}

// Base returns this part itself, for the layout.
func (f Frame) Base() Frame { return f }

// SignInPage lets somebody of the office type name and password.
type SignInPage struct {
	Frame
	Name string // as typed
	Why  string // it was refused
	Next string // where to go afterwards
}

// NoticePage says one thing.
type NoticePage struct {
	Frame
	Heading, Words, Opens string
}

// A fleet is in every zone at once, so the office reads UTC, and the words say so.
func stamp(t time.Time) string {
	if t.IsZero() {
		return "–"
	}
	return t.UTC().Format("2 Jan 2006, 15:04 UTC")
}

func day(t time.Time) string { return t.UTC().Format("2 Jan 2006") }

// Moment returns a moment in microseconds as words; "–" for none.
func Moment(us int64) string {
	if us == 0 {
		return "–"
	}
	return stamp(time.UnixMicro(us))
}

// ago says how long a moment is past.
func ago(us int64, now time.Time) string {
	d := now.Sub(time.UnixMicro(us))
	switch {
	case us == 0:
		return "never"
	case d < 0:
		return "just now"
	case d > 3600*24*3650*time.Second:
		return "more than ten years ago"
	}
	return permits.Span(d.Seconds()) + " ago"
}
