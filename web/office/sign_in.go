package office

import (
	"errors"
	"net/http"
	"slices"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/gin-gonic/gin"

	"stillwatch/permits/shore"
	"stillwatch/web/office/desk"
	"stillwatch/web/screens"
	"stillwatch/web/site"
)

// What a session remembers: who, and by which password.
const (
	keyName  = "name"
	keyStamp = "stamp"
)

func (o *Server) newSessions() *scs.SessionManager {
	m := scs.New()
	m.Store = o.shore.Sessions()
	m.Lifetime = 12 * time.Hour
	m.IdleTimeout = 4 * time.Hour
	m.Cookie.Name = "stillwatch-office"
	m.Cookie.HttpOnly = true
	m.Cookie.SameSite = http.SameSiteLaxMode
	m.Cookie.Secure = o.cfg.Secure
	return m
}

// person returns whoever is signed in, as the books know them now; nobody after a new password, or when they have gone.
func (o *Server) person(c *gin.Context) (shore.Person, error) {
	ctx := c.Request.Context()
	name := o.sessions.GetString(ctx, keyName)
	if name == "" {
		return shore.Person{}, nil
	}
	p, ok, err := o.shore.Person(ctx, name)
	if err != nil || !ok || p.Stamp != o.sessions.GetString(ctx, keyStamp) {
		return shore.Person{}, err
	}
	return p, nil
}

func (o *Server) signInShow(c *gin.Context) error {
	return o.render(c, http.StatusOK, "sign_in", desk.SignInPage{Frame: o.frame(c, "Sign in", ""),
		Next: site.LocalPath(c.Query("next"))})
}

func (o *Server) signIn(c *gin.Context) error {
	f, err := readForm(c)
	if err != nil {
		return err
	}
	ctx := c.Request.Context()
	p, err := o.shore.SignIn(ctx, f.Get("name"), f.Get("password"))
	if errors.Is(err, shore.ErrPassword) || errors.Is(err, shore.ErrWait) {
		return o.render(c, http.StatusUnprocessableEntity, "sign_in", desk.SignInPage{Frame: o.frame(c, "Sign in", ""),
			Name: screens.Shorten(f.Get("name"), 60), Why: screens.Sentence(err.Error()), Next: site.LocalPath(f.Get("next"))})
	}
	if err != nil {
		return err
	}
	if err := o.sessions.RenewToken(ctx); err != nil {
		return err
	}
	o.sessions.Put(ctx, keyName, p.Name)
	o.sessions.Put(ctx, keyStamp, p.Stamp)
	to := site.LocalPath(f.Get("next"))
	if to == "" {
		to = "/"
	}
	c.Redirect(http.StatusSeeOther, to)
	return nil
}

func (o *Server) signOut(c *gin.Context) error {
	if err := o.sessions.Destroy(c.Request.Context()); err != nil {
		return err
	}
	c.Redirect(http.StatusSeeOther, "/sign-in")
	return nil
}

// paletteChoose keeps the palette on this device and shows the same page again.
func (o *Server) paletteChoose(c *gin.Context) error {
	f, err := readForm(c)
	if err != nil {
		return err
	}
	if chosen := f.Get("palette"); slices.Contains(screens.Palettes, chosen) {
		http.SetCookie(c.Writer, &http.Cookie{Name: paletteCookie, Value: chosen, Path: "/", MaxAge: 365 * 86400,
			HttpOnly: true, SameSite: http.SameSiteLaxMode})
	}
	to := site.LocalPath(f.Get("from"))
	if to == "" {
		to = "/"
	}
	c.Redirect(http.StatusSeeOther, to)
	return nil
}
