package web

import (
	"strings"

	"github.com/gin-gonic/gin"

	"stillwatch/permits"
	"stillwatch/web/screens"
)

// onWalk reports whether a form came from the walk and not from a tag's own page.
func onWalk(c *gin.Context) bool { return strings.Contains(c.FullPath(), "/walk") }

func (s *Server) walkShow(c *gin.Context) error { return s.walkAgain(c, screens.Back{}) }

// walkAgain shows the walk, with a form that was refused.
func (s *Server) walkAgain(c *gin.Context, b screens.Back) error {
	p, err := s.permitOf(c)
	if err != nil {
		return err
	}
	page := screens.ViewWalk(s.base(c, "Walk of permit "+screens.PermitNumber(p.ID()), "permits"), s.setting(me(c)), p)
	page.Back = b
	if len(page.Forms) > 0 {
		page.Forms[0].B.Back = b
	}
	return s.render(c, statusOfForm(b), "walk_show", page)
}

// nextOnWalk tells a script what is next on a permit for whoever is signed in.
func (s *Server) nextOnWalk(c *gin.Context, p permits.Permit) *screens.NextStep {
	for _, use := range permits.Walk(s.setting(me(c)), p) {
		return &screens.NextStep{N: use.Lock.Step.N, Barred: use.No != nil, Leave: use.Leave}
	}
	return nil
}
