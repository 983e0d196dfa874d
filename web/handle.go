package web

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"runtime/debug"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"stillwatch/permits"
	"stillwatch/permits/register"
	"stillwatch/web/screens"
	"stillwatch/web/site"
)

// Keys under which a request carries what was found out at the door.
const (
	ctxPerson  = "stillwatch.person"
	ctxRequest = "stillwatch.request"
	ctxForm    = "stillwatch.form"
)

// answer wraps a route: it looks at the door, reads the form within its limit, runs the handler, turns what comes back
// into a page, and writes one line of log. It is the only place that knows status codes of refusals.
func (s *Server) answer(r route) gin.HandlerFunc {
	return func(c *gin.Context) {
		began := s.now()
		id := requestID()
		c.Set(ctxRequest, id)
		defer s.measured(c, r)()
		err := s.run(c, r)
		if err != nil {
			s.sayError(c, id, err)
		}
		s.log.Info("answered", "request", id, "method", c.Request.Method, "route", r.Path, "status", c.Writer.Status(),
			"person", string(me(c).ID), "ms", s.now().Sub(began).Milliseconds())
	}
}

// run looks at the door and runs the handler; a panic comes back as an error.
func (s *Server) run(c *gin.Context, r route) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("panic: %v\n%s", p, debug.Stack())
		}
	}()
	who := s.person(c)
	c.Set(ctxPerson, who)
	s.headSeen(c)
	if err := r.door.admits(who); err != nil { // before the body: who may not come fills no memory
		if errors.Is(err, errNobody) {
			return s.askSignIn(c)
		}
		return err
	}
	if c.Request.Method == http.MethodPost {
		f, err := s.readBody(c, r.limit)
		if err != nil {
			return err
		}
		c.Set(ctxForm, f)
	}
	return r.handle(c)
}

// askSignIn sends whoever is not signed in to the sign-in page. A form that was posted is not lost silently: the page
// says that it was not done.
func (s *Server) askSignIn(c *gin.Context) error {
	if strings.Contains(c.GetHeader("Accept"), "text/event-stream") { // a page that follows the log shows no other page
		c.String(http.StatusUnauthorized, "Nobody is signed in here any more.\n")
		return nil
	}
	if c.Request.Method == http.MethodGet || c.Request.Method == http.MethodHead {
		to := "/sign-in"
		if len(s.reg.Ship().People) == 0 {
			to = "/first-run"
		} else if next := site.LocalPath(c.Request.URL.RequestURI()); next != "" && next != "/" {
			to += "?next=" + url.QueryEscape(next)
		}
		c.Redirect(http.StatusSeeOther, to)
		return nil
	}
	no := &permits.Refusal{Kind: permits.Forbidden, Gate: "sign in",
		What:  "You are not signed in any more, so the form was not taken.",
		Opens: "Sign in, open the page again and repeat it."}
	if toScript(c) {
		tellRefused(c, http.StatusUnauthorized, no)
		return nil
	}
	return s.signInAgain(c, http.StatusUnauthorized, screens.Back{Form: "sign-in", Refusal: no})
}

// me returns whoever is signed in on the device that asks; nobody before the door was looked at.
func me(c *gin.Context) permits.Person {
	p, _ := c.Get(ctxPerson)
	who, _ := p.(permits.Person)
	return who
}

// formOf returns the posted form.
func formOf(c *gin.Context) *form {
	v, _ := c.Get(ctxForm)
	f, ok := v.(*form)
	if !ok {
		return &form{Values: url.Values{}}
	}
	return f
}

// sayError shows what went wrong: a refusal with its two sentences, anything else as an internal error of which only
// the request's number is shown.
func (s *Server) sayError(c *gin.Context, id string, err error) {
	if errors.Is(err, context.Canceled) && c.Request.Context().Err() != nil {
		return // whoever asked has gone
	}
	page := screens.NoticePage{Heading: "Something went wrong inside",
		Words: "It is not your fault, and nothing was changed by it unless the page before said so.",
		Opens: "Try again. If it stays, note the number below and tell whoever looks after the program.", Request: id}
	status := http.StatusInternalServerError
	var no *permits.Refusal
	switch {
	case errors.As(err, &no):
		status = statusOf(err, no)
		page = screens.NoticePage{Heading: headingOf(status), Words: no.What, Opens: no.Opens}
	case errors.Is(err, register.ErrNotKept), errors.Is(err, register.ErrClosed):
		status = http.StatusServiceUnavailable
		page = screens.NoticePage{Heading: "Not recorded", Words: notKept,
			Opens: "Look at the notice on the board: the disk of " +
				"the server is full, cannot be written, or was lost. Then send the form again.", Request: id}
		s.log.Error("not kept", "request", id, "err", err)
	default:
		s.log.Error("internal error", "request", id, "err", err)
	}
	if c.Writer.Written() {
		return // a stream or a paper that broke off
	}
	if toScript(c) {
		tellRefused(c, status, &permits.Refusal{What: page.Words, Opens: page.Opens})
		return
	}
	page.Frame = s.base(c, page.Heading, "")
	if err := s.render(c, status, "notice", page); err != nil {
		s.log.Error("error page", "request", id, "err", err)
		c.String(http.StatusInternalServerError, "Something went wrong inside. Request %s", id)
	}
}

// notKept is what everybody is told whose form the disk did not take.
const notKept = "Nothing was recorded: the server's disk did not take it. What was recorded before is safe."

// statusOf returns the status with which a refusal is answered.
func statusOf(err error, no *permits.Refusal) int {
	var large bodyTooLarge
	var many tooManyBodies
	switch {
	case errors.As(err, &large):
		return http.StatusRequestEntityTooLarge
	case errors.As(err, &many):
		return http.StatusServiceUnavailable
	}
	switch no.Kind {
	case permits.NotFound:
		return http.StatusNotFound
	case permits.Forbidden:
		return http.StatusForbidden
	case permits.Conflict:
		return http.StatusConflict
	}
	return http.StatusUnprocessableEntity
}

func headingOf(status int) string {
	switch status {
	case http.StatusNotFound:
		return "Not found"
	case http.StatusForbidden:
		return "Not for you"
	case http.StatusRequestEntityTooLarge:
		return "Too large"
	case http.StatusServiceUnavailable:
		return "Not now"
	}
	return "Refused"
}

func notThere(what, opens string) error {
	return &permits.Refusal{Kind: permits.NotFound, Gate: "page", What: what, Opens: opens}
}

func (s *Server) notFound(*gin.Context) error {
	return notThere("There is no such page.", "Begin at the board.")
}

// wrongMethod answers what an address does not take. Whoever opens the address of a form again, because the browser
// kept it after a refusal, gets the page that has the form.
func (s *Server) wrongMethod(c *gin.Context) error {
	if page := pageOfForm(c.Request.URL.Path); c.Request.Method == http.MethodGet && page != "" {
		c.Redirect(http.StatusSeeOther, page)
		return nil
	}
	page := screens.NoticePage{Heading: "Not like this", Words: "This address does not take what was sent.",
		Opens: "Begin at the board."}
	page.Frame = s.base(c, page.Heading, "")
	return s.render(c, http.StatusMethodNotAllowed, "notice", page)
}

// pageOfForm returns the page that shows the form which is sent to this address; "" for none.
func pageOfForm(path string) string {
	parts := strings.Split(strings.Trim(path, "/"), "/")
	switch {
	case len(parts) >= 3 && strings.EqualFold(parts[0], "t"):
		return screens.TagPath(parts[1])
	case parts[0] == "points" && len(parts) >= 3:
		return "/points/" + url.PathEscape(parts[1])
	case parts[0] == "permits" && len(parts) >= 3:
		return "/permits/" + url.PathEscape(parts[1])
	case parts[0] == "people", parts[0] == "points", parts[0] == "plant":
		return "/" + parts[0]
	case parts[0] == "rules":
		return "/plant"
	}
	return ""
}

func requestID() string {
	var b [5]byte
	_, _ = rand.Read(b[:]) // never fails
	return hex.EncodeToString(b[:])
}

// doneCookie carries the sentence that says what was just done to the page that is shown next.
const doneCookie = "stillwatch-done"

// redirect sends the browser to the page that shows what has become of an act.
func (s *Server) redirect(c *gin.Context, to, done string) {
	if done != "" {
		http.SetCookie(c.Writer, &http.Cookie{Name: s.cookieName(doneCookie), Value: url.QueryEscape(done), Path: "/",
			MaxAge: 30, HttpOnly: true,
			Secure: s.cfg.Secure, SameSite: http.SameSiteLaxMode})
	}
	c.Redirect(http.StatusSeeOther, to)
}

// takeDone returns that sentence and forgets it.
func (s *Server) takeDone(c *gin.Context) string {
	k, err := c.Request.Cookie(s.cookieName(doneCookie))
	if err != nil {
		return ""
	}
	http.SetCookie(c.Writer, &http.Cookie{Name: s.cookieName(doneCookie), Path: "/", MaxAge: -1, Expires: time.Unix(1, 0),
		Secure: s.cfg.Secure})
	words, err := url.QueryUnescape(k.Value)
	if err != nil {
		return ""
	}
	return screens.Shorten(words, 300)
}
