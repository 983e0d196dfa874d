package screens

import (
	"bytes"
	"html/template"
	"slices"
	"strings"
	"time"

	"stillwatch/isolation"
	"stillwatch/isolation/drawing/diagram"
	"stillwatch/permits"
	"stillwatch/permits/register"
)

// How much of each list stands on a board screen: nobody scrolls there. What does not is counted.
const (
	screenPermits   = 9
	screenPlaces    = 8
	screenDeadlines = 6
	screenRefusals  = 3
	screenMimics    = 4
)

// BoardScreenPage is the board for a screen that hangs on the bridge or in the control room: read from afar, touched by
// nobody.
type BoardScreenPage struct {
	Frame
	Made        time.Time // when all below was asked for
	Size        int64     // entries of the log then
	Emergency   permits.Emergency
	NotOut      []notOutLine
	Alarms      []boardAlarm
	Notices     []register.Notice
	Open        int
	LocksOn     int
	AtWork      int
	Overdue     int
	States      []stateGroup
	MorePermits int
	Places      []PlaceGroup
	MorePlaces  int
	Deadlines   []deadlineLine
	MoreOfThem  int
	Due         DueLines
	Passing     []PassingLine
	Refused     []refusedLine
	Mimics      []mimicView
	NotDrawn    []permits.PermitID
}

// stateGroup is the open permits in one state.
type stateGroup struct {
	State permits.State
	Count int
	Lines []boardLine // those that are listed
}

// PlaceGroup is the points of one place on which something hangs.
type PlaceGroup struct {
	Place  string
	Points []hangLine
}

// deadlineLine is one moment that people look out for.
type deadlineLine struct {
	permits.Deadline
	Over bool
	Left float64 // seconds until it, or since it
}

// refusedLine is one act that a gate refused. It says nothing of who tried: everybody reads a board.
type refusedLine struct {
	At     time.Time
	Permit permits.PermitID
	What   string
}

// mimicView is the plant about one isolation as it stands.
type mimicView struct {
	ID       permits.PermitID
	Job      string
	Standing permits.Isolation
	Locks    int
	LocksOn  int
	SVG      template.HTML // made by package diagram, which escapes every word
}

// BoardScreenOf puts how the ship stands on a board screen. refused is the newest refusals of the log, newest first.
func BoardScreenOf(set permits.Setting, refused []permits.Entry) BoardScreenPage {
	page := BoardScreenPage{Made: set.At, Due: DueOf(set), Emergency: set.Ship.Emergency}
	if !page.Emergency.IsZero() {
		page.NotOut = notOut(set)
	}
	var open []permits.Permit
	for _, id := range set.OpenIDs() {
		open = append(open, *set.Open[id])
	}
	page.Open, page.Alarms = len(open), BoardAlarms(set, open)
	page.permits(set, open)
	page.places(HangLines(set.Held, set.Plant))
	for _, d := range permits.Deadlines(set) {
		if len(page.Deadlines) == screenDeadlines {
			page.MoreOfThem++
			continue
		}
		left := d.At.Sub(set.At).Seconds()
		page.Deadlines = append(page.Deadlines, deadlineLine{d, left <= 0, max(left, -left)})
	}
	for _, e := range refused {
		no, is := e.Act.(permits.RefusedAct)
		if is && len(page.Refused) < screenRefusals {
			page.Refused = append(page.Refused, refusedLine{e.At, e.Permit, ShipTime(no.What, set.At)})
		}
	}
	page.mimics(set, open)
	return page
}

// permits lists the open permits by their state, in the order of the way.
func (b *BoardScreenPage) permits(set permits.Setting, open []permits.Permit) {
	room := screenPermits
	for _, state := range permits.States() {
		g := stateGroup{State: state}
		for _, p := range open {
			if p.State() != state {
				continue
			}
			line := boardLineOf(p, nextViews(set, p), set.At)
			b.LocksOn += line.LocksOn
			b.AtWork += len(p.SignedOn())
			b.Overdue += count(line.Overdue)
			if g.Count++; room > 0 {
				g.Lines = append(g.Lines, line)
				room--
			} else {
				b.MorePermits++
			}
		}
		if g.Count > 0 {
			b.States = append(b.States, g)
		}
	}
}

// places lists the points on which something hangs by where they stand.
func (b *BoardScreenPage) places(hang []hangLine) {
	var all []PlaceGroup
	for _, l := range hang {
		i := slices.IndexFunc(all, func(g PlaceGroup) bool { return g.Place == l.Place })
		if i < 0 {
			i = len(all)
			all = append(all, PlaceGroup{Place: l.Place})
		}
		all[i].Points = append(all[i].Points, l)
	}
	slices.SortStableFunc(all, func(x, y PlaceGroup) int { return strings.Compare(x.Place, y.Place) })
	b.MorePlaces = max(0, len(all)-screenPlaces)
	b.Places = all[:len(all)-b.MorePlaces]
}

// standings is the order in which isolations are drawn: what has gone wrong, what people rely on, what is under way.
var standings = []permits.Isolation{permits.IsolationLost, permits.Isolated, permits.PartlyLocked, permits.LockedOnly}

// mimics draws the isolations of which something hangs.
func (b *BoardScreenPage) mimics(set permits.Setting, open []permits.Permit) {
	for _, standing := range standings {
		for _, p := range open {
			if permits.IsolationOf(set, p) != standing {
				continue
			}
			if len(b.Mimics) == screenMimics || set.Plant == nil {
				b.NotDrawn = append(b.NotDrawn, p.ID())
				continue
			}
			b.Mimics = append(b.Mimics, mimicOf(set.Plant, p, standing))
		}
	}
}

func mimicOf(plant *isolation.Plant, p permits.Permit, standing permits.Isolation) mimicView {
	v := mimicView{ID: p.ID(), Job: p.Plan().MachineName + ": " + p.Plan().Title, Standing: standing,
		Locks: len(p.Locks()), LocksOn: p.LocksOn()}
	hangs := func(step int) bool {
		l, known := p.Lock(step)
		return known && l.IsOn() && !l.IsWrong()
	}
	d := diagram.Mimic(plant, diagram.Part{Plan: p.Plan(), On: hangs, Isolated: standing == permits.Isolated,
		Words: v.Job + ": " + string(standing) + "."})
	var svg bytes.Buffer
	if err := d.SVG(&svg, diagram.Options{ID: "mimic-" + PermitNumber(p.ID())}); err == nil {
		v.SVG = template.HTML(svg.String())
	}
	return v
}

// Columns is how many drawings stand side by side.
func (b BoardScreenPage) Columns() int { return min(2, len(b.Mimics)) }

// BoardScreensPage is the list of the board screens, with the forms that begin and end one.
type BoardScreensPage struct {
	Frame
	Lines []permits.BoardScreen
	May   bool // whoever reads may make this device one
}
