package web

import (
	"net/http"

	"github.com/gin-gonic/gin"

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
	page := planShowPage{ID: p.ID(), State: p.State(), Work: p.Work(), Plan: planViewOf(p.Plan(), s.reg.Plant(), s.reg.Holdings(), p.ID())}
	page.base = s.base(c, "Plan of permit "+c.Param("id"), "permits")
	return s.render(c, http.StatusOK, "plan_show", page)
}
