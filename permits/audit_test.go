package permits

import (
	"errors"
	"strings"
	"testing"
	"time"
)

// sight is an act of the audit at a step, right in all that the form fills in.
func (r *rig) sight(id PermitID, n int, seen Sight) SightTag {
	l, _ := r.permits[id].Lock(n)
	a := SightTag{N: n, Point: l.Step.Point, Seen: seen, How: "typed"}
	if seen == AsFound {
		a.Tag = l.Tag
	}
	return a
}

// shipRefuses checks that a gate refuses an act on the ship, in two sentences.
func (r *rig) shipRefuses(who Person, a ShipAct, gate string) {
	r.tb.Helper()
	var no *Refusal
	if err := r.tryAboard(who, a); !errors.As(err, &no) || no.Gate != gate || no.What == "" {
		r.tb.Fatalf("%s by %s = %v, want a refusal by gate %q", a.Kind(), who, err, gate)
	}
}

// Every tag at least every two weeks, more often if the ship wants it, never less (US naval training manuals, read):
// the time runs from when the tag was hung, then from each sight of it.
func TestTagsAreDueEveryTwoWeeksAtLeast(t *testing.T) {
	r := newRig(t)
	id := r.untilLive()
	hung, _ := r.permits[id].Lock(1)
	due := func(n int) TagDue {
		for _, d := range AuditDue(r.setting(karim, Look{})) {
			if d.Step == n {
				return d
			}
		}
		t.Fatalf("step %d is on no list", n)
		return TagDue{}
	}
	if d := due(1); !d.Due.Equal(hung.Fitted.At.Add(14*24*time.Hour)) || d.Overdue || d.Soon {
		t.Errorf("hung at %s, due %s, overdue %t, soon %t", hung.Fitted.At, d.Due, d.Overdue, d.Soon)
	}
	r.at = hung.Fitted.At.Add(13 * 24 * time.Hour)
	if d := due(1); d.Overdue || !d.Soon {
		t.Errorf("after 13 days: overdue %t, soon %t, want soon", d.Overdue, d.Soon)
	}
	r.at = hung.Fitted.At.Add(14 * 24 * time.Hour)
	if d := due(1); !d.Overdue {
		t.Error("after 14 days it is not overdue")
	}
	r.must(id, karim, r.sight(id, 1, AsFound))
	if d := due(1); !d.Due.Equal(r.at.Add(14*24*time.Hour)) || d.Overdue {
		t.Errorf("sighted at %s, due %s", r.at, d.Due)
	}
	r.must(id, karim, r.sight(id, 1, Unreadable))
	if d := due(1); !d.Overdue {
		t.Error("a tag that cannot be read is not due at once")
	}
	r.must(id, karim, r.sight(id, 1, AsFound))
	if err := r.tryAboard(chief, SetAuditEvery{Days: 7}); err != nil {
		t.Fatal(err)
	}
	if d := due(1); !d.Due.Equal(r.at.Add(7 * 24 * time.Hour)) {
		t.Errorf("shortened to 7 days at %s, due %s", r.at, d.Due)
	}
}

func TestTheAuditIsShortenedByTheChiefEngineerAndNeverLengthened(t *testing.T) {
	r := newRig(t)
	r.shipRefuses(chief, SetAuditEvery{Days: 15}, "audit")
	r.shipRefuses(chief, SetAuditEvery{Days: 14}, "audit") // as it is
	r.shipRefuses(chief, SetAuditEvery{Days: 0}, "form")
	r.shipRefuses(olga, SetAuditEvery{Days: 7}, string(KindSetAuditEvery))
	if err := r.tryAboard(chief, SetAuditEvery{Days: 7}); err != nil || r.ship.AuditDays() != 7 {
		t.Fatalf("7 days = %v, now %d", err, r.ship.AuditDays())
	}
	r.shipRefuses(chief, SetAuditEvery{Days: 28}, "audit")
	if err := r.tryAboard(chief, SetAuditEvery{Days: 14}); err != nil { // back to what the rule asks
		t.Error(err)
	}
}

// By sight only, and by somebody else than who hung the lock: as for the first look at it.
func TestWhoFittedOrOwnsALockDoesNotAuditIt(t *testing.T) {
	r := newRig(t)
	id := r.untilLive()
	r.refuses(id, tomas, r.sight(id, 1, AsFound), "audit")
	r.refuses(id, vera, r.sight(id, 1, AsFound), "audit")
	r.must(id, karim, r.sight(id, 1, AsFound))
	r.must(id, tomas, SignOff{})
	r.must(id, tomas, OfferWork{To: ines.ID})
	tools := 0
	if r.permits[id].Leads(tomas.ID) {
		tools = r.permits[id].ToolsOut()
	}
	if err := r.try(id, ines, TakeWork{From: tomas.ID, Locks: r.permits[id].OwnedBy(tomas.ID), Tools: tools}); err != nil {
		t.Fatal(err)
	}
	r.refuses(id, ines, r.sight(id, 1, AsFound), "audit") // hers now
	r.refuses(id, tomas, r.sight(id, 1, AsFound), "audit")
}

func TestAsFoundTakesTheTagItself(t *testing.T) {
	r := newRig(t)
	id := r.untilLive()
	a := r.sight(id, 1, AsFound)
	a.Tag = r.permits[id].Locks()[1].Tag
	r.refuses(id, karim, a, "audit")
	a.Tag = ""
	r.refuses(id, karim, a, "audit")
	b := r.sight(id, 1, AsFound)
	b.Point = "elsewhere"
	r.refuses(id, karim, b, "form")
	b = r.sight(id, 1, "looks all right")
	r.refuses(id, karim, b, "form")
	r.refuses(id, karim, SightTag{N: 99, Seen: TagMissing}, "audit")
}

// A wrong position is reported at once, and the work stops on every permit that holds the point; a tag that is gone
// stops the work on the permit that lost it.
func TestWhatTheAuditFindsWrongStopsTheWork(t *testing.T) {
	for _, tc := range []struct {
		seen        Sight
		one, others State
	}{
		{AsFound, Live, Live}, {Unreadable, Live, Live},
		{TagMissing, Suspended, Live}, {WrongPosition, Suspended, Suspended},
	} {
		t.Run(string(tc.seen), func(t *testing.T) {
			r := newRig(t)
			one, other := r.untilLive(), r.untilLive()
			r.must(one, karim, r.sight(one, 1, tc.seen))
			if got := r.permits[one].State(); got != tc.one {
				t.Errorf("the permit is %s, want %s", got, tc.one)
			}
			if got := r.permits[other].State(); got != tc.others {
				t.Errorf("the other permit at this point is %s, want %s", got, tc.others)
			}
			l, _ := r.permits[one].Lock(1)
			if wrong := tc.one == Suspended; wrong != (l.Wrong != "") {
				t.Errorf("the lock is wrong %q, want %t", l.Wrong, wrong)
			}
			if l.Wrong != "" {
				r.refuses(one, karim, r.sight(one, 1, AsFound), "audit") // first it is put right
			}
		})
	}
}

// A new tag or lock is a new one: its time begins anew, and nothing of the old one's is left.
func TestFittingAnewForgetsTheSight(t *testing.T) {
	r := newRig(t)
	id := r.untilLive()
	r.must(id, tomas, SignOff{})
	r.must(id, karim, r.sight(id, 1, AsFound))
	r.must(id, karim, r.sight(id, 1, WrongPosition))
	r.must(id, olga, Resume{})
	r.must(id, tomas, r.fit(id))
	if l, _ := r.permits[id].Lock(1); !l.Sighted.IsZero() || l.Wrong != "" {
		t.Errorf("after fitting anew: sighted %v, wrong %q", l.Sighted, l.Wrong)
	}
}

func TestTheAuditIsSignedWhenEveryTagWasSighted(t *testing.T) {
	r := newRig(t)
	r.shipRefuses(karim, SignAudit{Each: true}, "audit") // nothing hangs
	id := r.untilLive()
	n := r.permits[id].LocksOn()
	r.at = r.at.Add(3 * 24 * time.Hour)
	r.shipRefuses(karim, SignAudit{Tags: n, Each: true}, "audit")
	for i := range n - 1 {
		r.must(id, karim, r.sight(id, i+1, AsFound))
	}
	r.shipRefuses(karim, SignAudit{Tags: n, Each: true}, "audit")
	r.must(id, ines, r.sight(id, n, AsFound))
	r.shipRefuses(olga, SignAudit{Tags: n, Each: true}, "audit") // she saw none
	r.shipRefuses(karim, SignAudit{Tags: n - 1, Each: true}, "audit")
	r.must(id, ines, r.sight(id, n, Unreadable))
	r.shipRefuses(karim, SignAudit{Tags: n, Each: true}, "audit")
	r.must(id, ines, r.sight(id, n, AsFound))
	if err := r.tryAboard(karim, SignAudit{Tags: n, Each: true}); err != nil {
		t.Fatal(err)
	}
	if r.ship.Audited.By != karim.ID || r.ship.Audited.Tags != n {
		t.Errorf("audited = %+v", r.ship.Audited)
	}
	r.at = r.at.Add(25 * time.Hour)
	r.shipRefuses(karim, SignAudit{Tags: n, Each: true}, "audit") // of another day
}

// Every tag is sighted (US naval training manuals, read): also one that was hung an hour ago, and one that was fitted
// anew because the audit found it wrong. What the log says of the audit is so.
func TestTheAuditPassesOverNoTag(t *testing.T) {
	r := newRig(t)
	id := r.untilLive()
	n := r.permits[id].LocksOn()
	r.must(id, tomas, SignOff{})
	r.must(id, karim, r.sight(id, 1, AsFound))
	r.shipRefuses(karim, SignAudit{Tags: n, Each: true}, "audit") // the others hang for hours only
	r.must(id, karim, r.sight(id, 2, WrongPosition))
	for i := 3; i <= n; i++ {
		r.must(id, karim, r.sight(id, i, AsFound))
	}
	r.shipRefuses(karim, SignAudit{Tags: n - 1, Each: true}, "audit") // one hangs wrong
	r.must(id, olga, Resume{})
	r.must(id, tomas, r.fit(id))
	r.shipRefuses(karim, SignAudit{Tags: n, Each: true}, "audit") // fitted anew, and not sighted
	r.must(id, karim, r.sight(id, 2, AsFound))
	r.shipRefuses(karim, SignAudit{Tags: n}, "form")
	r.aboard(karim, SignAudit{Tags: n, Each: true})
	e := r.entries[len(r.entries)-1]
	if said := e.Act.tell(Names{}, e); !strings.Contains(said, "each was sighted in the last 24 h") {
		t.Errorf("the log says %q", said)
	}
	if said := (SignAudit{Tags: 5}).tell(Names{}, e); strings.Contains(said, "each") {
		t.Errorf("of an audit by earlier gates the log says %q", said)
	}
}

// inspects is an inspection that says all that is asked.
func inspects(wrong string) InspectPlan {
	return InspectPlan{Job: "P1-seal", With: []PersonID{tomas.ID}, Wrong: wrong,
		Words: "walked the plan past every point with the fitter"}
}

// At least yearly, by somebody who does not use it (29 CFR 1910.147(c)(6)(i), read).
func TestAPlanIsInspectedBySomebodyWhoDoesNotUseIt(t *testing.T) {
	r := newRig(t)
	if d := InspectionsDue(r.setting(ines, Look{})); len(d) != 1 || !d[0].Due.IsZero() || d[0].Overdue {
		t.Fatalf("a plan that was never used: %+v, want no due date", d)
	}
	id := r.untilLive()
	used := r.at
	for _, who := range []Person{tomas, olga} { // requested and fitted; authorised
		r.shipRefuses(who, inspects(""), "inspect plan")
	}
	r.shipRefuses(karim, inspects(""), "inspect plan") // no competent person for it
	d := InspectionsDue(r.setting(ines, Look{}))[0]
	if want := UseDay(used).Add(365 * 24 * time.Hour); !d.Due.Equal(want) {
		t.Errorf("used first on %s: due %s, want %s", used, d.Due, want)
	}
	r.at = used.Add(366 * 24 * time.Hour)
	if d := InspectionsDue(r.setting(ines, Look{}))[0]; !d.Overdue {
		t.Error("a year after the first use the inspection is not overdue")
	}
	a := inspects("")
	a.With = nil
	r.shipRefuses(ines, a, "form")
	a.With = []PersonID{ines.ID}
	r.shipRefuses(ines, a, "form")
	a = inspects("")
	a.Job = "P2-none"
	r.shipRefuses(ines, a, "inspect plan")
	if err := r.tryAboard(ines, inspects("")); err != nil {
		t.Fatal(err)
	}
	if d := InspectionsDue(r.setting(ines, Look{}))[0]; !d.Due.Equal(r.at.Add(365*24*time.Hour)) || d.Overdue {
		t.Errorf("inspected %s: due %s", r.at, d.Due)
	}
	if err := r.tryAboard(tomas, InspectPlan{Job: "P1-seal", With: []PersonID{ines.ID}, Words: "read again, a year after",
		Wrong: ""}); err != nil { // his year is over
		t.Error(err)
	}
	_ = id
}

func TestAPlanFoundWrongIsAuthorisedNoMore(t *testing.T) {
	r := newRig(t)
	if err := r.tryAboard(ines, inspects("the drain of the casing is not in the plan")); err != nil {
		t.Fatal(err)
	}
	r.must(0, tomas, Request{Plan: r.plan(), Work: "Shaft seal"})
	r.refuses(1, olga, Authorise{Hours: 12, Tags: r.tags(1)}, "authorise")
	if err := r.tryAboard(ines, inspects("")); err != nil {
		t.Fatal(err)
	}
	r.must(1, olga, Authorise{Hours: 12, Tags: r.tags(1)})
	r.ship.Inspected["P1-seal"] = Inspection{Act: inspects("wrong by a file of before"), Plant: "another file"}
	r.must(0, tomas, Request{Plan: r.plan(), Work: "Shaft seal"})
	r.must(2, olga, Authorise{Hours: 12, Tags: r.tags(2)})
}

func TestUsesKeepTheFirstAndTheLastDay(t *testing.T) {
	day := func(n int) time.Time { return time.Date(2026, 3, n, 15, 30, 0, 0, time.UTC) }
	u := Uses{}.With("J", "a", day(5)).With("J", "a", day(3)).With("J", "a", day(9)).With("J", "b", day(1)).
		With("K", "a", day(20))
	before := u
	if same := u.With("J", "a", day(4)); same.of["J"]["a"] != u.of["J"]["a"] {
		t.Error("a day between changes something")
	}
	if got, _ := u.Of("J", "a"); got != (Used{UseDay(day(3)), UseDay(day(9))}) {
		t.Errorf("a used J from %v", got)
	}
	if got, ok := u.First("J"); !ok || !got.Equal(UseDay(day(1))) {
		t.Errorf("J was used first %v, %t", got, ok)
	}
	if _, ok := u.First("L"); ok {
		t.Error("L was used")
	}
	if got, ok := before.Last("K", "a"); !ok || !got.Equal(UseDay(day(20))) {
		t.Errorf("a used K last %v, %t", got, ok)
	}
	if got := u.Users("J", day(9).Add(364*24*time.Hour)); len(got) != 1 || got[0] != "a" {
		t.Errorf("users within the year = %v, want a alone", got)
	}
}
