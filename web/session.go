package web

import (
	"context"
	"log/slog"
	"net/http"
	"strconv"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/gin-gonic/gin"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/web/screens"
)

// What a session remembers. Everything else is on the pages.
const (
	keyPerson  = "person"
	keyEntry   = "entry"       // of the log, with which they signed in
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
	m.Store, m.Codec = s.reg.Sessions(), sessionCodec{}
	m.Lifetime = sessionLife
	m.Cookie.Name = s.cookieName("stillwatch")
	m.Cookie.HttpOnly = true
	m.Cookie.SameSite = http.SameSiteLaxMode // Strict would lose the session of whoever comes from the camera's own app
	m.Cookie.Secure = s.cfg.Secure
	m.ErrorFunc = func(w http.ResponseWriter, _ *http.Request, err error) {
		s.log.Error("session", "err", err)
		http.Error(w, notKept, http.StatusServiceUnavailable)
	}
	return m
}

// holdSessions ends sessions of which the log has no signing in: somebody wrote them into the database.
func (s *Server) holdSessions() error {
	return s.reg.Sessions().Keep(func(data []byte) bool {
		_, values, err := sessionCodec{}.Decode(data)
		if err != nil {
			return false
		}
		text := func(key string) string { v, _ := values[key].(string); return v }
		if text(keyPerson) == "" {
			return true // nobody is signed in by it
		}
		n, err := strconv.ParseInt(text(keyEntry), 10, 64)
		if err != nil {
			return false
		}
		return s.reg.Began(context.Background(), n, permits.PersonID(text(keyPerson)))
	})
}

// keepSession signs a person in on this device by an entry of the log; the session gets a new name, so that a planted
// one is worth nothing.
func (s *Server) keepSession(c *gin.Context, id permits.PersonID, entry int64) error {
	ctx := c.Request.Context()
	if err := s.sessions.RenewToken(ctx); err != nil {
		return err
	}
	s.sessions.SetDeadline(ctx, s.now().Add(sessionLife)) // by the clock that the register goes by
	s.sessions.Put(ctx, keyPerson, string(id))
	s.markDevice(c, id)
	s.putNumber(ctx, keyEntry, entry)
	s.putNumber(ctx, keySeen, s.now().Unix())
	return nil
}

// putNumber keeps a number in the session.
func (s *Server) putNumber(ctx context.Context, key string, n int64) {
	s.sessions.Put(ctx, key, strconv.FormatInt(n, 10))
}

// number returns a number that the session keeps, or 0.
func (s *Server) number(ctx context.Context, key string) int64 {
	n, _ := strconv.ParseInt(s.sessions.GetString(ctx, key), 10, 64) // 0 for none
	return n
}

// person returns whoever is signed in on this device, as the books know them now; nobody for a session that was left
// alone too long, for one from before the person's PIN was set, and for somebody who has left the ship. Before and
// after go by the numbers of entries, so that a clock that is set right shuts nobody out.
func (s *Server) person(c *gin.Context) permits.Person {
	ctx := c.Request.Context()
	id := permits.PersonID(s.sessions.GetString(ctx, keyPerson))
	if id == "" {
		return permits.Person{}
	}
	now, seen := s.now(), time.Unix(s.number(ctx, keySeen), 0)
	ship := s.reg.Ship()
	p, ok := ship.Person(id)
	if !ok || p.Left || now.Sub(seen) > sessionIdle || s.number(ctx, keyEntry) < ship.PINs[id].Entry {
		s.forget(c)
		return permits.Person{}
	}
	if now.Sub(seen).Abs() > seenEvery && c.GetHeader(byItself) == "" {
		s.putNumber(ctx, keySeen, now.Unix())
	}
	return p
}

// byItself is sent by a page's script that asks without anybody touching the page. It is no use of the session: a page
// that follows the register would keep a person signed in on a device that everybody has left.
const byItself = "Stillwatch-By-Itself"

// forget ends the session on this device.
func (s *Server) forget(c *gin.Context) {
	if err := s.sessions.Destroy(c.Request.Context()); err != nil {
		s.log.Warn("end session", slog.Any("err", err))
	}
}

// rememberLabel keeps a scanned label for the tag that is scanned next.
func (s *Server) rememberLabel(c *gin.Context, code permits.TagCode, point isolation.NodeID) {
	ctx := c.Request.Context()
	s.sessions.Put(ctx, keyLabel, code.Text())
	s.sessions.Put(ctx, keyPoint, string(point))
	s.putNumber(ctx, keyLabelAt, s.now().Unix())
}

// label returns the label that was scanned last, if that was not too long ago.
func (s *Server) label(c *gin.Context) (screens.ReadLabel, bool) {
	ctx := c.Request.Context()
	code, err := permits.ParseTagCode(s.sessions.GetString(ctx, keyLabel))
	at := time.Unix(s.number(ctx, keyLabelAt), 0)
	if err != nil || s.now().Sub(at) > labelCounts {
		return screens.ReadLabel{}, false
	}
	return screens.ReadLabel{Code: code, Point: isolation.NodeID(s.sessions.GetString(ctx, keyPoint)),
		At: at.In(s.now().Location())}, true
}

// useLabelUp forgets the scanned label: it counted for one tag.
func (s *Server) useLabelUp(c *gin.Context) { s.sessions.Remove(c.Request.Context(), keyLabel) }

// device says from where a request came, for the register's slow-down and for the log: the network address, which a
// person cannot choose by dropping a cookie. Behind a declared proxy it is the last address that the proxies tell and
// that is none of them; without one no header is believed.
func device(c *gin.Context) string {
	if ip := c.ClientIP(); ip != "" {
		return ip
	}
	return "unknown"
}
