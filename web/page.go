package web

import (
	"context"
	"net/http"
	"slices"
	"strconv"

	"github.com/gin-gonic/gin"

	"stillwatch/permits"
	"stillwatch/web/screens"
	"stillwatch/web/site"
)

// frame makes what of that part is the same for everybody.
func (s *Server) frame() screens.Frame {
	head := s.reg.Head()
	b := screens.Frame{Clock: s.now(), Head: screens.HeadLine{Size: head.Size, Short: screens.ShortHash(head.Hash)},
		Version: s.cfg.Version, Palette: screens.Palettes[0]}
	for _, p := range s.reg.Ship().People {
		b.Crew = append(b.Crew, p)
	}
	screens.SortPeople(b.Crew)
	return b
}

// base makes the part that every page carries.
func (s *Server) base(c *gin.Context, title, tab string) screens.Frame {
	b := s.frame()
	b.Title, b.Tab, b.Path, b.Me, b.Palette, b.Done = title, tab, c.Request.URL.RequestURI(), me(c), paletteOf(c.Request),
		s.takeDone(c)
	if c.Request.Method != http.MethodGet {
		b.Path = "/"
	}
	return b
}

const paletteCookie = "stillwatch-palette"

func paletteOf(r *http.Request) string {
	if k, err := r.Cookie(paletteCookie); err == nil && slices.Contains(screens.Palettes, k.Value) {
		return k.Value
	}
	return screens.Palettes[0]
}

// paletteChoose keeps the palette on this device and shows the same page again.
func (s *Server) paletteChoose(c *gin.Context) error {
	f := formOf(c)
	chosen := f.text("palette")
	if !slices.Contains(screens.Palettes, chosen) {
		return &permits.Refusal{Kind: permits.Invalid, Gate: "form", What: "There is no such palette."}
	}
	http.SetCookie(c.Writer, &http.Cookie{Name: paletteCookie, Value: chosen, Path: "/", MaxAge: 365 * 86400,
		HttpOnly: true,
		SameSite: http.SameSiteLaxMode}) // no secret: plain and secure pages share it
	to := site.LocalPath(f.text("from"))
	if to == "" {
		to = "/"
	}
	c.Redirect(http.StatusSeeOther, to)
	return nil
}

// render answers with a screen. It is the only way in which a page goes out.
func (s *Server) render(c *gin.Context, status int, screen string, page any) error {
	body, err := s.screens.Write(screen, page)
	if err != nil {
		return err
	}
	s.showHead(c)
	if who := me(c).ID; who != "" {
		c.Header(forHeader, string(who))
	}
	body = site.Compressed(c.Writer, c.Request, body)
	c.Header("Content-Length", strconv.Itoa(len(body))) // else it goes out in chunks
	c.Data(status, "text/html; charset=utf-8", body)
	return nil
}

// setting returns how things stand for somebody now: what the gates are asked with, and what pages are made from.
func (s *Server) setting(who permits.Person) permits.Setting { return s.reg.Setting(s.now(), who) }

// teller puts entries into words as things stand now.
func (s *Server) teller(ctx context.Context) *screens.Teller {
	return screens.NewTeller(ctx, s.reg.Ship(), s.reg.PermitAsAuthorised)
}
