package screens

import (
	"slices"
	"strconv"
	"time"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/register"
)

// BoardPage is the first page: what waits for whom, what hangs, what is overdue, what the officer must know.
type BoardPage struct {
	Frame
	Notices []register.Notice
	Alarms  []boardAlarm // what endangers people now, before all else
	Groups  []boardGroup // what waits, by who it waits for; the reader's own first
	Overdue []boardLine
	Hang    []hangLine
	Passing []PassingLine
	Open    int
	LocksOn int
	AtWork  int
	Begin   []beginLine   // what a new register needs before its first permit
	Untold  []ReleaseLine // of the locks of whoever reads

	Emergency   permits.Emergency  // that is declared
	NotOut      []notOutLine       // in it
	Unaccounted []permits.PermitID // after one
	Due         DueLines           // audits and inspections
}

// ReleaseLine is a release of somebody's locks, in words.
type ReleaseLine struct {
	permits.Release
	Words string
}

// ReleaseLines returns the releases that somebody has not been told of.
func ReleaseLines(ship permits.Ship, who permits.PersonID) []ReleaseLine {
	var out []ReleaseLine
	for _, r := range ship.Untold[who] {
		out = append(out, ReleaseLine{r, r.Account(permits.Names{Ship: ship, Stamp: StampWords})})
	}
	return out
}

// boardGroup is everything that waits for the same people.
type boardGroup struct {
	Who   string
	Yours bool
	Lines []boardLine
}

// boardLine is one permit that waits for something.
type boardLine struct {
	ID      permits.PermitID
	State   permits.State
	Machine string
	Title   string
	Waits   []nextView // everything that it waits for, most urgent first
	Until   time.Time
	LocksOn int
	Locks   int
	Wrong   int // found wrong, and not among those that are on
	Overdue bool
	Since   time.Time
}

// hangLine is one point on which something hangs.
type hangLine struct {
	Point    isolation.NodeID
	Name     string
	Place    string
	Kind     isolation.Kind
	Position isolation.Position
	Held     []permits.Holding
}

// boardAlarm is an alarm with the job that it is about.
type boardAlarm struct {
	permits.Alarm
	Job string
}

// PassingLine is one point that is recorded as passing, with what was found.
type PassingLine struct {
	Point isolation.NodeID
	Words string
}

// groupOrder is the order in which the board lists who is waited for.
var groupOrder = []string{string(permits.Officer), string(permits.Master), string(permits.Technician), "second person",
	"person in charge of the work", string(permits.ChiefEngineer), "people at work"}

// AlarmsOf returns the alarms of a permit with their times as the clock on the ship shows them.
func AlarmsOf(set permits.Setting, p permits.Permit) []permits.Alarm {
	out := permits.Alarms(set, p)
	for i := range out {
		out[i].What, out[i].Do = ShipTime(out[i].What, set.At), ShipTime(out[i].Do, set.At)
	}
	return out
}

// BoardAlarms returns the alarms of all open permits.
func BoardAlarms(set permits.Setting, open []permits.Permit) []boardAlarm {
	var out []boardAlarm
	for _, p := range open {
		for _, a := range AlarmsOf(set, p) {
			out = append(out, boardAlarm{a, p.Plan().MachineName + ": " + p.Plan().Title})
		}
	}
	return out
}

// BoardOf sorts the open permits by what they wait for. Each stands once: where it waits for the reader, else where it
// waits most urgently; its line says all that it waits for.
func BoardOf(set permits.Setting, open []permits.Permit) BoardPage {
	page := BoardPage{Open: len(open), Due: DueOf(set), Begin: beginLines(set)}
	page.Emergency, page.Unaccounted = set.Ship.Emergency, set.Unaccounted()
	if !page.Emergency.IsZero() {
		page.NotOut = notOut(set)
	}
	groups := map[string]*boardGroup{}
	for _, p := range open {
		page.LocksOn += p.LocksOn()
		page.AtWork += len(p.SignedOn())
		line := boardLineOf(p, nextViews(set, p), set.At)
		if line.Overdue {
			page.Overdue = append(page.Overdue, line)
		}
		at := line.Waits[max(0, slices.IndexFunc(line.Waits, func(n nextView) bool { return n.Yours }))]
		g := groups[at.Who]
		if g == nil {
			g = &boardGroup{Who: at.Who, Yours: at.Yours}
			groups[at.Who] = g
		}
		g.Lines = append(g.Lines, line)
	}
	for _, yours := range []bool{true, false} {
		for _, name := range groupOrder {
			if g := groups[name]; g != nil && g.Yours == yours {
				page.Groups = append(page.Groups, *g)
			}
		}
	}
	return page
}

func boardLineOf(p permits.Permit, waits []nextView, now time.Time) boardLine {
	plan := p.Plan()
	title := plan.Title
	if p.Under() != 0 { // the title is that of the permit whose locks it works under
		title = p.Work()
	}
	return boardLine{ID: p.ID(), State: p.State(), Machine: plan.MachineName, Title: title, Waits: waits,
		Until:   p.Until(),
		LocksOn: p.LocksOn() - wrongCount(p), Wrong: wrongCount(p), Locks: len(p.Locks()), Overdue: p.IsOverdue(now),
		Since: p.Changed()}
}

// wrongCount returns how many locks of a permit were found wrong and are not fitted anew yet.
func wrongCount(p permits.Permit) int {
	n := 0
	for _, l := range p.Locks() {
		n += count(l.IsWrong())
	}
	return n
}

// Wrong reports whether something that should hang at the point was found wrong.
func (l hangLine) Wrong() bool {
	return slices.ContainsFunc(l.Held, func(h permits.Holding) bool { return h.Wrong != "" })
}

// HangLines returns the points on which something hangs, in the plant file's order; what was found wrong comes first.
func HangLines(held permits.Held, plant *isolation.Plant) []hangLine {
	var out []hangLine
	for h := range held.All() {
		if !h.On {
			continue
		}
		i := slices.IndexFunc(out, func(l hangLine) bool { return l.Point == h.Point })
		if i < 0 {
			l := hangLine{Point: h.Point, Position: h.Position, Place: isolation.Place{}.String()}
			if plant != nil {
				if n := plant.Node(h.Point); n != nil {
					l.Name, l.Kind, l.Place = n.Name, n.Kind, n.Place.String()
				}
			}
			out = append(out, l)
			i = len(out) - 1
		}
		out[i].Held = append(out[i].Held, h)
	}
	slices.SortStableFunc(out, func(x, y hangLine) int { return count(y.Wrong()) - count(x.Wrong()) })
	return out
}

// HandoverPage is what the off-going and the oncoming officer read through together, each open permit with its
// officer, and the two forms that they sign.
type HandoverPage struct {
	Frame
	Lines   []handoverLine
	Notices []register.Notice
	Passing []PassingLine
	Due     DueLines          // audits and inspections
	On      permits.Emergency // the zero value: none is declared
}

// handoverLine is one open permit on the page of the handover.
type handoverLine struct {
	boardLine
	InHand    string // the officer who answers for it
	Offer     permits.Offer
	Offered   bool
	Last      permits.Handover // that both signed
	Lifted    []string         // what came off for a test run, and how it stands
	CanOffer  bool
	Mine      bool // in the hands of who reads, and not offered yet
	ForMe     bool // offered to who reads
	InCharge  string
	People    []string
	OnSite    []permits.SiteLine
	Locking   []string // what it shares locks with, and whose are on its group box
	Unchecked int
	Alarms    []permits.Alarm
	Running   []waitView
}

// HandoverOf puts every open permit that an officer answers for on the page.
func HandoverOf(b Frame, set permits.Setting, open []permits.Permit) HandoverPage {
	page := HandoverPage{Frame: b, Due: DueOf(set), On: set.Ship.Emergency}
	for _, p := range open {
		if p.InHand() == "" {
			continue
		}
		l := handoverLine{boardLine: boardLineOf(p, nextViews(set, p), set.At), InHand: b.Name(p.InHand()),
			Unchecked: len(p.Unchecked()), Alarms: AlarmsOf(set, p), Running: waitViews(p.EarliestOpen(set.At), set.At)}
		l.Offer, l.Offered = p.Offered()
		l.Last, _ = p.LastHandover()
		l.Lifted = LiftedWords(p)
		l.Mine = p.InHand() == b.Me.ID && !l.Offered
		l.ForMe = l.Offered && l.Offer.To == b.Me.ID
		l.CanOffer = permits.Offers(set, p, permits.KindOfferWatch, permits.Target{})
		if !p.Accepted().IsZero() {
			l.InCharge = b.Name(p.Accepted().By)
		}
		for _, id := range p.SignedOn() {
			l.People = append(l.People, b.Name(id))
		}
		l.OnSite, l.Locking = p.OnSite(set), LockingWords(set, p)
		page.Lines = append(page.Lines, l)
	}
	return page
}

// LiftedWords says of each lock that came off for a test run how its point stands: not as the permit holds it.
func LiftedWords(p permits.Permit) []string {
	var out []string
	for _, l := range p.Locks() {
		if l.Lifted && !l.IsOn() {
			out = append(out, l.Step.Name+" ("+string(l.Step.Point)+") stands "+l.Step.Kind.Word(l.Left)+" for the test: "+
				l.Thing()+" "+strconv.Itoa(l.Step.N)+" is off")
		}
	}
	return out
}

// TakesFirst reports whether a permit waits for the signature of who reads: then that form comes before the other.
func (h HandoverPage) TakesFirst() bool {
	return slices.ContainsFunc(h.Lines, func(l handoverLine) bool { return l.ForMe })
}

// AnyOffered reports whether a permit waits for an oncoming officer.
func (h HandoverPage) AnyOffered() bool {
	return slices.ContainsFunc(h.Lines, func(l handoverLine) bool { return l.Offered })
}

// AnyToOffer reports whether a permit may be handed over by somebody aboard.
func (h HandoverPage) AnyToOffer() bool {
	return slices.ContainsFunc(h.Lines, func(l handoverLine) bool { return l.CanOffer })
}
