package web

import (
	"errors"
	"net/url"

	"github.com/gin-gonic/gin"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/web/screens"
)

func (s *Server) permitRequestShow(c *gin.Context) error {
	return s.permitRequestAgain(c, c.Query("job"), screens.Back{})
}

func (s *Server) permitRequestAgain(c *gin.Context, job string, b screens.Back) error {
	page := screens.RequestPage{Frame: s.base(c, "New permit", "new"), Job: job}
	page.Back = b
	page.May = page.Me.Has(permits.KindRequest.Roles()...)
	plant := s.reg.Plant()
	if page.NoPlant = plant == nil; page.NoPlant {
		return s.render(c, statusOfForm(b), "permit_request", page)
	}
	page.Machines = screens.JobsByMachine(plant, job)
	if job != "" {
		made, err := s.makePlan(job)
		var no *permits.Refusal
		switch {
		case errors.As(err, &no):
			page.Fault = no.What
		case err != nil:
			page.Fault = err.Error() // a sentence for people: the job, the source, the rule that is missing
			s.log.Warn("no plan", "request", c.GetString(ctxRequest), "job", job, "err", err)
		default:
			v := screens.PlanViewOf(made.Plan, plant, s.reg.Held(), 0)
			v.Brief = true
			v.HrefOf = func(point isolation.NodeID) string {
				return screens.JobPath(job) + "&why=" + url.QueryEscape(string(point)) + "#why"
			}
			v.Why = s.why(c, job, job, "/permits/new")
			page.Plan, page.Hash = &v, made.Hash
		}
	}
	return s.render(c, statusOfForm(b), "permit_request", page)
}

func (s *Server) permitRequest(c *gin.Context) error {
	f := formOf(c)
	job := f.text("job")
	again := func(c *gin.Context, b screens.Back) error { return s.permitRequestAgain(c, job, b) }
	if job == "" {
		f.wrong("job", "No job was chosen.")
		return again(c, refusedForm("request", f, f.fault))
	}
	made, err := s.makePlan(job)
	var no *permits.Refusal
	if errors.As(err, &no) {
		return again(c, refusedForm("request", f, no))
	}
	if err != nil {
		return again(c, refusedForm("request", f, &permits.Refusal{Kind: permits.Refused, Gate: "request",
			What:  "There is no plan for this job: " + err.Error() + ".",
			Opens: "The plant file or the rules must be mended first."}))
	}
	if shown := f.text("plan"); shown != "" && shown != made.Hash {
		return again(c, refusedForm("request", f, &permits.Refusal{Kind: permits.Conflict, Gate: "request",
			What:  "The plan is another one now than the one that was shown: a file in force or a passing point has changed.",
			Opens: "Read the plan below, then request it."}))
	}
	if !made.Plan.Feasible {
		return again(c, refusedForm("request", f, &permits.Refusal{Kind: permits.Refused, Gate: "request",
			What:  "There is no isolation for this job: " + made.Plan.Words,
			Opens: "Another way of doing the job, or a further isolation point, is needed."}))
	}
	return s.do(c, doing{form: "request", act: permits.Request{Plan: made.Proved, Work: f.text("work")}, again: again,
		done: "Requested. The officer of the watch authorises it next."})
}
