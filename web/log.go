package web

import (
	"bytes"
	"context"
	"encoding/json"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/register"
	"stillwatch/web/screens"
)

const logPage = 100

func (s *Server) logShow(c *gin.Context) error {
	page := screens.LogPage{Frame: s.base(c, "Log", "log"), Kinds: permits.Kinds(), Full: s.reg.Head()}
	page.Live = c.Query("before") == ""
	page.Filter = screens.LogFilter{Kind: c.Query("kind"), Permit: strings.TrimSpace(c.Query("permit")),
		Point:  strings.TrimSpace(c.Query("point")),
		Person: c.Query("person")}
	q := register.EntryQuery{Kind: permits.Kind(page.Filter.Kind), Point: isolation.NodeID(page.Filter.Point),
		Person: permits.PersonID(page.Filter.Person), Limit: logPage}
	if n, err := strconv.ParseInt(page.Filter.Permit, 10, 64); err == nil {
		q.Permit = permits.PermitID(n)
	}
	if n, err := strconv.ParseInt(c.Query("before"), 10, 64); err == nil && n > 0 {
		q.Before = n
	}
	page.SignIns = c.Query("signins") == "yes" || q.Kind != "" || q.Person != ""
	entries, last, err := s.logEntries(c.Request.Context(), q, page.SignIns)
	if err != nil {
		return err
	}
	tell := s.teller(c.Request.Context())
	for _, e := range entries {
		page.Lines = append(page.Lines, tell.Line(e))
	}
	if last > 0 {
		page.Older = "/log?" + older(c.Request.URL.Query(), last)
	}
	return s.render(c, http.StatusOK, "log_show", page)
}

// logReads is how many times the log is read for one page that leaves entries out.
const logReads = 10

// logEntries returns a page of entries, the newest first, and the number before which the next page begins; 0 if there
// is none. Without sign-ins it reads on until the page is full.
func (s *Server) logEntries(ctx context.Context, q register.EntryQuery, signIns bool) (list []permits.Entry, last int64,
	err error) {
	for range logReads {
		entries, err := s.reg.Entries(ctx, q)
		if err != nil {
			return nil, 0, err
		}
		for _, e := range entries {
			if last = e.N; signIns || e.Kind != permits.KindSignIn && e.Kind != permits.KindSignOut {
				list = append(list, e)
			}
			if len(list) == logPage {
				return list, last, nil
			}
		}
		if len(entries) < q.Limit {
			return list, 0, nil
		}
		q.Before = last
	}
	return list, last, nil
}

func older(q url.Values, before int64) string {
	q.Set("before", strconv.FormatInt(before, 10))
	return q.Encode()
}

// headShow returns the signed head of the log, as a note that can be checked elsewhere.
func (s *Server) headShow(c *gin.Context) error {
	c.Header("Content-Disposition", `attachment; filename="log-head.txt"`)
	c.Data(http.StatusOK, "text/plain; charset=utf-8", s.reg.Head().Signed)
	return nil
}

// entryTextMost is how much of an entry the page shows; plant files are entries too.
const entryTextMost = 20000

func (s *Server) entryShow(c *gin.Context) error {
	n, err := strconv.ParseInt(c.Param("n"), 10, 64)
	if err != nil || n < 0 {
		return notThere("There is no entry "+screens.Shorten(c.Param("n"), 20)+".", "Entries are numbered from 0.")
	}
	e, err := s.reg.Entry(c.Request.Context(), n)
	if err != nil {
		return err
	}
	raw, err := e.Encode()
	if err != nil {
		return err
	}
	var set bytes.Buffer
	if err := json.Indent(&set, raw, "", "  "); err != nil {
		return err
	}
	page := screens.EntryPage{Frame: s.base(c, "Entry "+c.Param("n"), "log"), Line: s.teller(c.Request.Context()).Line(e),
		Text: screens.Shorten(set.String(), entryTextMost), Size: len(raw), Prev: n - 1, Next: n + 1}
	if page.Next >= page.Head.Size {
		page.Next = -1
	}
	return s.render(c, http.StatusOK, "entry_show", page)
}
