package web

import (
	"bytes"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/lookback"
	"stillwatch/permits/paper"
	"stillwatch/permits/register"
	"stillwatch/web/screens"
	"stillwatch/web/sheets"
)

// How much one export takes: a spreadsheet of permits or entries, and a paper of them.
const (
	csvMost     = 5000
	printMost   = 500
	refusedMost = 20_000
)

// csv answers with a table for a spreadsheet. It is all there before the first byte leaves.
func (s *Server) csv(c *gin.Context, name string, t sheets.Table) error {
	var b bytes.Buffer
	if err := lookback.WriteCSV(&b, t.Head, t.Rows); err != nil {
		return err
	}
	c.Header("Content-Disposition", `attachment; filename="`+name+`"`)
	c.Data(http.StatusOK, "text/csv; charset=utf-8", b.Bytes())
	return nil
}

// report prints tables.
func (s *Server) report(c *gin.Context, name, title string, facts []paper.Fact, parts ...paper.ReportPart) error {
	r := paper.Report{Stamp: s.stamp(c), Title: title, Facts: facts, Parts: parts}
	return s.print(c, name, func(w io.Writer) error { return paper.WriteReport(w, r) })
}

// dayOf reads a day of the ship as a page's field has it; the zero time for none.
func dayOf(text string) time.Time {
	t, err := time.ParseInLocation(time.DateOnly, strings.TrimSpace(text), time.Local)
	if err != nil {
		return time.Time{}
	}
	return t
}

// permitFilter reads what a list of permits is asked for.
func (s *Server) permitFilter(c *gin.Context) (f screens.PermitFilter, q register.PermitQuery) {
	ask := func(field string) string { return screens.Shorten(strings.TrimSpace(c.Query(field)), 80) }
	f = screens.PermitFilter{Text: ask("text"), State: ask("state"), Machine: ask("machine"), Point: ask("point"),
		Person: ask("person"), Kind: ask("kind"), From: ask("from"), To: ask("to"), Overdue: c.Query("overdue") == "yes"}
	q = register.PermitQuery{Text: f.Text, Machine: f.Machine, Point: isolation.NodeID(f.Point), Kind: f.Kind,
		Person: permits.PersonID(f.Person), Open: f.State == "open", From: dayOf(f.From)}
	if id, ok := pointTyped(s.reg.Plant(), f.Point); ok {
		q.Point = id
	}
	if to := dayOf(f.To); !to.IsZero() {
		q.To = to.AddDate(0, 0, 1) // that day too
	}
	if st, ok := permits.ParseState(f.State); ok {
		q.States = []permits.State{st}
	}
	if f.Overdue {
		q.Overdue = s.now()
	}
	query := url.Values{}
	for field, value := range map[string]string{"text": f.Text, "state": f.State, "machine": f.Machine, "point": f.Point,
		"person": f.Person, "kind": f.Kind, "from": f.From, "to": f.To, "overdue": screens.Choose(f.Overdue, "yes", "")} {
		if value != "" {
			query.Set(field, value)
		}
	}
	f.Query = query.Encode()
	return f, q
}

// permitsExport reads the permits of a filter for an export, newest first.
func (s *Server) permitsExport(c *gin.Context, most int) (sheets.Table, screens.PermitFilter, error) {
	f, q := s.permitFilter(c)
	q.Limit = most
	lines, err := s.reg.Permits(c.Request.Context(), q)
	return sheets.Permits(lines, s.teller(c.Request.Context()).Name), f, err
}

func (s *Server) permitsCSV(c *gin.Context) error {
	t, _, err := s.permitsExport(c, csvMost)
	if err != nil {
		return err
	}
	return s.csv(c, "permits.csv", t)
}

func (s *Server) permitsPrint(c *gin.Context) error {
	t, f, err := s.permitsExport(c, printMost)
	if err != nil {
		return err
	}
	return s.report(c, "permits.pdf", "PERMITS", []paper.Fact{{Label: "Asked for", Text: f.Words(s.teller(
		c.Request.Context()).Name)}, sheets.CountFact(len(t.Rows), printMost)}, t.Part)
}

// historyLines puts entries into lines.
func (s *Server) historyLines(c *gin.Context, entries []permits.Entry) []screens.EntryLine {
	tell := s.teller(c.Request.Context())
	out := make([]screens.EntryLine, len(entries))
	for i, e := range entries {
		out[i] = tell.Line(e)
	}
	return out
}

// exportHistory answers with entries, as a table or on paper.
func (s *Server) exportHistory(c *gin.Context, of string, onPaper bool, read func(most int) ([]permits.Entry,
	error)) error {
	most := csvMost
	if onPaper {
		most = printMost
	}
	entries, err := read(most)
	if err != nil {
		return err
	}
	t := sheets.History(s.historyLines(c, entries))
	if !onPaper {
		return s.csv(c, "history-"+screens.Slug(of)+".csv", t)
	}
	return s.report(c, "history-"+screens.Slug(of)+".pdf", "HISTORY", []paper.Fact{{Label: "Of", Text: of},
		sheets.CountFact(len(entries), most)}, t.Part)
}

func (s *Server) pointCSV(c *gin.Context) error   { return s.pointHistory(c, false) }
func (s *Server) pointPrint(c *gin.Context) error { return s.pointHistory(c, true) }

// pointHistory exports the entries about a point, also of one that the plant file in force has no more.
func (s *Server) pointHistory(c *gin.Context, onPaper bool) error {
	id := isolation.NodeID(c.Param("id"))
	return s.exportHistory(c, string(id), onPaper, func(most int) (out []permits.Entry, err error) {
		q := register.EntryQuery{Point: id, Limit: 1000}
		for len(out) < most {
			some, err := s.reg.Entries(c.Request.Context(), q)
			if err != nil {
				return nil, err
			}
			if out = append(out, some...); len(some) < q.Limit {
				break
			}
			q.Before = some[len(some)-1].N
		}
		return out[:min(len(out), most)], nil
	})
}

func (s *Server) machineCSV(c *gin.Context) error   { return s.machineHistory(c, false) }
func (s *Server) machinePrint(c *gin.Context) error { return s.machineHistory(c, true) }

func (s *Server) machineHistory(c *gin.Context, onPaper bool) error {
	id := c.Param("id")
	return s.exportHistory(c, id, onPaper, func(most int) ([]permits.Entry, error) {
		return s.reg.EntriesOfMachine(c.Request.Context(), id, 0, most)
	})
}

// On a machine's page: how many permits and entries it shows, and of how many permits it takes the points.
const (
	machinePermits = 20
	machineEntries = 50
	machinePlans   = 5
)

// machineShow shows what was done to a machine. One that the plant file in force has no more is shown by its permits.
func (s *Server) machineShow(c *gin.Context) error {
	ctx, id := c.Request.Context(), c.Param("id")
	lines, err := s.reg.Permits(ctx, register.PermitQuery{Machine: id, Limit: machinePermits})
	if err != nil {
		return err
	}
	entries, err := s.reg.EntriesOfMachine(ctx, id, 0, machineEntries)
	if err != nil {
		return err
	}
	name := id
	if plant := s.reg.Plant(); plant != nil && plant.Machine(id) != nil {
		name = plant.Machine(id).Name
	} else if len(lines) == 0 {
		return notThere("The plant file in force has no machine "+screens.Shorten(id, 40)+".",
			"The filter of the permits lists the machines.")
	} else {
		name = lines[0].MachineName
	}
	page := screens.MachinePage{Frame: s.base(c, name, "permits"), ID: id, Machine: name, Lines: lines,
		More: len(lines) == machinePermits, History: s.historyLines(c, entries)}
	page.Live = true
	var points []isolation.NodeID
	for _, l := range lines[:min(len(lines), machinePlans)] {
		p, err := s.reg.PermitAsAuthorised(ctx, l.ID)
		if err != nil {
			return err
		}
		for _, st := range p.Plan().Steps {
			if !slices.Contains(points, st.Point) {
				points = append(points, st.Point)
			}
		}
	}
	page.Points = screens.MachinePoints(s.setting(page.Me), points)
	return s.render(c, http.StatusOK, "machine_show", page)
}

// figuresDays is for how long back the figures are, if nothing else is asked for.
const figuresDays = 365

// figures reads what the figures of the time are made of that the address asks for.
func (s *Server) figures(c *gin.Context) (f lookback.Figures, page screens.FiguresPage, err error) {
	ctx, now := c.Request.Context(), s.now()
	from, to := dayOf(c.Query("from")), dayOf(c.Query("to"))
	if to.IsZero() {
		to = now
	} else {
		to = to.AddDate(0, 0, 1)
	}
	if from.IsZero() || !from.Before(to) {
		from = to.AddDate(0, 0, -figuresDays)
	}
	a := lookback.Asked{From: from, To: to, Zone: time.Local, Setting: s.setting(me(c))}
	if a.Lives, err = s.reg.Lives(ctx, from, to); err != nil {
		return f, page, err
	}
	for _, read := range []struct {
		into *[]permits.Entry
		kind permits.Kind
		from time.Time
	}{{&a.Refused, permits.KindRefusedAct, from}, {&a.Passing, permits.KindRecordPassing, from},
		{&a.Repaired, permits.KindRecordRepair, from}, {&a.Audits, permits.KindSignAudit, from.AddDate(0, 0, -60)}} {
		if *read.into, err = s.reg.EntriesBetween(ctx, read.kind, read.from, to, refusedMost); err != nil {
			return f, page, err
		}
	}
	f = a.Figures()
	last := to.Add(-time.Second)
	page = screens.FiguresPage{Frame: s.base(c, "Figures", "permits"), Figures: f,
		From: from.Local().Format(time.DateOnly), To: last.Local().Format(time.DateOnly), Most: len(a.Refused) == refusedMost}
	page.Parts = screens.FigureParts(f, page.Name)
	page.Query = url.Values{"from": {page.From}, "to": {page.To}}.Encode()
	return f, page, nil
}

func (s *Server) figuresShow(c *gin.Context) error {
	_, page, err := s.figures(c)
	if err != nil {
		return err
	}
	return s.render(c, http.StatusOK, "figures_show", page)
}

func (s *Server) figuresCSV(c *gin.Context) error {
	_, page, err := s.figures(c)
	if err != nil {
		return err
	}
	return s.csv(c, "figures.csv", sheets.Figures(page.Parts))
}

func (s *Server) figuresPrint(c *gin.Context) error {
	f, page, err := s.figures(c)
	if err != nil {
		return err
	}
	return s.report(c, "figures.pdf", "FIGURES", []paper.Fact{sheets.Period(f.From, f.To)},
		sheets.FigureParts(page.Parts)...)
}
