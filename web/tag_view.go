package web

import (
	"time"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// tagView is one tag of one permit as it stands now: what permits.UseOfTag says of it, and what its page shows beside.
type tagView struct {
	permits.TagUse
	ID           permits.PermitID
	State        permits.State
	Alarms       []permits.Alarm
	MaySign      bool // whoever reads is of the crew: somebody may sign on this device
	MayRecord    bool // whoever reads may record what came out
	MayFindWrong bool // whoever reads may record that something is wrong with it
	Machine      string
	Job          string
	Of           int
	Ask          []isolation.Position // positions to choose from when fitting or removing
	Labelled     bool                 // the point carries a label, which is asked for too
	Until        time.Time
	Overdue      bool
	Others       []permits.Holding // other permits' locks on this point
	Waits        []waitView        // what is waited for here; never a proof
	Readings     bool              // the machine's readings can be recorded now, on the permit's page
	Stored       []permits.StoredState
	history      permits.History
}

// BreaksJoint reports whether the step opens a joint, so that the line must be seen without pressure first.
func (v tagView) BreaksJoint() bool { return v.Lock.Step.Phase == isolation.PhaseBlank }

// Barred reports whether whoever reads cannot do what the tag is good for: no form is shown.
func (v tagView) Barred() bool { return v.No != nil }

// FoundWrong returns what was found wrong with a lock that is to be fitted anew; "" for others.
func (v tagView) FoundWrong() string {
	if v.Use == permits.UseFit {
		return v.Lock.Wrong
	}
	return ""
}

// viewUse is what the form of a tag shows.
func viewUse(set permits.Setting, p permits.Permit, use permits.TagUse) tagView {
	at := use.Lock.Step
	return tagView{TagUse: use, Of: len(p.Plan().Steps), Overdue: p.IsOverdue(set.At),
		Others: hanging(set.Held.At(at.Point, p.ID())), Labelled: isLabelled(set, at.Point),
		Ask: []isolation.Position{at.Kind.Isolating(), at.Kind.Passing()}}
}

// viewTag makes the view of a tag's page.
func viewTag(set permits.Setting, p permits.Permit, step int) tagView {
	v := viewUse(set, p, permits.UseOfTag(set, p, step))
	v.ID, v.State, v.Machine, v.Job, v.Until = p.ID(), p.State(), p.Plan().MachineName, p.Plan().Title, p.Until()
	v.Alarms = permits.Alarms(set, p)
	v.MaySign, v.MayRecord = set.By.IsCompetent(), set.By.Has(permits.KindRecordDrain.Roles()...)
	v.MayFindWrong = permits.Offers(set, p, permits.KindFindWrong, permits.Target{Step: step})
	v.reading(p, set.At)
	return v
}

// reading puts in what can be read or waited for while this tag hangs: at a drain its own section, at whatever switches
// the machine what stays in it.
func (v *tagView) reading(p permits.Permit, now time.Time) {
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
	return p.Has(permits.KindRecordStored) && len(p.Stored())+len(p.Dead()) > 0
}

// showsReadings reports whether the page shows a chart, for which the permit's entries are read.
func (v tagView) showsReadings() bool { return v.Section != nil || len(v.Stored) > 0 }

// DrainChart returns the chart of the section that this tag drains, or nil.
func (v tagView) DrainChart(section string) *chartView {
	if v.Section == nil {
		return nil
	}
	return drainChart([]permits.DrainState{*v.Section}, v.history, section)
}

// StoredChart returns the chart of a stored energy of the machine, or nil.
func (v tagView) StoredChart(check string) *chartView { return storedChart(v.Stored, v.history, check) }

// waitView is one waiting time as the pages show it: a sentence, and the moment at which it ends.
type waitView struct {
	Words string
	Until time.Time // zero: it does not run
	Left  float64   // seconds; 0: over
}

func waitViewOf(w permits.Wait, now time.Time) waitView {
	v := waitView{Words: w.Words(now)}
	if left := w.Left(now); w.HasBegun() && left > 0 {
		v.Until, v.Left = w.Until, left.Seconds()
	}
	return v
}
