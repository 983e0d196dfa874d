package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"sync"

	"github.com/gin-gonic/gin"

	"stillwatch/isolation"
	"stillwatch/isolation/planner"
	"stillwatch/isolation/proved"
	"stillwatch/permits"
	"stillwatch/web/screens"
)

// plansKept is how many plans are kept that were computed and proved, so that showing one and requesting it does not
// compute it twice.
const plansKept = 64

// makePlan computes and proves the plan of a job as things stand now.
func (s *Server) makePlan(job string) (proved.Plan, error) {
	plant, rules := s.reg.Plant(), s.reg.Rules()
	if plant == nil || rules == nil {
		return proved.Plan{}, notThere("No plant file is in force, so no plan can be made.",
			"The chief engineer puts one in force on the plant page.")
	}
	if plant.Job(job) == nil {
		return proved.Plan{}, notThere("The plant file in force has no job "+screens.Shorten(job, 40)+".",
			"Choose one of the list.")
	}
	facts := permits.CircumstancesOf(s.reg.Ship(), s.reg.Held(), 0)
	key := strings.Join([]string{plant.SHA256, rules.SHA256, job, fmt.Sprint(facts)}, "\x00")
	return s.plans.get(key, func() (proved.Plan, error) { return proved.Make(plant, rules, job, facts) })
}

func (s *Server) planShow(c *gin.Context) error {
	p, err := s.permitOf(c)
	if err != nil {
		return err
	}
	page := screens.PlanPage{ID: p.ID(), State: p.State(), Work: p.Work(),
		Plan: screens.PlanViewOf(p.Plan(), s.reg.Plant(), s.reg.Held(), p.ID()), Former: screens.FormerPlans(p)}
	page.Frame = s.base(c, "Plan of permit "+c.Param("id"), "permits")
	if !page.Plan.Other && p.Plan().Change == nil { // only the job and the plant that it was made for can say why
		page.Plan.HrefOf = func(point isolation.NodeID) string {
			return screens.PermitPath(p.ID()) + "/plan?why=" + url.QueryEscape(string(point)) + "#why"
		}
		page.Plan.Why = s.why(c, p.Plan().Job, "", screens.PermitPath(p.ID())+"/plan")
	}
	return s.render(c, http.StatusOK, "plan_show", page)
}

// why reads the question from the address and answers it for a job by the plant and the rules in force.
func (s *Server) why(c *gin.Context, job, field, action string) *screens.WhyAnswer {
	plant, rules := s.reg.Plant(), s.reg.Rules()
	w := &screens.WhyAnswer{Action: action, Job: field, Point: isolation.NodeID(screens.Shorten(c.Query("why"), 60))}
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

// madeOnce keeps what is costly to make under a key that names everything it depends on, so that what is kept is never
// stale. When it is full all goes.
type madeOnce[K comparable, V any] struct {
	room int
	mu   sync.Mutex
	kept map[K]V
}

// get returns what is kept under a key, or makes and keeps it. What could not be made is not kept.
func (s *madeOnce[K, V]) get(key K, making func() (V, error)) (V, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if v, ok := s.kept[key]; ok {
		return v, nil
	}
	v, err := making()
	if err != nil {
		return v, err
	}
	if s.kept == nil || len(s.kept) >= s.room {
		s.kept = map[K]V{}
	}
	s.kept[key] = v
	return v, nil
}
