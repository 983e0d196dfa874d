package web

import (
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/register"
	"stillwatch/web/screens"
)

// waysOfReading are the ways in which a code can have come to the page.
var waysOfReading = []string{"camera", "photo", "phone", "typed"}

func (s *Server) tagOpen(c *gin.Context) error { return s.tagAgain(c, c.Param("code"), screens.Back{}) }

// tagFind takes a code that was typed into the field in the head of every page.
func (s *Server) tagFind(c *gin.Context) error {
	typed := codeTyped(c.Query("code"))
	if code, err := permits.ParseTagCode(typed); err == nil {
		c.Redirect(http.StatusSeeOther, screens.TagPath(code.Text())+"?how=typed")
		return nil
	}
	if id, ok := pointTyped(s.reg.Plant(), typed); ok {
		c.Redirect(http.StatusSeeOther, "/points/"+url.PathEscape(string(id)))
		return nil
	}
	return s.tagAgain(c, typed, screens.Back{})
}

// codeTyped returns what may be a code of what somebody typed, pasted or scanned: of a whole address the last part.
func codeTyped(typed string) string {
	typed = strings.TrimSpace(typed)
	if i := strings.LastIndex(strings.ToUpper(typed), "/T/"); i >= 0 {
		typed = typed[i+len("/T/"):]
	}
	return typed
}

// pointTyped returns the point whose id was typed, in whichever case.
func pointTyped(plant *isolation.Plant, typed string) (isolation.NodeID, bool) {
	if plant == nil {
		return "", false
	}
	for _, n := range plant.Points() {
		if strings.EqualFold(string(n.ID), typed) {
			return n.ID, true
		}
	}
	return "", false
}

// tagAgain shows what a code stands for, with a form that was refused.
func (s *Server) tagAgain(c *gin.Context, typed string, b screens.Back) error {
	page := screens.TagPage{Frame: s.base(c, "Tag", ""), How: "phone"}
	page.Back, page.Path = b, screens.TagPath(typed)
	if how := c.Query("how"); slices.Contains(waysOfReading, how) {
		page.How = how
	} else if how := b.Values.Get("how"); slices.Contains(waysOfReading, how) {
		page.How = how
	}
	page.Path += "?how=" + page.How
	tag, code, err := s.tagOf(c, typed)
	var no *permits.Refusal
	if errors.As(err, &no) {
		page.Unknown, page.Try, page.Sought = no.What, no.Opens, screens.Shorten(typed, 40)
		return s.render(c, statusOf(no, no), "tag_open", page)
	}
	if err != nil {
		return err
	}
	switch tag.Kind {
	case register.PointLabel:
		s.rememberLabel(c, code, tag.Point)
		return s.pointAgain(c, tag.Point, true, b)
	case register.VoidLabel:
		page.Unknown, page.Try = "This label of "+string(tag.Point)+" is void: a newer one was issued for the point.",
			"Take it down and scan the newer one."
		return s.render(c, http.StatusGone, "tag_open", page)
	}
	p, err := s.reg.Permit(c.Request.Context(), tag.Permit)
	if err != nil {
		return err
	}
	page.Code, page.Live = code.Text(), true
	if read, ok := s.label(c); ok {
		read = screens.LabelFor(p, read)
		page.Label = &read
	}
	page.TagView = screens.ViewTag(s.setting(page.Me), p, tag.Step)
	if page.TagView.ShowsReadings() {
		if page.Measured, err = s.readingsOf(c.Request.Context(), p.ID()); err != nil {
			return err
		}
	}
	page.Title = "Tag " + strconv.Itoa(tag.Step) + " of permit " + strconv.FormatInt(int64(tag.Permit), 10)
	return s.render(c, statusOfForm(b), "tag_open", page)
}

// tagOf reads a code and looks it up.
func (s *Server) tagOf(c *gin.Context, typed string) (register.Tag, permits.TagCode, error) {
	code, err := permits.ParseTagCode(typed)
	if err != nil {
		return register.Tag{}, permits.TagCode{}, err
	}
	tag, err := s.reg.FindTag(c.Request.Context(), code)
	return tag, code, err
}
