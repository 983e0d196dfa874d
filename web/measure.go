package web

import (
	"net"
	"net/http"

	"github.com/gin-gonic/gin"
)

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
	if s.cfg.Meter == nil || !s.cfg.MetricsOpen && !fromHere(c.Request) {
		return notThere("There is no such page.", "Measurements are given on the computer that runs the program; it may be "+
			"told to give them to the network.")
	}
	s.cfg.Meter.ServeHTTP(c.Writer, c.Request)
	return nil
}

// fromHere reports whether a request comes from the computer that runs the program. No header is believed: behind a
// proxy on this computer everything comes from here.
func fromHere(r *http.Request) bool {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	ip := net.ParseIP(host)
	return err == nil && ip != nil && ip.IsLoopback()
}

// cookieName keeps the cookies of the secure pages apart from those of the plain ones, which browsers do not: cookies
// know no port. The prefix makes browsers take such a cookie over TLS from this very host alone.
func (s *Server) cookieName(name string) string {
	if s.cfg.Secure {
		return "__Host-" + name
	}
	return name
}
