package web

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"net/http"
	"sync"
	"time"

	"github.com/gin-gonic/gin"

	"stillwatch/permits"
	"stillwatch/permits/register"
	"stillwatch/web/screens"
	"stillwatch/web/site"
)

// screenCookie holds the secret by which a board screen is known. It opens the board and nothing else.
const screenCookie = "stillwatch-screen"

// How often a board screen hears that the line is up, how long it waits for more acts before it tells of one, and how
// long a board that was made serves other screens while nothing is written: times on it move on.
const (
	screenBeat   = 5 * time.Second
	screenGather = 20 * time.Millisecond
	screenKeeps  = 5 * time.Second
)

// screenLife is how long a browser keeps the secret unused; each page renews it. Browsers keep none for longer.
const screenLife = 400 * 24 * time.Hour

// keyOf returns the digest by which the log knows a screen's secret.
func keyOf(secret string) permits.TagDigest {
	sum := sha256.Sum256([]byte("board screen\x00" + secret))
	return permits.TagDigest(hex.EncodeToString(sum[:]))
}

// boardScreen returns the board screen that asks, as the log knows it now.
func (s *Server) boardScreen(c *gin.Context) (permits.BoardScreen, bool) {
	k, err := c.Request.Cookie(s.cookieName(screenCookie))
	if err != nil || k.Value == "" {
		return permits.BoardScreen{}, false
	}
	return s.reg.Ship().Screen(keyOf(k.Value))
}

// seesBoard reports whether whoever asks may see the board now: a board screen, or somebody signed in.
func (s *Server) seesBoard(c *gin.Context) bool {
	_, ok := s.boardScreen(c)
	return ok || me(c).ID != ""
}

// keepScreen gives a device the secret of a board screen, or none.
func (s *Server) keepScreen(c *gin.Context, secret string, life time.Duration) {
	http.SetCookie(c.Writer, &http.Cookie{Name: s.cookieName(screenCookie), Value: secret, Path: "/",
		MaxAge: int(life / time.Second), HttpOnly: true, Secure: s.cfg.Secure, SameSite: http.SameSiteLaxMode})
}

func (s *Server) screensList(c *gin.Context) error { return s.screensAgain(c, screens.Back{}) }

// screensAgain lists the board screens, with a form that was refused.
func (s *Server) screensAgain(c *gin.Context, b screens.Back) error {
	page := screens.BoardScreensPage{Frame: s.base(c, "Board screens", "board"), Lines: s.reg.Ship().Screens,
		May: me(c).Has(permits.KindAllowScreen.Roles()...)}
	page.Back, page.Path = b, "/screens"
	return s.render(c, statusOfForm(b), "board_screens", page)
}

// screenAllow makes the device that asks a board screen. Whoever was signed in on it is signed out: nobody's session
// hangs on a bulkhead.
func (s *Server) screenAllow(c *gin.Context) error {
	secret := rand.Text()
	act := permits.AllowScreen{Name: formOf(c).name("name"), Key: keyOf(secret)}
	return s.do(c, doing{form: "allow", act: act, then: "/screen", again: s.screensAgain,
		after: func(c *gin.Context) {
			if _, ours := s.reg.Ship().Screen(act.Key); !ours {
				return // sent once more: the secret of the first time is with whoever got that answer
			}
			if err := s.reg.SignOut(c.Request.Context(), me(c).ID); err != nil {
				s.log.Error("record the sign-out of a board screen", "err", err)
			}
			s.forget(c)
			s.keepScreen(c, secret, screenLife)
		}})
}

// screenEnd ends a board screen.
func (s *Server) screenEnd(c *gin.Context) error {
	name := formOf(c).text("name")
	return s.do(c, doing{form: "end:" + name, act: permits.EndScreen{Name: name}, then: "/screens", again: s.screensAgain,
		done: name + " shows the board no more."})
}

// screenShow is the board as it hangs. A board screen that was ended learns it here, and loses its secret.
func (s *Server) screenShow(c *gin.Context) error {
	name := "Board"
	if screen, ok := s.boardScreen(c); ok {
		name = screen.Name
		k, _ := c.Request.Cookie(s.cookieName(screenCookie))
		s.keepScreen(c, k.Value, screenLife)
	} else if me(c).ID == "" {
		s.keepScreen(c, "", -time.Second)
		return s.askSignIn(c)
	}
	frame := s.base(c, name, "board")
	frame.Screen = name
	return s.render(c, http.StatusOK, "board_screen", s.screenPage(c.Request.Context(), frame))
}

// screenPage puts how the ship stands on the page. The log's size is asked for first: what is read after it is never
// older.
func (s *Server) screenPage(ctx context.Context, frame screens.Frame) screens.BoardScreenPage {
	size := s.reg.Head().Size
	set := s.setting(permits.Person{})
	refused, err := s.reg.Entries(ctx, register.EntryQuery{Kind: permits.KindRefusedAct, Limit: 3})
	if err != nil {
		s.log.Warn("read the last refusals", "err", err)
	}
	page := screens.BoardScreenOf(set, refused)
	page.Frame, page.Size, page.Passing = frame, size, s.passingLines()
	for _, n := range s.reg.Notices(ctx) {
		if n.Kind != register.NoticePIN { // whose PIN was wrong is no business of whoever passes
			page.Notices = append(page.Notices, n)
		}
	}
	return page
}

// madeBoard is the board as it was made last, for all screens: a hundred of them ask at the same moment.
type madeBoard struct {
	mu   sync.Mutex
	size int64
	at   time.Time
	body []byte
}

// screenNow returns the board's page for a screen that follows it: one for all, made anew for each entry of the log and
// every few seconds.
func (s *Server) screenNow(c *gin.Context) error {
	if !s.seesBoard(c) {
		return s.askSignIn(c)
	}
	body, err := s.boardNow(c.Request.Context())
	if err != nil {
		return err
	}
	c.Header(nowHeader, s.now().Format(time.RFC3339Nano)) // what was made for all is some seconds old
	c.Data(http.StatusOK, "text/html; charset=utf-8", site.Compressed(c.Writer, c.Request, body))
	return nil
}

// nowHeader says by the ship's clock when an answer went out.
const nowHeader = "Stillwatch-Now"

func (s *Server) boardNow(ctx context.Context) ([]byte, error) {
	b := &s.board
	b.mu.Lock()
	defer b.mu.Unlock()
	if now := s.now(); b.body != nil && b.size == s.reg.Head().Size && now.Sub(b.at).Abs() < screenKeeps {
		return b.body, nil
	}
	frame := s.frame()
	frame.Screen = "Board"
	page := s.screenPage(context.WithoutCancel(ctx), frame) // whoever asked may go; others wait for it
	body, err := s.screens.Write("board_screen", page)
	if err != nil {
		return nil, err
	}
	b.size, b.at, b.body = page.Size, s.now(), body
	return body, nil
}

// screenEvents tells a board screen how many entries the log has: at once when one is written, and every few seconds,
// so that a dead line is found out. Many acts at once are told of once. A screen that was ended is cut.
func (s *Server) screenEvents(c *gin.Context) error {
	if !s.seesBoard(c) {
		return s.askSignIn(c)
	}
	_, hangs := s.boardScreen(c)
	entries, cancel := s.reg.Subscribe()
	defer cancel()
	w, err := openStream(c)
	if err != nil {
		return err
	}
	if w.say(greeting) != nil {
		return nil
	}
	tick := time.NewTicker(screenBeat)
	defer tick.Stop()
	gathered := time.After(0) // the first at once
	for {
		select {
		case <-c.Request.Context().Done():
			return nil
		case <-s.streams.Done():
			return nil
		case _, open := <-entries:
			if !open {
				return nil // too slow: the browser connects again
			}
			if gathered == nil {
				gathered = time.After(screenGather)
			}
			continue
		case <-tick.C:
		case <-gathered:
			gathered = nil
		}
		if _, still := s.boardScreen(c); hangs && !still || w.beat(s.reg.Head().Size) != nil {
			return nil
		}
	}
}
