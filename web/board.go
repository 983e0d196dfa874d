package web

import (
	"stillwatch/permits"
	"stillwatch/web/screens"

	"github.com/gin-gonic/gin"
)

func (s *Server) boardShow(c *gin.Context) error { return s.boardAgain(c, screens.Back{}) }

// clockRight takes the signature that the clock, which had run ahead, is right now.
func (s *Server) clockRight(c *gin.Context) error {
	return s.do(c, doing{form: "clock", act: permits.PutClockRight{Words: formOf(c).text("words")}, then: "/",
		again: s.boardAgain, done: "Recorded. Permits with an entry of the false time are proved anew."})
}

// boardAgain shows the board, with a form that was refused.
func (s *Server) boardAgain(c *gin.Context, b screens.Back) error {
	page := screens.BoardOf(s.setting(me(c)), s.reg.OpenPermits())
	page.Frame = s.base(c, "Board", "board")
	page.Live, page.Back = true, b
	page.Notices = s.reg.Notices(c.Request.Context())
	page.NoPlant = s.reg.Plant() == nil
	page.Hang = screens.HangLines(s.reg.Held(), s.reg.Plant())
	ship := s.reg.Ship()
	page.Alarms = screens.BoardAlarms(s.setting(me(c)), s.reg.OpenPermits())
	for _, point := range ship.PassingPoints() {
		page.Passing = append(page.Passing, screens.PassingLine{Point: point, Words: ship.Passing[point]})
	}
	return s.render(c, statusOfForm(b), "board_show", page)
}
