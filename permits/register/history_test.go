package register

import (
	"context"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// anyAct draws an act that somebody might send: often the next one on the way, sometimes nonsense.
func anyAct(rt *rapid.T, a *aboard, id permits.PermitID) permits.Act {
	p := a.state().permit(id)
	fit, _ := p.NextFit()
	off, _ := p.NextRemove()
	n := rapid.IntRange(0, 6).Draw(rt, "step")
	acts := []permits.Act{
		permits.Authorise{Hours: float64(n * 5)}, permits.Extend{Hours: float64(n)}, permits.CheckLock{N: n},
		permits.FindWrong{N: n, Words: "hangs on the wrong valve"}, permits.CheckRestored{N: n},
		permits.FitLock{Tag: fit.Tag, Position: fit.Step.Position, Padlock: padlockFor(id, fit, n)},
		permits.FitLock{Tag: fit.Tag, Position: fit.Step.Position, Padlock: padlockFor(id, fit, n)},
		permits.RemoveLock{Tag: off.Tag, Position: off.Step.Clearance},
		permits.RemoveLock{Tag: off.Tag, Position: off.Step.Position},
		permits.RestoreStep{N: n}, permits.LeaveOut{N: n, Words: "nothing was opened"},
		permits.Prove{}, permits.Issue{}, permits.Accept{}, permits.SignOn{}, permits.SignOff{},
		permits.HandBack{GuardsBack: true},
		permits.Close{Positions: true, Told: true}, permits.Cancel{Words: "not needed any more"},
		a.released(fitter.ID), permits.HearRelease{},
		permits.OfferWatch{To: officer.ID}, permits.TakeWatch{}, permits.OfferWork{To: mate.ID},
		permits.TakeWork{From: fitter.ID, Locks: p.OwnedBy(fitter.ID), Tools: p.ToolsOut()},
		permits.RecordPassing{Point: "V1", Words: "weeps"}, permits.RecordRepair{Point: "V1", Words: "lapped in"},
		permits.HangLabels{Labels: labelsFor("D1")},
	}
	for _, d := range p.Drains() {
		acts = append(acts, permits.RecordDrain{Section: d.Section.ID,
			Reading: isolation.DrainReading{OutL: float64(n), HoldS: 600, TempC: 20}, Words: "tried again"})
	}
	for _, d := range p.Dead() {
		acts = append(acts, permits.RecordDead{Test: d.Test.ID, ProvedBefore: true, Dead: n > 1, ProvedAfter: true,
			Words: "tested again"})
	}
	return rapid.SampledFrom(acts).Draw(rt, "act")
}

// Whatever people send, in whatever order, with restarts between: the log is whole, every gate would say the same
// again, and what is seen is what the log makes.
func TestAnyHistoryIsAWholeLog(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		a := manned(t)
		defer func() {
			if err := a.Close(); err != nil {
				rt.Error(err)
			}
		}()
		ids := []permits.PermitID{a.request(), a.request(), 99}
		people := []permits.PersonID{chief.ID, officer.ID, fitter.ID, mate.ID, guest.ID}
		for range rapid.IntRange(1, 60).Draw(rt, "acts") {
			id := rapid.SampledFrom(ids).Draw(rt, "permit")
			a.wait(time.Minute)
			by := rapid.SampledFrom(people).Draw(rt, "by")
			if _, err := a.try(id, anyAct(rt, a, id), by); err != nil {
				if _, ok := asRefusal(err); !ok {
					rt.Fatalf("an act was neither done nor refused: %v", err)
				}
			}
			if rapid.IntRange(0, 15).Draw(rt, "restart") == 0 {
				a.reopen()
			}
		}
		if r := verified(t, a.dir); !r.OK() || r.Entries != a.Head().Size {
			rt.Fatalf("Verify() = %d entries, %v, want %d and whole", r.Entries, r.Faults, a.Head().Size)
		}
		before := a.OpenPermits()
		a.reopen()
		if diff := cmp.Diff(before, a.OpenPermits(), cmp.Exporter(exportAll)); diff != "" {
			rt.Errorf("open permits after a restart differ (-before +after):\n%s", diff)
		}
		for _, id := range ids[:2] {
			p, err := a.Permit(context.Background(), id)
			if err != nil {
				rt.Fatal(err)
			}
			lines, err := a.Permits(context.Background(), PermitQuery{Before: id + 1, Limit: 1})
			if err != nil || len(lines) != 1 || lines[0] != permitLine(permitRow(p, lines[0].LastEntry)) {
				rt.Errorf("the list shows permit %d as %+v, %v, want as the log makes it", id, lines, err)
			}
		}
	})
}
