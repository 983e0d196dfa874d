package screens

import (
	"slices"
	"strconv"
	"time"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// AtWorkPage is what is looked after where people work: the measures, the air, who stands by, who is inside, which
// detectors are out of action. The attendant holds it in the hand at the entrance.
type AtWorkPage struct {
	Frame
	P         permits.Permit
	Alarms    []permits.Alarm
	Kinds     []isolation.WorkRow
	Measures  []permits.StoredState
	MeasureOK int
	Air       []airView
	AirUntil  time.Time // the air test holds until then; zero: it does not
	AirHolds  bool
	AirSet    string
	Posts     []postView
	Inside    []permits.Entrant
	Out       []permits.Entrant
	GoIn      []permits.PersonID // who is signed on and not inside
	Detectors []permits.Inhibited
	set       permits.Setting
}

// airView is the air at one level.
type airView struct {
	permits.AirState
	Form  string
	Reads []gasView
	Again bool // the test before was not right: what was changed is asked
}

// gasView is one gas of an air test.
type gasView struct {
	Gas, Name, Unit, Must string
	Field                 string
	Last                  string
}

// postView is one post and who stands there.
type postView struct {
	Post isolation.Post
	permits.Standing
	Held bool
}

// ViewAtWork makes the page; a permit without measures, air and posts has an empty one.
func ViewAtWork(b Frame, set permits.Setting, p permits.Permit) AtWorkPage {
	page := AtWorkPage{Frame: b, P: p, Alarms: AlarmsOf(set, p), Kinds: p.Plan().WorkRows(), Measures: p.Measures(),
		Detectors: p.Inhibited(), set: set}
	page.Path, page.Live = AtWorkPath(p.ID()), true
	for _, m := range page.Measures {
		if m.Finding.OK && !m.Stale {
			page.MeasureOK++
		}
	}
	if test := p.Plan().Air; test != nil {
		page.AirSet = test.RuleSet
		page.AirUntil = p.AirUntil(set.At)
		page.AirHolds = page.AirUntil.After(set.At)
	}
	for i, a := range p.Air() {
		page.Air = append(page.Air, viewAir(p.Plan().Air, a, i))
	}
	for _, post := range p.Posts() {
		at, held := p.AtPost(post)
		page.Posts = append(page.Posts, postView{post, at, held})
	}
	for _, x := range p.Entrants() {
		if x.Out.IsZero() {
			page.Inside = append(page.Inside, x)
		} else {
			page.Out = append(page.Out, x)
		}
	}
	for _, id := range p.SignedOn() {
		if !slices.Contains(p.Inside(), id) {
			page.GoIn = append(page.GoIn, id)
		}
	}
	return page
}

func viewAir(test *isolation.AirTest, a permits.AirState, i int) airView {
	v := airView{AirState: a, Form: "air:" + strconv.Itoa(i+1), Again: !a.Recorded.IsZero() && !a.Finding.OK}
	for _, l := range test.Limits {
		g := gasView{Gas: l.Gas, Name: l.Name, Unit: l.Unit, Must: l.Words(), Field: "gas_" + l.Gas}
		for _, read := range a.Values {
			if read.Gas == l.Gas {
				g.Last = permits.Figure(read.Value, 2)
			}
		}
		v.Reads = append(v.Reads, g)
	}
	return v
}

// Number returns the number of an air form, from 1, as its address has it.
func (v airView) Number() string { return v.Form[len("air:"):] }

// AirNext returns the level that is tested next; "" where each was, or it is not the time for it.
func (p AtWorkPage) AirNext() string {
	for _, a := range p.Air {
		if (a.Recorded.IsZero() || a.Stale || !a.Finding.OK) && p.CanAir(a.Level) {
			return a.Level
		}
	}
	return ""
}

// Can reports whether the page has a form for an act of this kind.
func (p AtWorkPage) Can(kind string) bool {
	return permits.Offers(p.set, p.P, permits.Kind(kind), permits.Target{})
}

// CanAir reports whether the air at a level can be tested now.
func (p AtWorkPage) CanAir(level string) bool {
	return permits.Offers(p.set, p.P, permits.KindRecordAir, permits.Target{Level: level})
}

// CanPost reports whether an act about a post can be done now.
func (p AtWorkPage) CanPost(kind string, post isolation.Post) bool {
	return permits.Offers(p.set, p.P, permits.Kind(kind), permits.Target{Post: post})
}

// CanPutBack reports whether a detector can be put back now.
func (p AtWorkPage) CanPutBack(n int) bool {
	return permits.Offers(p.set, p.P, permits.KindPutBack, permits.Target{Step: n})
}

// WhyNot returns why nobody goes in now, in the gate's own words; nil if people can.
func (p AtWorkPage) WhyNot() *permits.Refusal {
	return permits.Foresee(p.set, p.P, permits.KindGoIn, permits.Target{})
}

// IsEntry reports whether people go into a space.
func (p AtWorkPage) IsEntry() bool { return slices.Contains(p.P.Plan().Kinds, isolation.WorkEntry) }

// Inhibits reports whether detectors may be inhibited for this work.
func (p AtWorkPage) Inhibits() bool {
	return slices.ContainsFunc(p.Kinds, func(r isolation.WorkRow) bool { return r.Inhibits })
}

// Quiet reports whether whoever leaves a post says that all is cold.
func (v postView) Quiet() bool { return v.Post == isolation.FireWatch }

// IsLive reports whether people may be at the work.
func (p AtWorkPage) IsLive() bool { return p.P.State() == permits.Live }

// DetectorsOut returns how many detectors are out of action.
func (p AtWorkPage) DetectorsOut() int {
	n := 0
	for _, x := range p.Detectors {
		if x.Back.IsZero() {
			n++
		}
	}
	return n
}

// HasAtWork reports whether a permit has such a page.
func HasAtWork(p permits.Permit) bool { return len(p.Plan().Kinds) > 0 }
