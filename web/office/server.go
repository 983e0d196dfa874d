package office

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"runtime/debug"
	"slices"
	"strings"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/gin-gonic/gin"

	"stillwatch/permits/shore"
	"stillwatch/web/office/desk"
	"stillwatch/web/screens"
	"stillwatch/web/site"
)

// Config is what the site must be told from outside. The zero value serves on loopback names only.
type Config struct {
	Hosts   []string // names by which the site may be asked, without port; loopback names always may
	Secure  bool     // served over TLS, by itself or by a balancer before it: cookies go over TLS only
	Version string
	Logger  *slog.Logger
	Now     func() time.Time
}

// Server answers for one shore. Any number of them may stand behind a balancer. Make it with New.
type Server struct {
	shore    *shore.Shore
	cfg      Config
	log      *slog.Logger
	now      func() time.Time
	working  chan struct{} // holds one for each request of a ship that is answered
	large    chan struct{} // holds one for each long one that comes in
	sessions *scs.SessionManager
	assets   *site.Assets
	screens  *screens.Set
	handler  http.Handler
}

// How many requests of ships one process answers at once, each with a segment of a megabyte or two, 64 at most
// unpacked; and how many long ones it lets in at once.
const (
	workingAtOnce = 8
	largeAtOnce   = 4
)

// New makes the site over an open shore.
func New(s *shore.Shore, c Config) (*Server, error) {
	o := &Server{shore: s, cfg: c, log: c.Logger, now: c.Now, working: make(chan struct{}, workingAtOnce),
		large: make(chan struct{}, largeAtOnce)}
	if o.log == nil {
		o.log = slog.New(slog.DiscardHandler)
	}
	if o.now == nil {
		o.now = time.Now
	}
	o.sessions = o.newSessions()
	var err error
	if o.assets, err = site.LoadAssets(false); err != nil {
		return nil, fmt.Errorf("load assets: %w", err)
	}
	if o.screens, err = screens.LoadSite(desk.Site, nil, o.assets.URL); err != nil {
		return nil, fmt.Errorf("load templates: %w", err)
	}
	gin.SetMode(gin.ReleaseMode)
	e := gin.New()
	e.HandleMethodNotAllowed = true
	e.ContextWithFallback = true
	if err := e.SetTrustedProxies(nil); err != nil {
		return nil, err
	}
	for _, r := range o.routes() {
		e.Handle(r.method, r.path, o.answer(r))
	}
	e.NoRoute(o.answer(route{path: "(none)", door: page, handle: o.notFound}))
	e.NoMethod(o.answer(route{path: "(none)", door: page, handle: o.notFound}))
	o.handler = o.knownHost(site.Headers(o.sides(site.OwnForms(o.sessions.LoadAndSave(e)), e)))
	return o, nil
}

// sides parts ships from browsers: a ship has no session, and a form of its own.
func (o *Server) sides(browsers, ships http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if strings.HasPrefix(r.URL.Path, "/ship/") || r.URL.Path == "/healthz" {
			ships.ServeHTTP(w, r)
			return
		}
		browsers.ServeHTTP(w, r)
	})
}

// Ships send over links of some kilobytes a second.
const slowLink = 10 * time.Minute

// Serve answers on l until ctx ends, then lets running requests finish.
func (o *Server) Serve(ctx context.Context, l net.Listener) error {
	return site.Serve(ctx, l, site.Serving{Handler: o.handler, Logger: o.log, ReadTimeout: slowLink,
		WriteTimeout: slowLink})
}

// knownHost refuses to answer under a name that nobody gave to the program.
func (o *Server) knownHost(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		host := r.Host
		if h, _, err := net.SplitHostPort(host); err == nil {
			host = h
		}
		host = strings.Trim(host, "[]")
		ip := net.ParseIP(host)
		known := host == "localhost" || ip != nil && ip.IsLoopback() ||
			slices.ContainsFunc(o.cfg.Hosts, func(h string) bool { return strings.EqualFold(h, host) })
		if !known {
			http.Error(w, "This program is not known by the name in the address.", http.StatusMisdirectedRequest)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// answer wraps a route: it runs the handler, answers what comes back, and writes one line of log.
func (o *Server) answer(r route) gin.HandlerFunc {
	return func(c *gin.Context) {
		began := time.Now()
		err := o.run(c, r)
		if err != nil && !(errors.Is(err, context.Canceled) && c.Request.Context().Err() != nil) {
			r.door.sayError(o, c, err)
		}
		o.log.Info("answered", "method", r.method, "route", r.path, "status", c.Writer.Status(), "ms",
			time.Since(began).Milliseconds())
	}
}

// run runs a handler; a panic comes back as an error.
func (o *Server) run(c *gin.Context, r route) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("panic: %v\n%s", p, debug.Stack())
		}
	}()
	return r.door.open(o, c, r)
}

// health answers a balancer.
func (o *Server) health(c *gin.Context) error {
	if err := o.shore.Answers(c.Request.Context()); err != nil {
		c.String(http.StatusServiceUnavailable, "The database does not answer.\n")
		return nil
	}
	c.String(http.StatusOK, "ok\n")
	return nil
}
