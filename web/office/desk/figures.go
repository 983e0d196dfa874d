package desk

import (
	"net/url"
	"strconv"
	"time"

	"stillwatch/permits/lookback"
	"stillwatch/permits/shore"
	"stillwatch/web/screens"
)

// Asked is what a page of figures was asked for, and what it may be asked for.
type Asked struct {
	Ask    shore.Asked
	Plants []shore.Sisters
	Ships  []shore.FleetLine
}

// FromField is the first day as the form has it.
func (a Asked) FromField() string { return a.Ask.From.UTC().Format(time.DateOnly) }

// ToField is the last day as the form has it.
func (a Asked) ToField() string { return a.Ask.To.UTC().Add(-time.Second).Format(time.DateOnly) }

// Plant is the title of the plant file that was asked for.
func (a Asked) Plant() string { return a.Ask.Plant }

// Ship is the number of the ship that was asked for.
func (a Asked) Ship() int64 { return a.Ask.Ship }

// From is the beginning of the time.
func (a Asked) From() time.Time { return a.Ask.From }

// To is the last moment of the time.
func (a Asked) To() time.Time { return a.Ask.To.Add(-time.Second) }

// Query asks for the same again.
func (a Asked) Query() string {
	q := url.Values{"from": {a.FromField()}, "to": {a.ToField()}}
	if a.Ask.Plant != "" {
		q.Set("plant", a.Ask.Plant)
	}
	if a.Ask.Ship != 0 {
		q.Set("ship", strconv.FormatInt(a.Ask.Ship, 10))
	}
	return q.Encode()
}

// FiguresPage is what an office asks about the permits of its ships in a time.
type FiguresPage struct {
	Frame
	Asked
	Parts []screens.FigurePart
}

// NewFiguresPage puts the figures into parts; overdue and late are of the ships now.
func NewFiguresPage(f Frame, a Asked, figures lookback.Figures, late []shore.Late) FiguresPage {
	var about []shore.FleetLine
	for _, s := range a.Ships {
		if (a.Ask.Ship == 0 || a.Ask.Ship == s.ID) && (a.Ask.Plant == "" || a.Ask.Plant == s.Plant) {
			about = append(about, s)
		}
	}
	return FiguresPage{f, a, append(screens.FleetFigures(figures), overduePart(about), latePart(late))}
}

// Of how many ships, or kinds of point, a picture shows the amounts.
const mostBars = 20

func overduePart(ships []shore.FleetLine) screens.FigurePart {
	p := screens.FigurePart{ID: "overdue", Title: "Audits and inspections overdue now", Of: "Ship", Quantity: "Overdue",
		None: "No tag and no plan is overdue."}
	tags, plans := int64(0), int64(0)
	for _, s := range ships {
		tags, plans = tags+s.TagsOverdue, plans+s.PlansOverdue
		if n := s.TagsOverdue + s.PlansOverdue; n > 0 && len(p.Rows) < mostBars {
			p.Rows = append(p.Rows, screens.FigureRow{Name: s.Name, Value: float64(n), Unit: "overdue",
				Words: strconv.FormatInt(n, 10), Over: true, Flag: "overdue",
				Note: screens.Plural(int(s.TagsOverdue), "tag", "tags") + ", " + screens.Plural(int(s.PlansOverdue), "plan",
					"plans")})
		}
	}
	p.Says = screens.Plural(int(tags), "tag is", "tags are") + " overdue for the sight audit, " +
		screens.Plural(int(plans), "plan is", "plans are") + " overdue for inspection."
	return p
}

func latePart(late []shore.Late) screens.FigurePart {
	p := screens.FigurePart{ID: "late", Title: "Audits that came late", Of: "Ship", Quantity: "Late",
		None: "No audit came late."}
	all := int64(0)
	for _, l := range late {
		all += l.Late
		if len(p.Rows) < mostBars {
			p.Rows = append(p.Rows, screens.FigureRow{Name: l.Name, Value: float64(l.Late), Unit: "audits",
				Words: strconv.FormatInt(l.Late, 10), Note: "of " + strconv.FormatInt(l.Signed, 10) + " signed"})
		}
	}
	p.Says = screens.Plural(int(all), "audit came", "audits came") + " more than two weeks after the one before."
	return p
}

// PassingPage is which points were found passing, by kind and place across the ships.
type PassingPage struct {
	Frame
	Asked
	Groups []shore.PassingGroup
	Now    []shore.PassingLine
	Parts  []screens.FigurePart
}

// NewPassingPage puts the groups into a picture too.
func NewPassingPage(f Frame, a Asked, groups []shore.PassingGroup, now []shore.PassingLine) PassingPage {
	part := screens.FigurePart{ID: "passing", Title: "Found passing, by kind and place", Of: "Kind and place",
		Quantity: "Found",
		None:     "No point was found passing in this time."}
	found := int64(0)
	for _, g := range groups {
		found += g.Found
		if g.Found > 0 && len(part.Rows) < mostBars {
			part.Rows = append(part.Rows, screens.FigureRow{Name: g.Kind + ", " + g.Place, Value: float64(g.Found),
				Unit:  "times",
				Words: strconv.FormatInt(g.Found, 10), Note: "on " + screens.Plural(int(g.Ships), "ship", "ships")})
		}
	}
	part.Says = "Points were found passing " + screens.Plural(int(found), "time", "times") + "."
	return PassingPage{f, a, groups, now, []screens.FigurePart{part}}
}
