package permits

import (
	"testing"
	"time"

	"stillwatch/isolation"
)

// untilTwoSpaces walks two entries to where both are live.
func (r *rig) untilTwoSpaces() (first, second PermitID) {
	r.tb.Helper()
	first = r.untilSpaceLive("T1-entry")
	r.pace = 4 * time.Minute
	second = r.untilSpaceLive("T1-entry")
	r.testAir(first, tomas)
	return first, second
}

// TestNobodyIsInTwoPlacesOnBoard holds a post, the work and the inside of a space of one permit against those of
// another, by this edition and by the one before. (An attendant has no other duty: 29 CFR 1910.146(i)(10), from memory.
// Nobody is in two spaces: common sense, no source.)
func TestNobodyIsInTwoPlacesOnBoard(t *testing.T) {
	post := TakePost{Post: isolation.Attendant}
	for name, tc := range map[string]struct {
		before func(r *rig, first PermitID)
		who    Person
		act    PermitAct
		gate   string
		lawful bool
	}{
		"stands by twice":            {func(r *rig, at PermitID) { r.must(at, karim, post) }, karim, post, "post", false},
		"stands by and signs on":     {func(r *rig, at PermitID) { r.must(at, karim, post) }, karim, SignOn{}, "live", false},
		"is signed on and stands by": {func(r *rig, at PermitID) { r.must(at, tomas, SignOn{}) }, tomas, post, "post", false},
		"is inside and signs on":     {goneIn, tomas, SignOn{}, "live", false},
		"left the post": {func(r *rig, at PermitID) {
			r.must(at, karim, post)
			r.must(at, karim, LeavePost{Post: post.Post})
		}, karim, post, "", true},
		"signed off": {func(r *rig, at PermitID) {
			r.must(at, tomas, SignOn{})
			r.must(at, tomas, SignOff{})
		}, tomas, post, "", true},
	} {
		t.Run(name, func(t *testing.T) {
			r := newRig(t)
			first, second := r.untilTwoSpaces()
			tc.before(r, first)
			s := r.setting(tc.who, tc.act)
			s.Judge = Judges()[len(Judges())-2]
			if _, err := Decide(s, r.permits[second], tc.act); err != nil && s.Judge.Edition == lifeEdition {
				t.Errorf("by the edition before: %v, want it open as it was", err)
			}
			if tc.lawful {
				r.must(second, tc.who, tc.act)
				return
			}
			r.refuses(second, tc.who, tc.act, tc.gate)
			no := Foresee(r.setting(tc.who, tc.act), r.permits[second], tc.act.Kind(), Target{Post: isolation.Attendant})
			if no == nil {
				t.Error("it is not foretold")
			}
		})
	}
}

// goneIn has two go into the space of a permit.
func goneIn(r *rig, at PermitID) {
	r.must(at, karim, TakePost{Post: isolation.Attendant})
	r.must(at, tomas, SignOn{})
	r.must(at, ines, SignOn{})
	r.must(at, karim, GoIn{People: []PersonID{tomas.ID, ines.ID}, Meters: true})
}

// TestNobodyGoesIntoASecondSpace has people signed on to both entries, and inside one.
func TestNobodyGoesIntoASecondSpace(t *testing.T) {
	r := newRig(t)
	first, second := r.untilTwoSpaces()
	for _, id := range []PermitID{first, second} {
		r.must(id, tomas, SignOn{})
		r.must(id, ines, SignOn{})
	}
	both := []PersonID{tomas.ID, ines.ID}
	r.must(first, karim, TakePost{Post: isolation.Attendant})
	r.must(second, chief, TakePost{Post: isolation.Attendant})
	r.must(first, karim, GoIn{People: both, Meters: true})
	r.refuses(second, chief, GoIn{People: both, Meters: true}, "go in")
	r.must(first, karim, ComeOut{People: both})
	r.must(second, chief, GoIn{People: both, Meters: true})
}

// TestPointLiftedForATestIsSeen cancels a permit after a test whose locks did not go on again: a second person sees the
// point before the permit ends. (A second qualified person checks a position: US naval training manuals, read; that it
// holds for what was lifted too: own reasoning.)
func TestPointLiftedForATestIsSeen(t *testing.T) {
	for name, tc := range map[string]struct {
		end   PermitAct
		by    Person
		first bool // the lock goes on again before the permit is cancelled
	}{
		"test ended":               {EndTest{Stopped: true}, tomas, false},
		"work stopped in the test": {Suspend{Words: "smoke from the motor"}, karim, false},
		"locked again":             {EndTest{Stopped: true}, tomas, true},
	} {
		t.Run(name, func(t *testing.T) {
			r := newRig(t)
			id := r.untilTesting()
			r.lift(id)
			r.must(id, tc.by, tc.end)
			if tc.first {
				r.must(id, tomas, r.fit(id))
			}
			r.must(id, olga, Cancel{Words: "bearing is worn out"})
			if !tc.first {
				r.refuses(id, tomas, CheckRestored{N: 1}, "check restored") // who took it off
			}
			for {
				if _, on := r.permits[id].NextRemove(); !on {
					break
				}
				r.between(id)
				r.must(id, tomas, r.remove(id))
			}
			for _, l := range r.permits[id].Unseen() {
				if l.Step.Point != "Q1" {
					r.must(id, karim, CheckRestored{N: l.Step.N})
				}
			}
			next, _, _ := r.permits[id].NextAdded()
			r.refuses(id, tomas, RestoreStep{N: next.N}, "restore step")
			use := UseOfTag(r.setting(karim, CheckRestored{}), r.permits[id], 1)
			if use.Use != UseSee || use.No != nil {
				t.Errorf("the tag of the breaker is good for %s (%v), want a second person's look", use.Use, use.No)
			}
			old := r.setting(chief, Close{})
			old.Judge = Judges()[len(Judges())-2]
			if asked := len(r.permits[id].unseen(old)) > 0; asked != tc.first {
				t.Errorf("by the edition before a look was asked for: %v, want %v", asked, tc.first)
			}
			r.see(id)
			r.between(id)
			r.must(id, chief, Close{Positions: true, Told: true})
		})
	}
}
