package web

import (
	"net/http"
	"net/url"

	"github.com/gin-gonic/gin"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// planShowPage is the plan of a permit, to be read before it is authorised and while it is fitted.
type planShowPage struct {
	base
	Plan  planView
	ID    permits.PermitID
	State permits.State
	Work  string
}

func (s *Server) planShow(c *gin.Context) error {
	p, err := s.permitOf(c)
	if err != nil {
		return err
	}
	page := planShowPage{ID: p.ID(), State: p.State(), Work: p.Work(),
		Plan: planViewOf(p.Plan(), s.reg.Plant(), s.reg.Held(), p.ID())}
	page.base = s.base(c, "Plan of permit "+c.Param("id"), "permits")
	if !page.Plan.Other { // only the plant that the plan was made from can say why
		page.Plan.why = func(point isolation.NodeID) string {
			return permitPath(p.ID()) + "/plan?why=" + url.QueryEscape(string(point)) + "#why"
		}
		page.Plan.Why = s.why(c, p.Plan().Job, "", permitPath(p.ID())+"/plan")
	}
	return s.render(c, http.StatusOK, "plan_show", page)
}
