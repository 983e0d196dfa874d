package web

import (
	"net/http"
	"strconv"
	"time"

	"github.com/gin-gonic/gin"

	"stillwatch/permits"
	"stillwatch/permits/register"
)

// permitsListPage lists permits, closed ones too.
type permitsListPage struct {
	base
	Lines  []register.PermitLine
	States []permits.State
	State  string
	Text   string
	Older  string // address of the page before this one
	Now    time.Time
}

const listPage = 50

func (s *Server) permitsList(c *gin.Context) error {
	page := permitsListPage{base: s.base(c, "Permits", "permits"), States: permits.States(), State: c.Query("state"),
		Text: shorten(c.Query("text"), 80), Now: s.now()}
	q := register.PermitQuery{Text: page.Text, Limit: listPage}
	if st, ok := permits.ParseState(page.State); ok {
		q.States = []permits.State{st}
	}
	q.Open = page.State == "open"
	if n, err := strconv.ParseInt(c.Query("before"), 10, 64); err == nil {
		q.Before = permits.PermitID(n)
	}
	lines, err := s.reg.Permits(c.Request.Context(), q)
	if err != nil {
		return err
	}
	page.Lines = lines
	if len(lines) == listPage {
		next := c.Request.URL.Query()
		next.Set("before", strconv.FormatInt(int64(lines[len(lines)-1].ID), 10))
		page.Older = "/permits?" + next.Encode()
	}
	return s.render(c, http.StatusOK, "permits_list", page)
}
