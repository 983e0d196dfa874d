package web

import (
	"errors"
	"net/url"

	"github.com/gin-gonic/gin"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// permitRequestPage chooses machine and job, shows the plan at once, and requests a permit by it.
type permitRequestPage struct {
	base
	Machines []machineJobs
	Job      string // chosen; "": none yet
	Plan     *planView
	Hash     string // of the plan that is shown
	NoPlant  bool
	Fault    string // why there is no plan, in a sentence
	May      bool   // whoever reads this may request
}

// machineJobs is one machine with the jobs that the plant file names for it.
type machineJobs struct {
	ID, Name string
	Jobs     []isolation.Job
	Open     bool
}

func (s *Server) permitRequestShow(c *gin.Context) error {
	return s.permitRequestAgain(c, c.Query("job"), back{})
}

func (s *Server) permitRequestAgain(c *gin.Context, job string, b back) error {
	page := permitRequestPage{base: s.base(c, "New permit", "new"), Job: job}
	page.back = b
	page.May = page.Me.Has(permits.KindRequest.Roles()...)
	plant := s.reg.Plant()
	if page.NoPlant = plant == nil; page.NoPlant {
		return s.render(c, b.status(), "permit_request", page)
	}
	page.Machines = jobsByMachine(plant, job)
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
			v := planViewOf(made.Plan, plant, s.reg.Held(), 0)
			v.Brief = true
			v.why = func(point isolation.NodeID) string {
				return jobPath(job) + "&why=" + url.QueryEscape(string(point)) + "#why"
			}
			v.Why = s.why(c, job, job, "/permits/new")
			page.Plan, page.Hash = &v, made.Hash
		}
	}
	return s.render(c, b.status(), "permit_request", page)
}

// jobsByMachine returns every machine that has jobs, in the plant file's order; jobs of no machine come last.
func jobsByMachine(plant *isolation.Plant, chosen string) []machineJobs {
	var out []machineJobs
	add := func(id, name string) {
		m := machineJobs{ID: id, Name: name}
		for _, j := range plant.Jobs {
			if j.Machine == id {
				m.Jobs = append(m.Jobs, j)
				m.Open = m.Open || j.ID == chosen
			}
		}
		if len(m.Jobs) > 0 {
			out = append(out, m)
		}
	}
	for _, m := range plant.Machines {
		add(m.ID, m.Name)
	}
	add("", "Other work")
	return out
}

func (s *Server) permitRequest(c *gin.Context) error {
	f := formOf(c)
	job := f.text("job")
	again := func(c *gin.Context, b back) error { return s.permitRequestAgain(c, job, b) }
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

// jobPath returns the address at which a job's plan is shown.
func jobPath(job string) string { return "/permits/new?job=" + url.QueryEscape(job) }
