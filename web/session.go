package web

import (
	"context"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"sync"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/gin-gonic/gin"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/register"
)

// What a session remembers. Everything else is on the pages.
const (
	keyPerson  = "person"
	keySince   = "since"       // when they signed in, unix microseconds
	keySeen    = "seen"        // unix seconds of the last request, written at most every seenEvery
	keyLabel   = "label"       // the point label that was scanned last: its code …
	keyPoint   = "label-point" // … its point …
	keyLabelAt = "label-at"    // … and when, unix seconds
)

// How long a session lives at most, how long unused, and how long a scanned label counts for the tag scanned after it.
const (
	sessionLife = 12 * time.Hour
	sessionIdle = 4 * time.Hour
	seenEvery   = 10 * time.Minute
	labelCounts = 10 * time.Minute
)

func (s *Server) newSessions() *scs.SessionManager {
	m := scs.New()
	m.Store, m.Codec = s.store, sessionCodec{}
	m.Lifetime = sessionLife
	m.HashTokenInStore = true
	m.Cookie.Name = s.cookieName("stillwatch")
	m.Cookie.HttpOnly = true
	m.Cookie.SameSite = http.SameSiteLaxMode // Strict would lose the session of whoever comes from the camera's own app
	m.Cookie.Secure = s.cfg.Secure
	m.ErrorFunc = func(w http.ResponseWriter, _ *http.Request, err error) {
		s.log.Error("session", "err", err)
		http.Error(w, "The session could not be kept. Try again.", http.StatusInternalServerError)
	}
	return m
}

// keepSession signs a person in on this device; the session gets a new name, so that a planted one is worth nothing.
func (s *Server) keepSession(c *gin.Context, id permits.PersonID) error {
	ctx := c.Request.Context()
	if err := s.sessions.RenewToken(ctx); err != nil {
		return err
	}
	s.sessions.Put(ctx, keyPerson, string(id))
	s.sessions.Put(ctx, keySince, s.now().UnixMicro())
	s.sessions.Put(ctx, keySeen, s.now().Unix())
	return nil
}

// person returns whoever is signed in on this device, as the books know them now; nobody for a session that was left
// alone too long and for somebody who has left the ship.
func (s *Server) person(c *gin.Context) permits.Person {
	ctx := c.Request.Context()
	id := permits.PersonID(s.sessions.GetString(ctx, keyPerson))
	if id == "" {
		return permits.Person{}
	}
	now, seen := s.now(), time.Unix(s.sessions.GetInt64(ctx, keySeen), 0)
	p, ok := s.reg.Ship().Person(id)
	if !ok || p.Left || now.Sub(seen) > sessionIdle || s.pins.changedSince(ctx, id, s.sessions.GetInt64(ctx, keySince)) {
		s.forget(c)
		return permits.Person{}
	}
	if now.Sub(seen) > seenEvery {
		s.sessions.Put(ctx, keySeen, now.Unix())
	}
	return p
}

// pinChanges knows when each person's PIN was last set, so that sessions from before it end on every device. It learns
// it from the log when it is first asked about a person, and is told of later changes.
type pinChanges struct {
	mu   sync.Mutex
	last map[permits.PersonID]int64 // unix microseconds; 0: never
	find func(context.Context, permits.PersonID) (int64, error)
}

// changedSince reports whether a person's PIN was set after a moment. If that cannot be found out the answer is yes.
func (p *pinChanges) changedSince(ctx context.Context, id permits.PersonID, since int64) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	at, known := p.last[id]
	if !known {
		var err error
		if at, err = p.find(ctx, id); err != nil {
			return true
		}
		p.last[id] = at
	}
	return at > since
}

// forget makes the next question look into the log again.
func (p *pinChanges) forget(id permits.PersonID) {
	p.mu.Lock()
	defer p.mu.Unlock()
	delete(p.last, id)
}

// lastPIN finds in the log when a person's PIN was last set by somebody, unix microseconds; 0 for never.
func (s *Server) lastPIN(ctx context.Context, id permits.PersonID) (int64, error) {
	list, err := s.reg.Entries(ctx, register.EntryQuery{Person: id, Kind: permits.KindSetPIN, Limit: 1000})
	if err != nil {
		return 0, fmt.Errorf("find the last PIN of %s: %w", id, err)
	}
	for _, e := range list { // newest first; the query also gives PINs that the person set for others
		if a, ok := e.Act.(permits.SetPIN); ok && a.Person == id {
			return e.At.UnixMicro(), nil
		}
	}
	return 0, nil
}

// forget ends the session on this device.
func (s *Server) forget(c *gin.Context) {
	if err := s.sessions.Destroy(c.Request.Context()); err != nil {
		s.log.Warn("end session", slog.Any("err", err))
	}
}

// readLabel is a point label that was scanned on this device and still counts.
type readLabel struct {
	Code  permits.TagCode
	Point isolation.NodeID
	At    time.Time
}

// rememberLabel keeps a scanned label for the tag that is scanned next.
func (s *Server) rememberLabel(c *gin.Context, code permits.TagCode, point isolation.NodeID) {
	ctx := c.Request.Context()
	s.sessions.Put(ctx, keyLabel, code.Text())
	s.sessions.Put(ctx, keyPoint, string(point))
	s.sessions.Put(ctx, keyLabelAt, s.now().Unix())
}

// label returns the label that was scanned last, if that was not too long ago.
func (s *Server) label(c *gin.Context) (readLabel, bool) {
	ctx := c.Request.Context()
	code, err := permits.ParseTagCode(s.sessions.GetString(ctx, keyLabel))
	at := time.Unix(s.sessions.GetInt64(ctx, keyLabelAt), 0)
	if err != nil || s.now().Sub(at) > labelCounts {
		return readLabel{}, false
	}
	return readLabel{code, isolation.NodeID(s.sessions.GetString(ctx, keyPoint)), at.In(s.now().Location())}, true
}

// device says from where a request came, for the register's slow-down and for the log: the network address, which a
// person cannot choose by dropping a cookie.
func device(c *gin.Context) string {
	host, _, err := net.SplitHostPort(c.Request.RemoteAddr)
	if err != nil {
		return "unknown"
	}
	return host
}
