package web

import (
	"strconv"

	"github.com/gin-gonic/gin"

	"stillwatch/isolation"
	"stillwatch/isolation/proved"
	"stillwatch/permits"
	"stillwatch/web/screens"
)

// onPermit does an act on the permit that the address names; a refusal shows the permit's page again.
func (s *Server) onPermit(c *gin.Context, form string, act permits.Act, done string) error {
	id, err := permitID(c)
	if err != nil {
		return err
	}
	return s.do(c, doing{form: form, permit: id, act: act, done: done, then: screens.PermitPath(id), again: s.permitAgain})
}

func (s *Server) permitAuthorise(c *gin.Context) error {
	f := formOf(c)
	return s.onPermit(c, "authorise", permits.Authorise{Hours: f.number("hours", "The period"),
		Unproved: f.yes("unproved")},
		"Authorised. Print the lock tags; the technician fits them in their order.")
}

func (s *Server) permitExtend(c *gin.Context) error {
	f := formOf(c)
	return s.onPermit(c, "extend", permits.Extend{Hours: f.number("hours", "The period")}, "The authorisation runs on.")
}

// permitCountersign takes the master's signature under the authorisation.
func (s *Server) permitCountersign(c *gin.Context) error {
	return s.onPermit(c, "countersign", permits.Countersign{},
		"Countersigned. The technician fits the locks in their order.")
}

// permitProve takes the signature under the proof.
func (s *Server) permitProve(c *gin.Context) error {
	return s.onPermit(c, "prove", permits.Prove{}, "The proof is signed. The officer of the watch or the chief engineer "+
		"issues the permit next.")
}

// unprovedAnswer takes the chief engineer's signature for what the plan does not prove.
func (s *Server) unprovedAnswer(c *gin.Context) error {
	return s.onPermit(c, "answer-for-unproved", permits.AnswerUnproved{},
		"Signed. The technician fits the locks in their order.")
}

// permitIssue takes the signature that the measures are in place.
func (s *Server) permitIssue(c *gin.Context) error {
	return s.onPermit(c, "issue", permits.Issue{}, "Issued. The person in charge of the work accepts next.")
}

// workOffer takes the signature of somebody who hands their locks over at a change of shift.
func (s *Server) workOffer(c *gin.Context) error {
	return s.onPermit(c, "offer-work", permits.OfferWork{To: permits.PersonID(formOf(c).text("to"))},
		"Signed. The locks stay yours until the other has counted them and signed.")
}

// workTake takes the signature of who has counted the other's locks and takes them over.
func (s *Server) workTake(c *gin.Context) error {
	f := formOf(c)
	act := permits.TakeWork{From: permits.PersonID(f.text("from")), Locks: f.count("locks", "The count of locks")}
	if f.Has("tools") {
		act.Tools = f.count("tools", "The count of tools")
	}
	return s.onPermit(c, "take-work:"+string(act.From), act, "Taken over. The locks are yours now.")
}

// permitAccept takes the signature of the person in charge, which makes the permit live.
func (s *Server) permitAccept(c *gin.Context) error {
	act := permits.Accept{ToolsOut: formOf(c).count("tools_out", "The count of tools")}
	return s.onPermit(c, "accept", act, "The permit is live. Everybody who works signs on first.")
}

// crewSignOn puts the signer to the work.
func (s *Server) crewSignOn(c *gin.Context) error {
	return s.onPermit(c, "sign-on", permits.SignOn{Lock: permits.Padlock(formOf(c).text("lock"))}, "Signed on.")
}

// crewSignOff takes the signer off the work.
func (s *Server) crewSignOff(c *gin.Context) error {
	return s.onPermit(c, "sign-off", permits.SignOff{LockOff: formOf(c).yes("lock_off")}, "Signed off.")
}

// permitSuspend stops the work at once: anybody of the crew may.
func (s *Server) permitSuspend(c *gin.Context) error {
	return s.onPermit(c, "suspend", permits.Suspend{Words: formOf(c).text("words")},
		"The work is stopped. Get everybody out; each signs off. The locks stay on.")
}

// permitResume lets a stopped permit go on, after a short stop or a long one.
func (s *Server) permitResume(c *gin.Context) error {
	f := formOf(c)
	if f.text("stop") == "short" {
		return s.onPermit(c, "resume", permits.Resume{Short: true, Near: f.yes("near"), Untouched: f.yes("untouched")},
			"It goes on: a second person looks at each lock, then the person in charge accepts.")
	}
	return s.onPermit(c, "resume", permits.Resume{},
		"It goes on: a second person looks at each lock, then every drain, reading and test is recorded anew.")
}

// lifts computes, for everything that could be run under a permit, what would come off for it. What cannot be run, or
// would not hold, is left out.
func (s *Server) lifts(p permits.Permit) []isolation.Lifting {
	plant := s.reg.Plant()
	if plant == nil || plant.SHA256 != p.Plan().PlantSHA256 {
		return nil
	}
	var out []isolation.Lifting
	for _, run := range p.Plan().Runs(plant) {
		if l, err := proved.Lift(plant, p.Plan(), run); err == nil {
			out = append(out, l)
		}
	}
	return out
}

// testAsk takes the wish to run something for a test; what comes off for it is computed here, and held against the plan
// by the gate.
func (s *Server) testAsk(c *gin.Context) error {
	id, err := permitID(c)
	if err != nil {
		return err
	}
	f := formOf(c)
	act := permits.AskTest{ToolsBack: f.count("tools_back", "The count of tools"), Closed: f.yes("closed")}
	if p, err := s.reg.Permit(c.Request.Context(), id); err == nil {
		for _, l := range s.lifts(p) {
			if l.Run == isolation.NodeID(f.text("run")) {
				act.Lifting = l
			}
		}
	}
	if act.Run == "" {
		f.wrong("run", "Choose what is to run.")
	}
	return s.onPermit(c, "ask-for-test", act, "Asked. The officer of the watch reads what comes off, and sanctions it.")
}

// testSanction takes the officer's signature for a test run.
func (s *Server) testSanction(c *gin.Context) error {
	return s.onPermit(c, "sanction-test", permits.SanctionTest{},
		"Sanctioned. Only the locks named come off, in their order.")
}

// testRecord takes what a test run showed.
func (s *Server) testRecord(c *gin.Context) error {
	return s.onPermit(c, "record-test", permits.RecordTest{Words: formOf(c).text("words")},
		"Recorded. See it stopped; then end the test.")
}

// testEnd ends a test run: what came off goes on again.
func (s *Server) testEnd(c *gin.Context) error {
	return s.onPermit(c, "end-test", permits.EndTest{Stopped: formOf(c).yes("stopped")},
		"The test is over. What came off goes on again by scan; then everything is proved anew.")
}

// permitHandBack takes the end of the work.
func (s *Server) permitHandBack(c *gin.Context) error {
	f := formOf(c)
	act := permits.HandBack{ToolsBack: f.count("tools_back", "The count of tools"), GuardsBack: f.yes("guards_back")}
	return s.onPermit(c, "hand-back", act, "Handed back. The locks come off now, the last first.")
}

// restoreStep takes the signature under what is done between two locks, on the permit's page or on the walk.
func (s *Server) restoreStep(c *gin.Context) error {
	id, err := permitID(c)
	if err != nil {
		return err
	}
	d := doing{form: "restore-step", permit: id, act: permits.RestoreStep{N: stepOf(c)},
		done: "Signed. The next is below.", then: screens.PermitPath(id), again: s.permitAgain}
	if onWalk(c) {
		d.then, d.again = screens.WalkPath(id), s.walkAgain
	}
	return s.do(c, d)
}

// stepLeaveOut takes the chief engineer's words for something between the locks that is not done.
func (s *Server) stepLeaveOut(c *gin.Context) error {
	return s.onPermit(c, "leave-out", permits.LeaveOut{N: stepOf(c), Words: formOf(c).text("words")},
		"Left out, with the reason in the log.")
}

// stepOf reads which step an address names; 0, which no permit has, for what is no number.
func stepOf(c *gin.Context) int {
	n, err := strconv.Atoi(c.Param("step"))
	if err != nil {
		return 0
	}
	return n
}

// effort reads who did something about an absent owner, and how.
func (f *form) effort(of string) permits.Effort {
	return permits.Effort{By: permits.PersonID(f.text(of + "_by")), How: f.text(of + "_how")}
}

// ownerRelease takes the chief engineer's release of an absent owner's locks.
func (s *Server) ownerRelease(c *gin.Context) error {
	f := formOf(c)
	act := permits.ReleaseOwner{Owner: permits.PersonID(f.text("owner")), Verified: f.yes("verified"),
		Tried: f.yes("tried"), WillTell: f.yes("will_tell"), Words: f.text("words"), Aboard: f.yes("aboard"),
		Absence: f.effort("absence"), Call: f.effort("call"), Telling: f.effort("telling")}
	if act.Verified && act.Tried && act.WillTell {
		act.Absence.At = f.clock("absence_at", "When it was verified", s.now())
		act.Call.At = f.clock("call_at", "When they were called", s.now())
	}
	return s.onPermit(c, "release", act, "Another may take those locks off now.")
}

// permitClose takes the chief engineer's signature that ends a permit.
func (s *Server) permitClose(c *gin.Context) error {
	f := formOf(c)
	act := permits.Close{Positions: f.yes("positions"), Told: f.yes("told"), Words: f.text("words")}
	return s.onPermit(c, "close", act, "Closed.")
}

// permitCancel stops a permit before its work is done.
func (s *Server) permitCancel(c *gin.Context) error {
	return s.onPermit(c, "cancel", permits.Cancel{Words: formOf(c).text("words"),
		ToolsBack: formOf(c).countOr("tools_back", 0), GuardsBack: formOf(c).yes("guards_back")},
		"Cancelled. Whatever hangs comes off in reverse order.")
}
