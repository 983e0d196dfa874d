package web

import (
	"net/http"

	"stillwatch/web/screens"

	"github.com/gin-gonic/gin"
)

func (s *Server) boardShow(c *gin.Context) error {
	page := screens.BoardOf(s.setting(me(c)), s.reg.OpenPermits())
	page.Frame = s.base(c, "Board", "board")
	page.Live = true
	page.Notices = s.reg.Notices(c.Request.Context())
	page.NoPlant = s.reg.Plant() == nil
	page.Hang = screens.HangLines(s.reg.Held(), s.reg.Plant())
	ship := s.reg.Ship()
	page.Alarms = screens.BoardAlarms(s.setting(me(c)), s.reg.OpenPermits())
	for _, point := range ship.PassingPoints() {
		page.Passing = append(page.Passing, screens.PassingLine{Point: point, Words: ship.Passing[point]})
	}
	return s.render(c, http.StatusOK, "board_show", page)
}
