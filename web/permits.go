package web

import (
	"net/http"
	"strconv"
	"time"

	"github.com/gin-gonic/gin"

	"stillwatch/permits"
	"stillwatch/permits/oilrecord"
	"stillwatch/permits/register"
	"stillwatch/web/screens"
)

const listPage = 50

func (s *Server) permitsList(c *gin.Context) error {
	f, q := s.permitFilter(c)
	page := screens.PermitsPage{Frame: s.base(c, "Permits", "permits"), PermitFilter: f, States: permits.States(),
		Kinds: screens.PermitKinds(), Now: s.now()}
	if plant := s.reg.Plant(); plant != nil {
		page.Machines = plant.Machines
	}
	if n, err := strconv.ParseInt(c.Query("before"), 10, 64); err == nil {
		q.Before = permits.PermitID(n)
	}
	q.Limit = listPage
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

// historyMost is how many entries the permit's page shows.
const historyMost = 200

// permitID reads the permit's number from the address.
func permitID(c *gin.Context) (permits.PermitID, error) {
	n, err := strconv.ParseInt(c.Param("id"), 10, 64)
	if err != nil || n < 1 {
		return 0, notThere("There is no permit "+screens.Shorten(c.Param("id"), 20)+".", "Permits have numbers: 1, 2, 3 …")
	}
	return permits.PermitID(n), nil
}

// permitOf returns the permit that the address names.
func (s *Server) permitOf(c *gin.Context) (permits.Permit, error) {
	id, err := permitID(c)
	if err != nil {
		return permits.Permit{}, err
	}
	return s.reg.Permit(c.Request.Context(), id)
}

func (s *Server) permitShow(c *gin.Context) error { return s.permitAgain(c, screens.Back{}) }

// permitAgain shows the permit's page, with a form that was refused.
func (s *Server) permitAgain(c *gin.Context, b screens.Back) error {
	p, err := s.permitOf(c)
	if err != nil {
		return err
	}
	entries, err := s.reg.Entries(c.Request.Context(), register.EntryQuery{Permit: p.ID(), Limit: historyMost})
	if err != nil {
		return err
	}
	page := screens.PermitPage{Frame: s.base(c, "Permit "+strconv.FormatInt(int64(p.ID()), 10), "permits"),
		Older: len(entries) == historyMost}
	page.Back, page.Live = b, true
	page.Path = screens.PermitPath(p.ID())
	page.PermitView = screens.ViewPermit(s.setting(page.Me), p)
	drained, err := s.reg.Entries(c.Request.Context(), register.EntryQuery{Permit: p.ID(), Kind: permits.KindRecordDrain,
		After: before(0), Limit: entriesMost})
	if err != nil {
		return err
	}
	if page.Measured, err = s.readingsOf(c.Request.Context(), p.ID()); err != nil {
		return err
	}
	page.Oil = oilrecord.Drafts(oilrecord.Totals(p.ID(), p.EverDrained(), drained), time.Local)
	if page.Can(string(permits.KindAskTest)) {
		page.Tests = screens.TestViews(s.setting(page.Me), p, s.lifts(p))
	}
	tell := s.teller(c.Request.Context())
	for _, e := range entries {
		page.History = append(page.History, tell.Line(e))
	}
	return s.render(c, statusOfForm(b), "permit_show", page)
}
