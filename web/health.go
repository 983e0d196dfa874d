package web

import (
	"net"
	"net/http"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"stillwatch/permits/register"
)

// health says that the program answers, that its log can be written as far as anybody knows, and how far it reaches. If
// the disk is in trouble it answers 503 and says so in words: the pages then still show what was recorded. It tells a
// stranger nothing else. A disk in trouble is found out by the act that it did not take; the next act that it takes
// ends it.
func (s *Server) health(c *gin.Context) error {
	size := strconv.FormatInt(s.reg.Head().Size, 10)
	for _, n := range s.reg.Notices(c.Request.Context()) {
		if n.Kind == register.NoticeDisk {
			c.String(http.StatusServiceUnavailable, strings.TrimSpace(n.Words)+"\nlog "+size+"\n")
			return nil
		}
	}
	c.String(http.StatusOK, "ok\nlog "+size+"\n")
	return nil
}

// Meter is told how long each answer took. Routes are named as in the table of routes, so that nothing of a request's
// own (a permit, a tag's code) becomes a name of a measurement. It also answers at /metrics.
type Meter interface {
	// Begin says that a request to a route has come; end is called when it was answered, with the status.
	Begin(method, route string) (end func(status int))
	http.Handler
}

// measured tells the meter of a request; what it gives is called when the request was answered.
func (s *Server) measured(c *gin.Context, r route) (done func()) {
	if s.cfg.Meter == nil {
		return func() {}
	}
	end := s.cfg.Meter.Begin(r.Method, r.Path)
	return func() { end(c.Writer.Status()) }
}

// metricsShow returns the measurements to whoever asks from this computer, or to everybody if the program was told so.
// They name no person, but they do say how many permits are open and when nobody is about.
func (s *Server) metricsShow(c *gin.Context) error {
	if s.cfg.Meter == nil || !s.cfg.MetricsOpen && !fromHere(c) {
		return notThere("There is no such page.", "Measurements are given on the computer that runs the program; it may be "+
			"told to give them to the network.")
	}
	s.cfg.Meter.ServeHTTP(c.Writer, c.Request)
	return nil
}

// fromHere reports whether a request comes from the computer that runs the program. What a proxy on this computer hands
// on without being declared is taken as coming from elsewhere.
func fromHere(c *gin.Context) bool {
	ip := net.ParseIP(device(c))
	return ip != nil && ip.IsLoopback() && c.GetHeader("X-Forwarded-For") == ""
}

// cookieName keeps the cookies of the secure pages apart from those of the plain ones, which browsers do not: cookies
// know no port. The prefix makes browsers take such a cookie over TLS from this very host alone.
func (s *Server) cookieName(name string) string {
	if s.cfg.Secure {
		return "__Host-" + name
	}
	return name
}
