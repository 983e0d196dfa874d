package office

import (
	"bytes"
	"errors"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"stillwatch/permits/lookback"
	"stillwatch/permits/shore"
	"stillwatch/permits/shore/wire"
	"stillwatch/web/office/desk"
	"stillwatch/web/screens"
	"stillwatch/web/site"
)

const ctxPerson = "stillwatch.person"

// reader lets in whoever of the office is signed in; fleet only those who may see every ship.
var (
	reader = door{open: func(o *Server, c *gin.Context, r route) error { return o.letIn(c, r, false) },
		sayError: tellPerson}
	fleet = door{open: func(o *Server, c *gin.Context, r route) error { return o.letIn(c, r, true) },
		sayError: tellPerson}
	page = door{open: anybody.open, sayError: tellPerson}
)

func (o *Server) letIn(c *gin.Context, r route, whole bool) error {
	who, err := o.person(c)
	if err != nil {
		return err
	}
	if who.Name == "" {
		to := "/sign-in"
		if next := site.LocalPath(c.Request.URL.RequestURI()); next != "" && next != "/" {
			to += "?next=" + url.QueryEscape(next)
		}
		c.Redirect(http.StatusSeeOther, to)
		return nil
	}
	c.Set(ctxPerson, who)
	if whole && who.Ship != "" {
		return errOneShip
	}
	return r.handle(c)
}

func me(c *gin.Context) shore.Person {
	v, _ := c.Get(ctxPerson)
	who, _ := v.(shore.Person)
	return who
}

// What is told to a person, in words of tellPerson.
var (
	errOneShip  = errors.New("this person may see one ship")
	errNotThere = errors.New("there is no such page")
)

// tellPerson shows what went wrong.
func tellPerson(o *Server, c *gin.Context, err error) {
	status := http.StatusInternalServerError
	p := desk.NoticePage{Heading: "Something went wrong inside", Words: "Nothing was changed by it: the office only " +
		"reads.",
		Opens: "Try again. If it stays, tell whoever looks after the server ashore."}
	switch {
	case errors.Is(err, errOneShip):
		status = http.StatusForbidden
		p = desk.NoticePage{Heading: "Not for you", Words: "You may see one ship.", Opens: "Whoever looks after the " +
			"server ashore " +
			"can change that."}
	case errors.Is(err, errNotThere), errors.Is(err, shore.ErrNoShip):
		status = http.StatusNotFound
		p = desk.NoticePage{Heading: "Not found", Words: "There is no such page, or no such ship.", Opens: "Begin at the " +
			"first page."}
	default:
		o.log.Error("internal error", "err", err)
	}
	if c.Writer.Written() {
		return
	}
	p.Frame = o.frame(c, p.Heading, "")
	if err := o.render(c, status, "notice", p); err != nil {
		c.String(http.StatusInternalServerError, "Something went wrong inside.")
	}
}

const paletteCookie = "stillwatch-palette"

func (o *Server) frame(c *gin.Context, title, tab string) desk.Frame {
	who := me(c)
	f := desk.Frame{Title: title, Tab: tab, Path: c.Request.URL.RequestURI(), Me: who.Name, OneShip: who.Ship,
		Palette: screens.Palettes[0], Clock: o.now(), Version: o.cfg.Version}
	if k, err := c.Request.Cookie(paletteCookie); err == nil && slices.Contains(screens.Palettes, k.Value) {
		f.Palette = k.Value
	}
	if c.Request.Method != http.MethodGet {
		f.Path = "/"
	}
	return f
}

// render answers with a screen, which is all there before the first byte leaves.
func (o *Server) render(c *gin.Context, status int, screen string, p any) error {
	body, err := o.screens.Write(screen, p)
	if err != nil {
		return err
	}
	c.Data(status, "text/html; charset=utf-8", body)
	return nil
}

func (o *Server) csv(c *gin.Context, name string, head []string, rows [][]lookback.Cell) error {
	var b bytes.Buffer
	if err := lookback.WriteCSV(&b, head, rows); err != nil {
		return err
	}
	c.Header("Content-Disposition", `attachment; filename="`+name+`"`)
	c.Data(http.StatusOK, "text/csv; charset=utf-8", b.Bytes())
	return nil
}

func (o *Server) assetShow(c *gin.Context) error {
	if !o.assets.Answer(c.Writer, c.Request, c.Param("hash"), c.Param("name")) {
		return errNotThere
	}
	return nil
}

func (o *Server) notFound(*gin.Context) error { return errNotThere }

// first shows the fleet, or the one ship that somebody may see.
func (o *Server) first(c *gin.Context) error {
	if who := me(c); who.Ship != "" {
		ship, err := o.shore.Named(c.Request.Context(), who.Ship)
		if err != nil {
			return shore.ErrNoShip
		}
		return o.showShip(c, ship.ID)
	}
	ctx := c.Request.Context()
	ships, err := o.shore.Fleet(ctx)
	if err != nil {
		return err
	}
	alarms, err := o.shore.Alarms(ctx)
	if err != nil {
		return err
	}
	return o.render(c, http.StatusOK, "fleet_show", desk.NewFleetPage(o.frame(c, "Fleet", "fleet"), ships, alarms))
}

// may returns the ship of the address, if whoever asks may see it.
func (o *Server) may(c *gin.Context) (shore.Ship, error) {
	id, err := strconv.ParseInt(c.Param("id"), 10, 64)
	if err != nil {
		return shore.Ship{}, errNotThere
	}
	ship, err := o.shore.Numbered(c.Request.Context(), id)
	if who := me(c); err == nil && who.Ship != "" && who.Ship != ship.Name {
		err = errOneShip
	}
	return ship, err
}

func (o *Server) shipShow(c *gin.Context) error {
	ship, err := o.may(c)
	if err != nil {
		return err
	}
	return o.showShip(c, ship.ID)
}

func (o *Server) showShip(c *gin.Context, id int64) error {
	b, err := o.shore.Board(c.Request.Context(), id)
	if err != nil {
		return err
	}
	return o.render(c, http.StatusOK, "ship_show", desk.NewShipPage(o.frame(c, b.Name, "ship"), b))
}

// logExport sends the whole log of a ship, as it is read: it may be longer than memory.
func (o *Server) logExport(c *gin.Context) error {
	ship, err := o.may(c)
	if err != nil {
		return err
	}
	c.Header("Content-Disposition", `attachment; filename="`+screens.Slug(ship.Name)+`.jsonl"`)
	c.Header("Content-Type", "application/jsonl")
	return o.shore.Export(c.Request.Context(), ship.ID, c.Writer)
}

// figuresDays is for how long back figures are, if nothing else is asked for.
const figuresDays = 90

// asked reads what a page of figures is asked for.
func (o *Server) asked(c *gin.Context) (a desk.Asked, err error) {
	ctx := c.Request.Context()
	if a.Ships, err = o.shore.Fleet(ctx); err != nil {
		return a, err
	}
	if a.Plants, err = o.shore.Plants(ctx); err != nil {
		return a, err
	}
	a.Ask.Plant = screens.Shorten(strings.TrimSpace(c.Query("plant")), 200)
	a.Ask.Ship, _ = strconv.ParseInt(c.Query("ship"), 10, 64) // any ship, for what is no number
	from, to := dayOf(c.Query("from")), dayOf(c.Query("to"))
	a.Ask.To = to.AddDate(0, 0, 1)
	if to.IsZero() {
		a.Ask.To = o.now().UTC().Truncate(24*time.Hour).AddDate(0, 0, 1)
	}
	if a.Ask.From = from; from.IsZero() || !from.Before(a.Ask.To) {
		a.Ask.From = a.Ask.To.AddDate(0, 0, -figuresDays)
	}
	return a, nil
}

func dayOf(text string) time.Time {
	t, err := time.Parse(time.DateOnly, strings.TrimSpace(text))
	if err != nil {
		return time.Time{}
	}
	return t
}

func (o *Server) figures(c *gin.Context) (p desk.FiguresPage, err error) {
	ctx := c.Request.Context()
	a, err := o.asked(c)
	if err != nil {
		return p, err
	}
	f, err := o.shore.Figures(ctx, a.Ask)
	if err != nil {
		return p, err
	}
	late, err := o.shore.LateAudits(ctx, a.Ask)
	return desk.NewFiguresPage(o.frame(c, "Figures", "figures"), a, f, late), err
}

func (o *Server) figuresShow(c *gin.Context) error {
	p, err := o.figures(c)
	if err != nil {
		return err
	}
	return o.render(c, http.StatusOK, "figures_show", p)
}

// mostPassing bounds what the page of passing points lists.
const mostPassing = 300

func (o *Server) passing(c *gin.Context, most int) (p desk.PassingPage, err error) {
	ctx := c.Request.Context()
	a, err := o.asked(c)
	if err != nil {
		return p, err
	}
	groups, err := o.shore.PassingGroups(ctx, a.Ask)
	if err != nil {
		return p, err
	}
	now, err := o.shore.PassingNow(ctx, a.Ask, most)
	return desk.NewPassingPage(o.frame(c, "Passing valves", "passing"), a, groups, now), err
}

func (o *Server) passingShow(c *gin.Context) error {
	p, err := o.passing(c, mostPassing)
	if err != nil {
		return err
	}
	return o.render(c, http.StatusOK, "passing_list", p)
}

// formLimit is the most that a form of the office may have, in bytes.
const formLimit = 64 << 10

// readForm reads a posted form.
func readForm(c *gin.Context) (url.Values, error) {
	body, err := io.ReadAll(http.MaxBytesReader(c.Writer, c.Request.Body, formLimit))
	if err != nil {
		return nil, &shore.Refusal{Kind: wire.RefusedTorn, Words: "The form is too long."}
	}
	return url.ParseQuery(string(body))
}
