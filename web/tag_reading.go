package web

import (
	"time"

	"stillwatch/permits"
)

// reading puts in what can be read or waited for while this tag hangs: at a drain its own section, at whatever switches
// the machine what stays in it.
func (v *tagView) reading(p permits.Permit, now time.Time) {
	if !v.Lock.IsOn() || v.Turn == turnCheck {
		return
	}
	v.Readings = v.Turn == turnWait && canRead(p)
	switches := v.Lock.Step.Kind.IsElectrical()
	if v.Readings && switches {
		v.Stored = p.Stored()
	}
	for _, w := range p.Waits() {
		if w.Proved {
			continue
		}
		if v.Turn == turnDrain && w.Kind == permits.WaitSection && w.ID == v.Drain.Section.ID || switches &&
			w.Kind == permits.WaitStored {
			v.Waits = append(v.Waits, waitViewOf(w, now))
		}
	}
}

// canRead reports whether something besides drains can be recorded on the permit now.
func canRead(p permits.Permit) bool {
	return permits.CanFollow(p.State(), permits.KindRecordStored) && len(p.Stored()) > 0 ||
		permits.CanFollow(p.State(), permits.KindRecordDead) && len(p.Dead()) > 0 ||
		permits.CanFollow(p.State(), permits.KindRecordStart) && p.NeedsStart()
}

// showsReadings reports whether the page shows a chart, for which the permit's entries are read.
func (v tagView) showsReadings() bool { return v.Drain != nil || len(v.Stored) > 0 }

// DrainChart returns the chart of the section that this tag drains, or nil.
func (v tagView) DrainChart(section string) *chartView {
	if v.Drain == nil {
		return nil
	}
	return drainChart([]permits.DrainState{*v.Drain}, v.history, section)
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
