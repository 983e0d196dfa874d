package web

import (
	"github.com/gin-gonic/gin"

	"stillwatch/isolation"
	"stillwatch/isolation/planner"
	"stillwatch/permits"
)

// whyAnswer is the form that asks why a point is in a plan, or why it is not, and the answer. Each answer is computed
// by making the plan again with that point forbidden, or free.
type whyAnswer struct {
	Action string // of the form, which is sent by GET
	Job    string // hidden field of the form; "": the address says it
	Point  isolation.NodeID
	Words  string
	Fault  bool // there is no answer; Words say why
	Points []*isolation.Node
}

// why reads the question from the address and answers it for a job by the plant and the rules in force.
func (s *Server) why(c *gin.Context, job, field, action string) *whyAnswer {
	plant, rules := s.reg.Plant(), s.reg.Rules()
	w := &whyAnswer{Action: action, Job: field, Point: isolation.NodeID(shorten(c.Query("why"), 60))}
	if plant == nil || rules == nil {
		return nil
	}
	w.Points = plant.Points()
	if w.Point == "" {
		return w
	}
	words, err := planner.Why(plant, rules, job, permits.CircumstancesOf(s.reg.Ship(), s.reg.Held(), 0), w.Point)
	if w.Words = words; err != nil {
		w.Words, w.Fault = err.Error(), true
	}
	return w
}

// WhyHref returns the address at which the plan says why a point is in it; "" where nothing can say.
func (v planView) WhyHref(point isolation.NodeID) string {
	if v.why == nil {
		return ""
	}
	return v.why(point)
}
