package screens

import (
	"slices"
	"strings"
	"time"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// ReadLabel is a point label that was scanned on this device and still counts.
type ReadLabel struct {
	Code  permits.TagCode
	Point isolation.NodeID
	At    time.Time
	Stale bool // of a point where the tag of this permit hangs already: left over from there
}

// LabelFor returns a scanned label as it stands to a permit: what was read at a point where the permit's tag hangs is
// left over from there.
func LabelFor(p permits.Permit, read ReadLabel) ReadLabel {
	for _, l := range p.Locks() {
		if l.Step.Point == read.Point && l.IsOn() {
			read.Stale = true
		}
	}
	return read
}

// TagPage is what a scanned lock tag opens on a phone: one next action, large; or why there is none now.
type TagPage struct {
	Frame
	TagView
	Code    string     // for the form's address
	How     string     // how the code came here
	Label   *ReadLabel // the point label that was scanned before this tag
	Unknown string     // why the code is none of ours; nothing else is shown then
	Try     string     // what to do about an unknown code
}

// Form returns the form by which the tag is hung or taken off.
func (p TagPage) Form() stepForm {
	return stepForm{B: p.Frame, V: p.TagView, Action: TagPath(p.Code) + "/" + string(p.Use), How: p.How, Label: p.Label}
}

// TagView is one tag of one permit as it stands now: what permits.UseOfTag says of it, and what its page shows beside.
type TagView struct {
	permits.TagUse
	ID           permits.PermitID
	State        permits.State
	Alarms       []permits.Alarm
	MaySign      bool // whoever reads is of the crew: somebody may sign on this device
	MayRecord    bool // whoever reads may record what came out
	MayFindWrong bool // whoever reads may record that something is wrong with it
	MaySight     bool // whoever reads may audit it
	SightDue     bool // and it is due, or soon
	Machine      string
	Job          string
	Of           int
	Ask          []isolation.Position // positions to choose from when fitting or removing
	Labelled     bool                 // the point carries a label, which is asked for too
	Prefix       string               // with which the number of the reader's last lock on this permit began
	Until        time.Time
	Overdue      bool
	Others       []permits.Holding // other permits' locks on this point
	Reads        []readFirst       // what is recorded before this step is fitted
	Comes        string            // whose lock comes off: "your lock"; "" for a tag
	Stays        []otherLock       // and which stay on the point
	Waits        []waitView        // what is waited for here; never a proof
	Readings     bool              // the machine's readings can be recorded now, on the permit's page
	Stored       []permits.StoredState
	Measured     permits.History
}

// Sights returns what an auditor may see of the tag.
func (TagView) Sights() []permits.Sight { return permits.Sights() }

// BreaksJoint reports whether the step opens a joint, so that the line must be seen without pressure first.
func (v TagView) BreaksJoint() bool { return v.Lock.Step.Phase == isolation.PhaseBlank }

// Looked reports whether whoever reads has looked at it and not signed yet.
func (v TagView) Looked() bool { return v.No != nil && v.No.Gate == string(permits.KindSignLooks) }

// Barred reports whether whoever reads cannot do what the tag is good for: no form is shown.
func (v TagView) Barred() bool { return v.No != nil }

// FoundWrong returns what was found wrong with a lock that is to be fitted anew; "" for others.
func (v TagView) FoundWrong() string {
	if v.Use == permits.UseFit {
		return v.Lock.Wrong
	}
	return ""
}

// readFirst is a reading or test for which a step waits, with where it is recorded.
type readFirst struct{ Name, Words, Href string }

// readsFirst returns what the step that is fitted next waits for.
func readsFirst(p permits.Permit, now time.Time) []readFirst {
	var out []readFirst
	at := PermitPath(p.ID()) + "#f-"
	for _, s := range p.FirstReadings(now) {
		out = append(out, readFirst{s.Check.Name, s.Check.Words, at + Slug("reading:"+s.Check.ID)})
	}
	for _, d := range p.FirstTests(now) {
		out = append(out, readFirst{d.Test.Name, "All poles are tested dead first.", at + Slug("dead:"+d.Test.ID)})
	}
	return out
}

// otherLock is a lock that hangs on the same point for another permit.
type otherLock struct {
	Padlock permits.Padlock
	Whose   string
	Permit  permits.PermitID
}

// comesOff says whose lock comes off and which stay: on one breaker may hang several that look alike.
func (v *TagView) comesOff(set permits.Setting) {
	whose := func(id permits.PersonID) string {
		who, _ := set.Ship.Person(id)
		return Choose(id == set.By.ID, "your lock", "the lock of "+who.String())
	}
	if v.Lock.Padlock != "" {
		v.Comes = whose(v.Lock.Owner)
	}
	for _, h := range v.Others {
		if h.Padlock != "" {
			v.Stays = append(v.Stays, otherLock{h.Padlock, whose(h.Owner), h.Permit})
		}
	}
}

// viewUse is what the form of a tag shows.
func viewUse(set permits.Setting, p permits.Permit, use permits.TagUse) TagView {
	at := use.Lock.Step
	use.No = InShipTime(use.No, set.At)
	v := TagView{TagUse: use, Of: len(p.Plan().Steps), Overdue: p.IsOverdue(set.At),
		Others: hanging(set.Held.At(at.Point, p.ID())), Labelled: IsLabelled(set, at.Point),
		Ask: []isolation.Position{at.Kind.Isolating(), at.Kind.Passing()}, Prefix: padlockPrefix(p, set.By.ID)}
	v.comesOff(set)
	if v.Use == permits.UseFit && v.Barred() {
		v.Reads = readsFirst(p, set.At)
	}
	return v
}

// padlockPrefix returns what stands before the digits on the lock that somebody fitted last on a permit: their next
// lock often begins with the same. "" where nobody can say.
func padlockPrefix(p permits.Permit, who permits.PersonID) string {
	var last permits.Lock
	for _, l := range p.Locks() {
		if l.Padlock != "" && l.Fitted.By == who && l.Fitted.At.After(last.Fitted.At) {
			last = l
		}
	}
	number := string(last.Padlock)
	if prefix := strings.TrimRight(number, "0123456789"); prefix != number {
		return prefix
	}
	return ""
}

// ViewTag makes the view of a tag's page.
func ViewTag(set permits.Setting, p permits.Permit, step int) TagView {
	v := viewUse(set, p, permits.UseOfTag(set, p, step))
	v.ID, v.State, v.Machine, v.Job, v.Until = p.ID(), p.State(), p.Plan().MachineName, p.Plan().Title, p.Until()
	v.Alarms = AlarmsOf(set, p)
	v.MaySign, v.MayRecord = set.By.IsCompetent(), set.By.Has(permits.KindRecordDrain.Roles()...)
	v.MayFindWrong = permits.Offers(set, p, permits.KindFindWrong, permits.Target{Step: step})
	v.MaySight = v.MaySign && permits.Foresee(set, p, permits.KindSightTag, permits.Target{Step: step}) == nil
	v.SightDue = slices.ContainsFunc(permits.AuditDue(set), func(d permits.TagDue) bool {
		return d.Permit == p.ID() && d.Step == step && (d.Overdue || d.Soon)
	})
	v.reading(p, set.At)
	return v
}

// reading puts in what can be read or waited for while this tag hangs: at a drain its own section, at whatever switches
// the machine what stays in it.
func (v *TagView) reading(p permits.Permit, now time.Time) {
	if !v.Lock.IsOn() || v.Use != permits.UseWait && v.Use != permits.UseDrain {
		return
	}
	v.Readings = v.Use == permits.UseWait && canRead(p)
	switches := v.Lock.Step.Kind.IsElectrical()
	if v.Readings && switches {
		v.Stored = p.Stored()
	}
	for _, w := range p.Waits() {
		if w.Proved {
			continue
		}
		if v.Section != nil && w.Kind == permits.WaitSection && w.ID == v.Section.Section.ID ||
			switches && w.Kind == permits.WaitStored {
			v.Waits = append(v.Waits, waitViewOf(w, now))
		}
	}
}

// canRead reports whether something besides drains can be recorded on the permit now.
func canRead(p permits.Permit) bool {
	return p.Has(permits.KindProve) && len(p.Stored())+len(p.Dead()) > 0
}

// ShowsReadings reports whether the page shows a chart, for which the permit's entries are read.
func (v TagView) ShowsReadings() bool { return v.Section != nil || len(v.Stored) > 0 }

// DrainChart returns the chart of the section that this tag drains, or nil.
func (v TagView) DrainChart(section string) *chartView {
	if v.Section == nil {
		return nil
	}
	return drainChart([]permits.DrainState{*v.Section}, v.Measured, section)
}

// StoredChart returns the chart of a stored energy of the machine, or nil.
func (v TagView) StoredChart(check string) *chartView {
	return storedChart(v.Stored, v.Measured, check)
}

// waitView is one waiting time as the pages show it: a sentence, and the moment at which it ends.
type waitView struct {
	Words string
	Until time.Time // zero: it does not run
	Left  float64   // seconds; 0: over
}

// waitViews returns each wait that runs before the work could be opened.
func waitViews(t permits.OpeningTime, now time.Time) []waitView {
	var out []waitView
	for _, w := range t.Waiting {
		out = append(out, waitViewOf(w, now))
	}
	return out
}

func waitViewOf(w permits.Wait, now time.Time) waitView {
	v := waitView{Words: w.Words(now)}
	if left := w.Left(now); w.HasBegun() && left > 0 {
		v.Until, v.Left = w.Until, left.Seconds()
	}
	return v
}
