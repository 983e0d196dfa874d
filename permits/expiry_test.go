package permits

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"stillwatch/isolation"
)

// TestWhatHasRunOutLeavesOnlyTheWayOut asks every cell of the way, on a permit whose authorisation has run out, and
// holds it to a list that a person has read: a permit is good for its period and no longer (UK COSWP, second hand: at
// most 24 h, extended by signature).
func TestWhatHasRunOutLeavesOnlyTheWayOut(t *testing.T) {
	remains := map[State][]Kind{
		Authorised: {KindExtend, KindCancel, KindOfferWatch, KindTakeWatch, KindReckonAnew},
		Isolating: {KindCheckLock, KindLook, KindSignLooks, KindFindWrong, KindSignOff, KindSuspend, KindExtend, KindCancel,
			KindReleaseOwner, KindOfferWatch, KindTakeWatch, KindOfferWork, KindTakeWork, KindReckonAnew,
			KindSightTag},
		Proving: {KindFindWrong, KindSignOff, KindExtend, KindCancel, KindReleaseOwner, KindSuspend, KindOfferWatch,
			KindTakeWatch, KindOfferWork, KindTakeWork, KindReckonAnew,
			KindSightTag},
		Live: {KindSignOff, KindRecordDrain, KindRecordStored, KindFindWrong, KindExtend, KindHandBack, KindCancel,
			KindReleaseOwner, KindSuspend, KindOfferWatch, KindTakeWatch, KindOfferWork, KindTakeWork, KindReckonAnew,
			KindSightTag},
		Suspended: {KindReleaseOwner, KindSignOff, KindFindWrong, KindExtend, KindCancel, KindOfferWatch, KindTakeWatch,
			KindOfferWork, KindTakeWork, KindReckonAnew,
			KindSightTag, KindDropChange},
		Testing: {KindRecordTest, KindEndTest, KindSuspend, KindFindWrong, KindExtend, KindCancel, KindReleaseOwner,
			KindOfferWatch, KindTakeWatch, KindOfferWork, KindTakeWork, KindReckonAnew,
			KindSightTag},
	}
	standing := []Kind{KindTakePost, KindLeavePost, KindComeOut, KindPutBack} // for those inside, and for fire
	for _, st := range []State{Isolating, Proving, Live, Suspended, Testing} {
		remains[st] = append(remains[st], standing...)
	}
	remains[Live] = append(remains[Live], KindRecordAir)
	for s := range remains { // what an emergency and a group box ask for
		for _, kind := range []Kind{KindTakeOwnLock, KindStopForEmergency, KindCountOut, KindOrderOpening, KindOpenAtOnce,
			KindAccount} {
			if _, there := find(s, kind); there {
				remains[s] = append(remains[s], kind)
			}
		}
	}
	r := newRig(t)
	late := r.at.Add(time.Hour)
	everyRole := Person{ID: "all", Name: "All", Roles: Roles()}
	for _, w := range way {
		s := r.setting(everyRole, Suspend{})
		s.At, s.Clock = late, late
		p := Permit{id: 1, state: w.From, until: r.at}
		if w.From == unset || w.From == Draft {
			continue
		}
		_, err := mayFollow(s, p, w.Act)
		open := slices.Contains(remains[w.From], w.Act) || p.Has(KindRemoveLock)
		if open != (err == nil) {
			t.Errorf("%s at %s, run out: %v, want it open: %v", w.Act, w.From, err, open)
		}
		if err != nil && !strings.Contains(err.Error(), "ran out at") {
			t.Errorf("%s at %s is refused for another reason: %v", w.Act, w.From, err)
		}
		s.Judge = Judges()[0]
		if _, err := mayFollow(s, p, w.Act); err != nil {
			t.Errorf("%s at %s was always open in the first edition, and is refused: %v", w.Act, w.From, err)
		}
	}
}

// TestWhatHasRunOutCallsPeopleOut looks at what the board says.
func TestWhatHasRunOutCallsPeopleOut(t *testing.T) {
	r := newRig(t)
	id := r.untilLive()
	s := r.setting(tomas, SignOff{})
	if a := Alarms(s, r.permits[id]); len(a) != 0 {
		t.Fatalf("a live permit in its period alarms: %+v", a)
	}
	r.at = r.at.Add(13 * time.Hour)
	s = r.setting(tomas, SignOff{})
	a := Alarms(s, r.permits[id])
	if len(a) != 1 || !strings.Contains(a[0].What, "ran out") || !strings.Contains(a[0].Who, "Tomas") {
		t.Errorf("alarms = %+v, want Tomas called out of a permit that has run out", a)
	}
	next := WhatNext(s, r.permits[id])
	if len(next) != 2 || next[0].Kind != KindSignOff || next[1].Kind != KindExtend {
		t.Errorf("next = %+v, want people out, then the officer", next)
	}
	for _, n := range next {
		if no := Foresee(r.setting(map[Kind]Person{KindSignOff: tomas, KindExtend: olga}[n.Kind], Suspend{}),
			r.permits[id], n.Kind, n.At); no != nil {
			t.Errorf("what is next is refused: %v", no)
		}
	}
}

// TestShortStopAsksOnlyForLooks stops live work for a meal: each lock is seen again, the person in charge accepts, and
// nothing else is asked, also when the readings are older than a signature may rest on.
func TestShortStopAsksOnlyForLooks(t *testing.T) {
	r := newRig(t)
	id := r.untilLive()
	r.at = r.at.Add(readingAge)
	r.must(id, tomas, SignOff{})
	r.must(id, karim, Suspend{Words: "dinner"})
	r.refuses(id, olga, Resume{Short: true}, "resume")
	r.refuses(id, olga, Resume{Short: true, Near: true}, "resume")
	r.must(id, olga, Resume{Short: true, Near: true, Untouched: true})
	if got := r.permits[id]; got.State() != Isolating || len(got.Unchecked()) != len(got.Locks()) {
		t.Fatalf("state = %s with %d of %d locks to be seen, want all", got.State(), len(got.Unchecked()), len(got.Locks()))
	}
	r.refuses(id, ines, Accept{ToolsOut: 12}, "live")
	r.check(id)
	if open := r.permits[id].Unproved(r.at); len(open) > 0 {
		t.Errorf("still open after a short stop: %v", open)
	}
	r.must(id, ines, Accept{ToolsOut: 12})
	r.must(id, tomas, SignOn{})
}

// TestStopThatIsNotShort stops live work and lets something happen: everything is proved anew.
func TestStopThatIsNotShort(t *testing.T) {
	short := Resume{Short: true, Near: true, Untouched: true}
	for _, tc := range []struct {
		name, why string
		happens   func(*rig, PermitID)
	}{
		{"a watch long", "more than 4 h", func(r *rig, _ PermitID) { r.at = r.at.Add(mostShort + time.Minute) }},
		{"the watch changes", "watch has changed", func(r *rig, id PermitID) {
			r.handOver(id, olga, otto)
			r.handOver(id, otto, olga)
		}},
		{"locks change hands", "taken over", func(r *rig, id PermitID) {
			r.must(id, tomas, OfferWork{To: ines.ID})
			r.must(id, ines, TakeWork{From: tomas.ID, Locks: r.permits[id].OwnedBy(tomas.ID)})
		}},
		{"a lock is found wrong", "found", func(r *rig, id PermitID) { r.must(id, karim, FindWrong{N: 1, Words: "gone"}) }},
		{"a point leaks and is repaired", "leaking", func(r *rig, id PermitID) {
			point := isolating(r.permits[id])
			r.aboard(ines, RecordPassing{Point: point, Words: "drips at the drain"})
			r.aboard(chief, RecordRepair{Point: point, Words: "new seat, tested tight"})
		}},
		{"the period runs out", "found, opened or taken over", func(r *rig, id PermitID) {
			p := r.permits[id]
			p.until = r.at
			r.permits[id] = p
			r.must(id, olga, Extend{Hours: 12})
		}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			r := newRig(t)
			id := r.untilLive()
			r.must(id, tomas, SignOff{})
			r.must(id, karim, Suspend{Words: "dinner"})
			if no := r.permits[id].LongOnly(r.setting(olga, Resume{})); no != nil {
				t.Fatalf("a stop of this moment is no short one: %v", no)
			}
			tc.happens(r, id)
			if no := r.permits[id].LongOnly(r.setting(olga, Resume{})); no == nil || !strings.Contains(no.What, tc.why) {
				if !(tc.name == "the watch changes" && no != nil) {
					t.Errorf("LongOnly() = %v, want a refusal that says %q", no, tc.why)
				}
			}
			r.refuses(id, olga, short, "resume")
			r.must(id, olga, Resume{})
			if open := strings.Join(r.permits[id].Unproved(r.at), "; "); !strings.Contains(open, "nothing recorded since") {
				t.Errorf("open = %q, want every record asked anew", open)
			}
		})
	}
}

// TestNoShortStopWhereAirIsTested looks at the exposures of which the atmosphere is tested after every break (IMO
// A.1050(27), 7.3).
func TestNoShortStopWhereAirIsTested(t *testing.T) {
	for _, e := range []isolation.Exposure{isolation.Enter, isolation.HotWork} {
		r := newRig(t)
		id := r.untilLive()
		r.must(id, tomas, SignOff{})
		r.must(id, karim, Suspend{Words: "dinner"})
		p := r.permits[id]
		plan := *p.Plan()
		plan.Exposure = e
		text, err := json.Marshal(plan)
		if err != nil {
			t.Fatal(err)
		}
		if err := p.plan.UnmarshalJSON(text); err != nil {
			t.Fatal(err)
		}
		if no := p.LongOnly(r.setting(olga, Resume{})); no == nil || !strings.Contains(no.What, "entry and hot work") {
			t.Errorf("a short stop of %s is none, want it refused", e)
		}
	}
}

// TestRecordTakesAShortStopBack finds something wrong while the locks are looked at after a short stop.
func TestRecordTakesAShortStopBack(t *testing.T) {
	r := newRig(t)
	id := r.untilLive()
	r.must(id, tomas, SignOff{})
	r.must(id, karim, Suspend{Words: "dinner"})
	r.must(id, olga, Resume{Short: true, Near: true, Untouched: true})
	r.must(id, karim, FindWrong{N: 1, Words: "hangs on its chain"})
	r.must(id, tomas, r.fit(id))
	r.check(id)
	r.refuses(id, ines, Accept{ToolsOut: 12}, "live")
	r.refuses(id, tomas, Prove{}, "prove")
}

// isolating returns a point of the permit that isolates.
func isolating(p Permit) isolation.NodeID {
	for _, l := range p.Locks() {
		if l.Step.Isolates() {
			return l.Step.Point
		}
	}
	panic(fmt.Sprintf("permit %d isolates nothing", p.ID()))
}
