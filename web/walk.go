package web

import (
	"strconv"
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

// looksAgain shows the second person's walk, with a form that was refused.
func (s *Server) looksAgain(c *gin.Context, b screens.Back) error {
	p, err := s.permitOf(c)
	if err != nil {
		return err
	}
	page := screens.ViewLooks(s.base(c, "Second person's walk of permit "+screens.PermitNumber(p.ID()), "permits"),
		s.setting(me(c)), p)
	page.Back = b
	if len(page.Forms) > 0 {
		page.Forms[0].B.Back = b
	}
	return s.render(c, statusOfForm(b), "walk_show", page)
}

func (s *Server) looksShow(c *gin.Context) error { return s.looksAgain(c, screens.Back{}) }

// looksSign takes the one signature under the looks that were made.
func (s *Server) looksSign(c *gin.Context) error {
	p, err := s.permitOf(c)
	if err != nil {
		return err
	}
	f := formOf(c)
	var act permits.SignLooks
	for _, text := range f.Values["step"] {
		n, err := strconv.Atoi(text)
		if err != nil {
			f.wrong("step", "The list of what was seen makes no sense.")
		}
		act.Steps = append(act.Steps, n)
	}
	return s.do(c, doing{form: "looks", permit: p.ID(), act: act, again: s.looksAgain,
		done: "Signed: " + screens.Plural(len(act.Steps), "point was", "points were") + " seen right."})
}

// nextLook tells a script what is to be looked at next by whoever is signed in.
func (s *Server) nextLook(c *gin.Context, p permits.Permit) *screens.NextStep {
	for _, use := range permits.Looks(s.setting(me(c)), p) {
		return &screens.NextStep{N: use.Lock.Step.N}
	}
	return nil
}

// nextOnWalk tells a script what is next on a permit for whoever is signed in.
func (s *Server) nextOnWalk(c *gin.Context, p permits.Permit) *screens.NextStep {
	for _, use := range permits.Walk(s.setting(me(c)), p) {
		return &screens.NextStep{N: use.Lock.Step.N, Barred: use.No != nil, Leave: use.Leave}
	}
	return nil
}
