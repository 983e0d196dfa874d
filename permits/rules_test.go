package permits

import (
	"slices"
	"strings"
	"testing"
	"time"

	"stillwatch/isolation"
)

// ruleOfTheTrade is one rule with where it comes from, how well that is known (read in the text, read about, or from
// memory), and a case that breaks without it. Other tests walk the same gates through; this is the list of them all.
type ruleOfTheTrade struct {
	rule, source, known string
	holds               func(*rig)
}

// TestRulesOfTheTradeAreHeld goes through the rules on locks and tags, and on permits.
func TestRulesOfTheTradeAreHeld(t *testing.T) {
	for _, list := range [][]ruleOfTheTrade{rulesOfLocks, rulesOfTags, rulesOfPermits, rulesOfProof} {
		for _, c := range list {
			t.Run(c.rule, func(t *testing.T) {
				if c.source == "" || !slices.Contains([]string{"read", "second hand", "memory"}, c.known) {
					t.Fatalf("source %q, known %q: a rule says where it is from", c.source, c.known)
				}
				r := newRig(t)
				c.holds(r)
			})
		}
	}
}

var rulesOfLocks = []ruleOfTheTrade{
	{"who fitted a lock takes it off", "29 CFR 1910.147(e)(3)", "read", func(r *rig) {
		id := r.untilHandedBack()
		r.refuses(id, ines, r.remove(id), "remove lock")
		r.must(id, tomas, r.remove(id))
	}},
	{"another takes it off by three conditions, all of them", "29 CFR 1910.147(e)(3)", "read", func(r *rig) {
		id := r.untilHandedBack()
		for _, without := range []func(*ReleaseOwner){func(a *ReleaseOwner) { a.Verified = false },
			func(a *ReleaseOwner) { a.Tried = false }, func(a *ReleaseOwner) { a.WillTell = false }} {
			a := r.released(tomas)
			without(&a)
			r.refuses(id, chief, a, "absent owner")
		}
		r.must(id, chief, r.released(tomas))
		r.must(id, ines, r.remove(id))
	}},
	{"the owner is told before resuming work", "29 CFR 1910.147(e)(3)(iii)", "read", func(r *rig) {
		id := r.untilHandedBack()
		r.must(id, chief, r.released(tomas))
		other := r.untilAuthorisedBy(ines)
		r.refuses(other, tomas, CheckLock{N: 1}, "check lock")
		r.hear(tomas)
		r.must(other, tomas, CheckLock{N: 1})
	}},
	{"before a test tools are clear, then people", "29 CFR 1910.147(f)(1)(i)-(ii)", "read", func(r *rig) {
		id := r.untilLive()
		r.refuses(id, ines, r.asks(id), "ask for test") // Tomas is at work
		r.must(id, tomas, SignOff{})
		short := r.asks(id)
		short.ToolsBack--
		r.refuses(id, ines, short, "ask for test")
		r.must(id, ines, r.asks(id))
	}},
	{"then devices come off, it is run, and they are put on again", "29 CFR 1910.147(f)(1)(iii)-(v)", "read",
		func(r *rig) {
			id := r.untilTesting()
			r.must(id, olga, SanctionTest{})
			r.refuses(id, tomas, RecordTest{Words: "it runs"}, "record test") // the lock is on
			l, _ := r.permits[id].NextLift()
			r.must(id, tomas, LiftLock{Tag: l.Tag, Position: l.Step.Clearance})
			r.must(id, tomas, RecordTest{Words: "it runs"})
			r.refuses(id, tomas, EndTest{}, "end test") // not seen stopped
			r.must(id, tomas, EndTest{Stopped: true})
			r.refuses(id, ines, SignOn{}, "live")
			r.must(id, tomas, r.fit(id))
		}},
	{"each of a group has a lock of his own, on while he works", "29 CFR 1910.147(f)(3)(ii)(D)", "read", func(r *rig) {
		id := r.untilLive()
		r.must(id, tomas, SignOff{})
		r.must(id, ines, r.boxes(id))
		r.refuses(id, tomas, SignOn{}, "form")
		r.must(id, tomas, SignOn{Lock: "T1"})
		r.refuses(id, tomas, SignOff{}, "sign off")
		r.must(id, tomas, SignOff{LockOff: true})
	}},
	{"one person is responsible for the group", "29 CFR 1910.147(f)(3)(ii)(A)", "read", func(r *rig) {
		id := r.untilLive()
		r.must(id, tomas, SignOff{})
		r.refuses(id, tomas, r.boxes(id), "group box")
		r.refuses(id, tomas, HandBack{ToolsBack: 12, GuardsBack: true}, "hand back")
		r.must(id, ines, r.boxes(id))
	}},
	{"the watch changes by an orderly transfer, with a new line for the oncoming", "29 CFR 1910.147(f)(4); " +
		"DOE-STD-1030-96, 4.7", "read", func(r *rig) {
		id := r.untilLive()
		r.ship.People[otto.ID] = otto
		r.refuses(id, otto, TakeWatch{}, "hand over")
		r.must(id, olga, OfferWatch{To: otto.ID})
		r.refuses(id, ines, SignOn{}, "live")
		r.must(id, otto, TakeWatch{})
		r.refuses(id, olga, Extend{Hours: 8}, "authorise")
		r.must(id, otto, Extend{Hours: 8})
	}},
	{"locks change hands by an orderly transfer", "29 CFR 1910.147(f)(4)", "read", func(r *rig) {
		id := r.untilHandedBack()
		r.must(id, tomas, OfferWork{To: ines.ID})
		r.refuses(id, ines, TakeWork{From: tomas.ID, Locks: 1}, "shift")
		r.must(id, ines, TakeWork{From: tomas.ID, Locks: r.permits[id].OwnedBy(tomas.ID)})
		r.refuses(id, tomas, r.remove(id), "remove lock")
		r.must(id, ines, r.remove(id))
	}},
	{"people are told before energy comes back", "29 CFR 1910.147(e)(2)(ii)", "read", func(r *rig) {
		id := r.untilHandedBack()
		for l, _ := r.permits[id].NextRemove(); !l.Step.Isolates(); l, _ = r.permits[id].NextRemove() {
			r.must(id, tomas, r.remove(id))
		}
		r.refuses(id, tomas, r.remove(id), "remove lock")
		tell, _, _ := r.permits[id].NextAdded()
		r.refuses(id, chief, LeaveOut{N: tell.N, Words: "nobody is near"}, "restore step")
		r.must(id, tomas, RestoreStep{N: tell.N})
		r.must(id, tomas, r.remove(id))
	}},
}

// untilAuthorisedBy is a permit that this technician requested, with its first lock on.
func (r *rig) untilAuthorisedBy(who Person) PermitID {
	r.tb.Helper()
	id := PermitID(len(r.permits) + 1)
	r.must(0, who, Request{Plan: r.plan(), Work: "Shaft seal"})
	r.must(id, olga, Authorise{Hours: 12, Tags: r.tags(id)})
	r.must(id, who, r.fit(id))
	return id
}

var rulesOfTags = []ruleOfTheTrade{
	{"a tag alone asks for a further measure", "29 CFR 1915.89(c)(4)", "read", func(r *rig) {
		id := r.untilAuthorised()
		p := r.permits[id].clone()
		p.locks[0].Step.Lock, p.locks[0].Step.Measure = false, "handwheel taken off"
		r.permits[id] = p
		a := r.fit(id)
		a.MeasureDone = false
		r.refuses(id, tomas, a, "fit lock")
	}},
	{"the log has number, place, position, poster, checker, clearance, clearer and times", "US naval training manuals; " +
		"29 CFR 1915.89(c)(7)", "read", func(r *rig) {
		id := r.untilHandedBack()
		r.takeOff(id)
		for _, l := range r.permits[id].Locks() {
			if l.Step.N == 0 || l.Step.Point == "" || l.Step.Position == l.Step.Clearance || l.Fitted.IsZero() ||
				l.Checked.IsZero() || l.Removed.IsZero() || l.Left != l.Step.Clearance || l.Seen.IsZero() ||
				!l.Fitted.At.Before(l.Removed.At) {
				r.tb.Fatalf("the line of step %d lacks something: %+v", l.Step.N, l)
			}
		}
		if r.permits[id].Plan().Machine == "" {
			r.tb.Fatal("the log does not name the machine")
		}
	}},
	{"a second person checks coverage before issue", "US naval training manuals", "read", func(r *rig) {
		r.ship.People[both.ID] = both
		r.must(0, both, Request{Plan: r.plan(), Work: "Shaft seal"})
		r.refuses(1, both, Authorise{Hours: 12, Tags: r.tags(1)}, "authorise")
		r.must(1, olga, Authorise{Hours: 12, Tags: r.tags(1)})
	}},
	{"a second person checks each position after hanging", "US naval training manuals", "read", func(r *rig) {
		id := r.untilAuthorised()
		r.must(id, tomas, r.fit(id))
		r.refuses(id, tomas, CheckLock{N: 1}, "check lock")
		r.must(id, karim, CheckLock{N: 1})
	}},
	{"no work until all hang", "US naval training manuals", "read", func(r *rig) {
		id := r.untilAuthorised()
		all := len(r.permits[id].Locks())
		for n := range all {
			for _, a := range []PermitAct{Prove{}, Accept{ToolsOut: 3}, SignOn{}} {
				if err := r.try(id, ines, a); err == nil {
					r.tb.Fatalf("%s went through with %d of %d on", a.Kind(), n, all)
				}
			}
			r.must(id, tomas, r.fit(id))
		}
	}},
	{"no tag is no permission: one that is gone stops the work", "US naval training manuals", "read", func(r *rig) {
		id := r.untilLive()
		r.must(id, karim, FindWrong{N: 1, Words: "the tag is gone"})
		if r.permits[id].State() == Live {
			r.tb.Fatal("work goes on without its tag")
		}
	}},
	{"whoever clears the last line clears the tag", "US naval training manuals", "read", func(r *rig) {
		first, last := r.untilHandedBack(), r.untilHandedBack()
		for n, id := range []PermitID{first, last} {
			for l, on := r.permits[id].NextRemove(); on; l, on = r.permits[id].NextRemove() {
				r.between(id)
				left, _ := r.permits[id].LeaveAt(r.setting(tomas, RemoveLock{}).Held, l)
				if want := []isolation.Position{l.Step.Position, l.Step.Clearance}[n]; left != want {
					r.tb.Fatalf("permit %d leaves %s %s, want %s", id, l.Step.Point, left, want)
				}
				r.must(id, tomas, RemoveLock{Tag: l.Tag, Position: left})
			}
		}
	}},
	{"a stricter condition on a tagged point is a conflict", "US naval training manuals", "read", func(r *rig) {
		first := r.untilAuthorised()
		r.must(first, tomas, r.fit(first))
		r.must(0, tomas, Request{Plan: r.plan(), Work: "Shaft seal"})
		p := r.permits[2].clone()
		p.locks[0].Step.Position = p.locks[0].Step.Clearance
		r.permits[2] = p
		r.refuses(2, olga, Authorise{Hours: 12, Tags: r.tags(2)}, "authorise")
	}},
	{"every tag is audited each two weeks at least", "US naval training manuals", "read",
		func(r *rig) {
			r.untilLive()
			r.shipRefuses(chief, SetAuditEvery{Days: 15}, "audit")
			r.aboard(chief, SetAuditEvery{Days: 7})
			r.at = r.at.Add(7 * 24 * time.Hour)
			if d := AuditDue(r.setting(karim, Look{})); len(d) == 0 || !d[0].Overdue {
				r.tb.Fatalf("seven days later %+v is due, want the first tag overdue", d)
			}
		}},
	{"a wrong position seen in the audit stops the work at once", "US naval training manuals", "read", func(r *rig) {
		id := r.untilLive()
		r.must(id, karim, r.sight(id, 1, WrongPosition))
		if r.permits[id].State() == Live {
			r.tb.Fatal("work goes on at a point that stands wrong")
		}
	}},
	{"each procedure is inspected yearly by somebody who does not use it", "29 CFR 1910.147(c)(6)", "read",
		func(r *rig) {
			r.untilLive()
			r.shipRefuses(tomas, inspects(""), "inspect plan")
			r.at = r.at.Add(366 * 24 * time.Hour)
			if d := InspectionsDue(r.setting(ines, Look{})); !d[0].Overdue {
				r.tb.Fatal("a year after its first use the plan is not due")
			}
			r.aboard(ines, InspectPlan{Job: "P1-seal", With: []PersonID{tomas.ID}, Words: "walked the plan past every point"})
		}},
}

var rulesOfPermits = []ruleOfTheTrade{
	{"at most 24 h, longer by a new signature", "UK COSWP", "second hand", func(r *rig) {
		r.must(0, tomas, Request{Plan: r.plan(), Work: "Shaft seal"})
		r.refuses(1, olga, Authorise{Hours: 25, Tags: r.tags(1)}, "form")
		r.must(1, olga, Authorise{Hours: 24, Tags: r.tags(1)})
		r.at = r.at.Add(25 * time.Hour)
		r.refuses(1, tomas, r.fit(1), "fit lock")
		r.must(1, olga, Extend{Hours: 24})
		r.must(1, tomas, r.fit(1))
	}},
	{"only the stated work: its plan is the one that was authorised", "UK COSWP", "second hand", func(r *rig) {
		r.must(0, tomas, Request{Plan: r.plan(), Work: "Shaft seal"})
		r.ship.PlantSHA256 = "another plant file"
		r.refuses(1, olga, Authorise{Hours: 12, Tags: r.tags(1)}, "authorise")
	}},
	{"the officer checks that the measures are in place", "UK COSWP", "second hand", func(r *rig) {
		id := r.untilProving()
		r.record(id)
		r.must(id, tomas, Prove{})
		r.refuses(id, ines, Accept{ToolsOut: 3}, "live")
		r.must(id, olga, Issue{})
		r.must(id, ines, Accept{ToolsOut: 3})
	}},
	{"the officer stays responsible until it is closed or handed over by signature", "UK COSWP", "second hand",
		func(r *rig) {
			id := r.untilHandedBack()
			r.ship.People[otto.ID] = otto
			if got := r.permits[id].InHand(); got != olga.ID {
				r.tb.Fatalf("it is in the hands of %q, want of who authorised it", got)
			}
			r.handOver(id, olga, otto)
			if got := r.permits[id].InHand(); got != otto.ID {
				r.tb.Fatalf("it is in the hands of %q, want of who took it over", got)
			}
		}},
	{"signed by the officer and the person in charge, countersigned by the master", "ILO, Accident prevention on board " +
		"ship at sea and in port, 4.1", "read", func(r *rig) {
		id := r.untilSpaceLive("T1-weld")
		p := r.permits[id]
		for who, by := range map[Role]PersonID{Officer: p.Authorised().By, Technician: p.Accepted().By,
			Master: p.Countersigned().By} {
			if person, ok := r.ship.Person(by); !ok || !person.Has(who) {
				r.tb.Fatalf("%q signed where the %s signs", by, who)
			}
		}
		r.must(0, tomas, Request{Plan: r.space("T1-weld"), Work: "Repair"})
		r.must(2, olga, Authorise{Hours: 8, Tags: r.tags(2)})
		r.refuses(2, tomas, r.fit(2), "fit lock") // the master has not signed
	}},
	{"the air of a space: 21 % oxygen, tested with the ventilation stopped", "IMO A.1050(27), 7.2 and 7.3", "read",
		func(r *rig) {
			id := r.untilSpaceProving("T1-entry")
			moving := r.air(id, "top")
			moving.Still = false
			r.refuses(id, tomas, moving, "air")
			r.testAir(id, tomas)
			low := r.air(id, "bottom")
			low.Values[0].Value = 19
			r.must(id, tomas, low)
			r.refuses(id, tomas, Prove{}, "prove")
			if set := r.permits[id].Plan().Air.RuleSet; set == "" {
				r.tb.Fatal("it is not kept which set of limits judged")
			}
		}},
	{"the air is tested again after every break", "IMO A.1050(27), 7.3", "read", func(r *rig) {
		id := r.untilSpaceLive("T1-entry")
		r.must(id, karim, TakePost{Post: isolation.Attendant})
		r.must(id, tomas, SignOn{})
		r.must(id, ines, SignOn{})
		two := GoIn{People: []PersonID{tomas.ID, ines.ID}, Meters: true}
		r.must(id, karim, two)
		r.must(id, karim, ComeOut{People: two.People})
		r.at = r.at.Add(31 * time.Minute)
		r.refuses(id, karim, two, "go in")
		r.testAir(id, tomas)
		r.must(id, karim, two)
	}},
	{"nobody enters alone", "IMO MSC.581(110)", "second hand", func(r *rig) {
		id := r.untilSpaceLive("T1-entry")
		r.must(id, karim, TakePost{Post: isolation.Attendant})
		r.must(id, tomas, SignOn{})
		r.refuses(id, karim, GoIn{People: []PersonID{tomas.ID}, Meters: true}, "go in")
	}},
	{"a sanction of its own for a test", "UK COSWP", "memory", func(r *rig) {
		id := r.untilTesting()
		l, _ := r.permits[id].NextLift()
		r.refuses(id, tomas, LiftLock{Tag: l.Tag, Position: l.Step.Clearance}, "lift lock")
	}},
}

var rulesOfProof = []ruleOfTheTrade{
	{"stored energy is relieved, and it is verified, before the work", "29 CFR 1910.147(d)(5)-(6)", "read", func(r *rig) {
		id := r.untilProving()
		r.refuses(id, tomas, Prove{}, "prove")
		open := strings.Join(r.permits[id].Unproved(r.at), "; ")
		for _, want := range []string{"nothing recorded", "start attempt"} {
			if !strings.Contains(open, want) {
				r.tb.Fatalf("open = %q, want %q in it", open, want)
			}
		}
	}},
	{"verification goes on where energy can build up again", "29 CFR 1910.147(d)(5)(ii)", "read", func(r *rig) {
		id := r.untilLive()
		a := drained(r.permits[id].Drains()[0].Section)
		a.Reading.HoldInL = 3
		r.must(id, tomas, a)
		if got := r.permits[id].State(); got != Proving {
			r.tb.Fatalf("the section fills again and the permit is %s, want proving", got)
		}
	}},
	{"draining is seen", "29 CFR 1915.163(a)(2)", "read", func(r *rig) {
		id := r.untilProving()
		a := drained(r.permits[id].Drains()[0].Section)
		a.Reading.HoldS = 1 // nobody stood and watched
		if err := r.try(id, tomas, a); err == nil && r.permits[id].Drains()[0].Finding.OK {
			r.tb.Fatal("a section is found drained that nobody has watched")
		}
	}},
	{"the detector is proved before and after", "EN 50110-1", "second hand", func(r *rig) {
		id := r.untilProving()
		test := r.permits[id].Dead()[0].Test.ID
		for _, a := range []RecordDead{{Test: test, Dead: true, ProvedAfter: true, Words: "tested"},
			{Test: test, ProvedBefore: true, Dead: true, Words: "tested again"}} {
			r.must(id, tomas, a)
			if r.permits[id].Dead()[0].OK {
				r.tb.Fatalf("%+v proves dead", a)
			}
		}
	}},
	{"after a start attempt the controls go back to off", "29 CFR 1910.147, Appendix A", "memory", func(r *rig) {
		id := r.untilProving()
		r.must(id, tomas, RecordStart{Still: true})
		if r.permits[id].Start().OK {
			r.tb.Fatal("a start attempt counts with its controls left on")
		}
	}},
}
