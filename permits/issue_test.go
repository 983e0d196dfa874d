package permits

import (
	"strings"
	"testing"
	"time"
)

// TestTwoAnswerForWhatIsNotProved authorises a plan that leaves something open: the officer says that he answers for
// it, and the chief engineer too, before the first lock. (Own reasoning; 29 CFR 1910.147(c)(4) asks for a procedure
// wherever energy may be left.)
func TestTwoAnswerForWhatIsNotProved(t *testing.T) {
	r := newRig(t)
	r.must(0, tomas, Request{Plan: r.rich(), Work: "Shaft seal"})
	r.refuses(1, olga, Authorise{Hours: 12, Tags: r.tags(1)}, "authorise")
	r.refuses(1, chief, AnswerUnproved{}, "unproved") // not before the officer
	r.must(1, olga, Authorise{Hours: 12, Tags: r.tags(1), Unproved: true})
	r.refuses(1, tomas, r.fit(1), "fit lock")
	no := Foresee(r.setting(tomas, FitLock{}), r.permits[1], KindFitLock, Target{Step: 1})
	if no == nil || !strings.Contains(no.What, "keeps its electrical supply") {
		t.Errorf("refused with %v, want what the plan does not prove", no)
	}
	if next := WhatNext(r.setting(chief, AnswerUnproved{}), r.permits[1]); next[0].Kind != KindAnswerUnproved {
		t.Errorf("the permit waits for %+v, want the chief engineer's signature", next[0])
	}
	r.refuses(1, olga, AnswerUnproved{}, "unproved")
	r.must(1, chief, AnswerUnproved{})
	r.refuses(1, chief, AnswerUnproved{}, "unproved")
	r.must(1, tomas, r.fit(1))
}

// TestWhoAuthorisedDoesNotAnswerAlone has somebody with both roles sign both.
func TestWhoAuthorisedDoesNotAnswerAlone(t *testing.T) {
	r := newRig(t)
	one := Person{ID: "one", Name: "One", Roles: []Role{Officer, ChiefEngineer}}
	r.ship.People[one.ID] = one
	r.must(0, tomas, Request{Plan: r.rich(), Work: "Shaft seal"})
	r.must(1, one, Authorise{Hours: 12, Tags: r.tags(1), Unproved: true})
	r.refuses(1, one, AnswerUnproved{}, "unproved")
	r.must(1, chief, AnswerUnproved{})
}

func TestNobodyAnswersForAPlanThatProvesAll(t *testing.T) {
	r := newRig(t)
	id := r.untilAuthorised()
	r.refuses(id, chief, AnswerUnproved{}, "unproved")
}

// TestThreePeopleMakeAPermitLive proves, issues and accepts: no two of them by one person, and the issue by nobody who
// worked at the locks. (UK COSWP, second hand: the authorising officer checks that the measures are in place. Who
// proves is not who accepts: own reasoning.)
func TestThreePeopleMakeAPermitLive(t *testing.T) {
	r := newRig(t)
	r.ship.People[both.ID] = both
	id := r.untilProving()
	r.record(id)
	r.refuses(id, olga, Issue{}, "issue")
	r.must(id, tomas, Prove{})
	r.refuses(id, ines, Accept{ToolsOut: 1}, "live")
	r.refuses(id, tomas, Issue{}, "issue")
	r.handOver(id, olga, both)
	r.must(id, both, Issue{})
	r.refuses(id, both, Accept{ToolsOut: 1}, "live")
	r.refuses(id, tomas, Accept{ToolsOut: 1}, "live")
	r.refuses(id, otto, Issue{}, "issue")
	r.must(id, tomas, RecordStart{Still: true, ControlsOff: true}) // a new reading takes proof and issue back
	r.must(id, tomas, Prove{})
	r.refuses(id, ines, Accept{ToolsOut: 1}, "live")
	r.must(id, chief, Issue{})
	r.must(id, ines, Accept{ToolsOut: 1})
}

// TestIssueLooksAtTheProofOnceMore waits a watch between the proof and the issue.
func TestIssueLooksAtTheProofOnceMore(t *testing.T) {
	r := newRig(t)
	id := r.untilProving()
	r.record(id)
	r.must(id, tomas, Prove{})
	r.at = r.at.Add(readingAge + time.Minute)
	r.refuses(id, olga, Issue{}, "issue")
}

// TestWhoTookOverDoesNotProve stops the work: the person in charge may not sign the proof on which he goes on.
func TestWhoTookOverDoesNotProve(t *testing.T) {
	r := newRig(t)
	id := r.untilLive()
	r.must(id, tomas, SignOff{})
	r.must(id, karim, Suspend{Words: "fire drill"})
	r.must(id, olga, Resume{})
	r.check(id)
	r.record(id)
	r.refuses(id, ines, Prove{}, "prove")
	r.must(id, tomas, Prove{})
	r.issue(id)
	r.must(id, ines, Accept{ToolsOut: 12})
}
