package metrics

import (
	"context"
	"log/slog"
	"net/http"
	"slices"
	"strconv"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"stillwatch/permits/register"
)

// Config is what New must be told. Register is needed; the rest may be left out.
type Config struct {
	Register *register.Register
	Version  string
	Logger   *slog.Logger                                     // nil: slog.Default
	Now      func() time.Time                                 // nil: time.Now
	Backup   func(context.Context) (at time.Time, known bool) // when the last backup was written; nil: nobody knows
}

// Metrics is one register's measurements in a registry of their own. It is a web.Meter. Make it with New.
type Metrics struct {
	reg     *register.Register
	log     *slog.Logger
	now     func() time.Time
	handler http.Handler

	acts     *prometheus.CounterVec // kind, outcome
	refusals *prometheus.CounterVec // gate
	wrong    prometheus.Counter
	locked   prometheus.Counter

	took    *prometheus.HistogramVec // method, route
	answers *prometheus.CounterVec   // method, route, status
	running prometheus.Gauge
	live    prometheus.Gauge
}

// liveRoutes are the routes whose answers last as long as a page is open.
var liveRoutes = []string{"/events", "/screen/events"}

// buckets are the upper ends of the histogram, seconds: fine where a scan should lie, coarse where a plan is made.
var buckets = []float64{.001, .0025, .005, .01, .025, .05, .1, .25, .5, 1, 2.5, 10}

// Texts of the label outcome.
const (
	taken   = "taken"
	refused = "refused"
)

// New begins to measure; counting ends with ctx. Counters begin at 0 with the process.
func New(ctx context.Context, c Config) *Metrics {
	m := &Metrics{reg: c.Register, log: c.Logger, now: c.Now,
		acts: counters("stillwatch_acts_total", "Acts by kind: taken, or refused by a gate. Slips of a form are not "+
			"counted.", "kind", "outcome"),
		refusals: counters("stillwatch_refusals_total", "Refused acts by the gate that refused.", "gate"),
		wrong: prometheus.NewCounter(prometheus.CounterOpts{Name: "stillwatch_wrong_pins_total",
			Help: "Wrong PINs given."}),
		locked: prometheus.NewCounter(prometheus.CounterOpts{Name: "stillwatch_pin_locks_total",
			Help: "Wrong PINs after which none is taken for a while."}),
		took: prometheus.NewHistogramVec(prometheus.HistogramOpts{Name: "stillwatch_request_seconds",
			Help:    "Time to an answer by route, live pages left out.",
			Buckets: buckets}, []string{"method", "route"}),
		answers: counters("stillwatch_answers_total", "Answers by route and status.", "method", "route", "status"),
		running: prometheus.NewGauge(prometheus.GaugeOpts{Name: "stillwatch_requests_running",
			Help: "Requests being answered now, live pages left out."}),
		live: prometheus.NewGauge(prometheus.GaugeOpts{Name: "stillwatch_live_pages",
			Help: "Pages that listen to the log now."}),
	}
	if m.log == nil {
		m.log = slog.Default()
	}
	if m.now == nil {
		m.now = time.Now
	}
	m.beginAtZero()
	all := prometheus.NewPedanticRegistry()
	all.MustRegister(m.acts, m.refusals, m.wrong, m.locked, m.took, m.answers, m.running, m.live,
		newShip(m.reg, m.now, c.Backup), version(c.Version),
		collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	m.handler = promhttp.HandlerFor(all, promhttp.HandlerOpts{
		ErrorLog: slog.NewLogLogger(m.log.Handler(), slog.LevelWarn), MaxRequestsInFlight: 2, Timeout: 5 * time.Second,
	})
	go m.follow(ctx, m.reg.Head().Size-1)
	return m
}

func counters(name, help string, labels ...string) *prometheus.CounterVec {
	return prometheus.NewCounterVec(prometheus.CounterOpts{Name: name, Help: help}, labels)
}

// version says which program runs.
func version(v string) prometheus.Collector {
	g := prometheus.NewGauge(prometheus.GaugeOpts{Name: "stillwatch_info",
		Help:        "Always 1; its label says which version runs.",
		ConstLabels: prometheus.Labels{"version": v}})
	g.Set(1)
	return g
}

// ServeHTTP returns the figures to Prometheus.
func (m *Metrics) ServeHTTP(w http.ResponseWriter, r *http.Request) { m.handler.ServeHTTP(w, r) }

// Begin says that a request to a route has come; end is called when it was answered, with the status.
func (m *Metrics) Begin(method, route string) (end func(status int)) {
	if method == "" {
		method = "any"
	}
	if slices.Contains(liveRoutes, route) {
		m.live.Inc()
		return func(int) { m.live.Dec() }
	}
	began := m.now()
	m.running.Inc()
	return func(status int) {
		m.running.Dec()
		m.took.WithLabelValues(method, route).Observe(m.now().Sub(began).Seconds())
		m.answers.WithLabelValues(method, route, strconv.Itoa(status)).Inc()
	}
}
