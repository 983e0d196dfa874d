package web

import (
	"context"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"net"
	"net/http"
	"os"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/gin-gonic/gin"

	"stillwatch/isolation"
	"stillwatch/isolation/proved"
	"stillwatch/permits/register"
	"stillwatch/web/screens"
	"stillwatch/web/site"
)

// Config is what the pages must be told from outside. The zero value serves on loopback names only.
type Config struct {
	BaseURL  string               // what printed tags carry: http://192.168.1.10:8080; "": the address asked for
	Hosts    []string             // names by which the program may be asked, without port; loopback names always may
	DemoPINs []screens.DemoPerson // shown loudly on the sign-in page, in the demo only
	Version  string               // shown at the foot of each page
	Dev      bool                 // templates and assets are read anew from the source tree for each request
	Logger   *slog.Logger         // nil: nothing is logged
	Secure   bool                 // served over TLS: cookies go over TLS only, and have names of their own
	Now      func() time.Time

	// addresses or ranges of proxies whose X-Forwarded-For is believed; none: nobody's is
	TrustedProxies []string

	FirstRunCode string // must be typed on the first page of an empty register; "": none is asked for, as on loopback

	Trust       *screens.Trust // the ship's own authority, to be shown to phones; nil: there is none
	Meter       Meter          // is told of every answer, and answers at /metrics; nil: nothing is measured
	MetricsOpen bool           // the whole network may read /metrics, not this computer alone
}

// Server answers for one register. Make it with New.
type Server struct {
	reg      *register.Register
	cfg      Config
	log      *slog.Logger
	now      func() time.Time
	sessions *scs.SessionManager
	files    chan struct{} // holds one for each file that is being read
	screens  *screens.Set
	assets   *site.Assets
	plans    madeOnce[string, proved.Plan]
	board    madeBoard
	effects  madeOnce[string, []isolation.Effect]
	streams  context.Context // ends when the server stops; live pages hang on it
	endAll   context.CancelFunc
	handler  http.Handler
}

// New makes the server over an open register. It returns an error when a template or an asset does not hold together.
func New(reg *register.Register, c Config) (*Server, error) {
	s := &Server{reg: reg, cfg: c, log: c.Logger, now: c.Now, files: make(chan struct{}, filesAtOnce)}
	if s.log == nil {
		s.log = slog.New(slog.NewTextHandler(io.Discard, nil))
	}
	if s.now == nil {
		s.now = time.Now
	}
	s.plans.room, s.effects.room = plansKept, 2
	s.streams, s.endAll = context.WithCancel(context.Background())
	var err error
	if s.assets, err = site.LoadAssets(c.Dev); err != nil {
		return nil, fmt.Errorf("load assets: %w", err)
	}
	var live fs.FS
	if c.Dev {
		live = os.DirFS("templates")
	}
	if s.screens, err = screens.Load(live, s.assets.URL); err != nil {
		return nil, fmt.Errorf("load templates: %w", err)
	}
	s.sessions = s.newSessions()
	if err := s.holdSessions(); err != nil {
		return nil, fmt.Errorf("look over the sessions: %w", err)
	}
	engine, err := s.engine()
	if err != nil {
		return nil, err
	}
	s.handler = s.guarded(engine)
	return s, nil
}

// assetShow answers for one asset.
func (s *Server) assetShow(c *gin.Context) error {
	if !s.assets.Answer(c.Writer, c.Request, c.Param("hash"), c.Param("name")) {
		return notThere("There is no such file.", "")
	}
	return nil
}

// Handler returns the whole site, doors included.
func (s *Server) Handler() http.Handler { return s.handler }

// engine puts the table of routes into gin.
func (s *Server) engine() (*gin.Engine, error) {
	gin.SetMode(gin.ReleaseMode)
	e := gin.New()
	e.HandleMethodNotAllowed = true
	e.ContextWithFallback = true
	e.RemoteIPHeaders = []string{"X-Forwarded-For"}
	if err := e.SetTrustedProxies(s.cfg.TrustedProxies); err != nil {
		return nil, fmt.Errorf("trusted proxies %q: %w", s.cfg.TrustedProxies, err)
	}
	for _, r := range s.routes() {
		e.Handle(r.Method, r.Path, s.answer(r))
	}
	e.NoRoute(s.answer(route{Path: "(none)", door: anybodyAtAll, handle: s.notFound}))
	e.NoMethod(s.answer(route{Path: "(none)", door: anybodyAtAll, handle: s.wrongMethod}))
	return e, nil
}

// Serve answers on l until ctx ends, then stops listening, cuts the live pages, lets running requests finish, and
// returns. The error is nil after a stop that was asked for.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	return site.Serve(ctx, l, site.Serving{Handler: s.Handler(), Logger: s.log, OnStop: s.endAll})
}
