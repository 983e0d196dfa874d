package web

import (
	"crypto/subtle"
	"errors"
	"net/http"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"stillwatch/permits"
	"stillwatch/permits/register"
	"stillwatch/web/screens"
	"stillwatch/web/site"
)

func (s *Server) signInShow(c *gin.Context) error {
	if len(s.reg.Ship().People) == 0 {
		c.Redirect(http.StatusSeeOther, "/first-run")
		return nil
	}
	return s.signInAgain(c, http.StatusOK, screens.Back{})
}

func (s *Server) signInAgain(c *gin.Context, status int, b screens.Back) error {
	page := screens.SignInPage{Frame: s.base(c, "Sign in", ""), Demo: s.cfg.DemoPINs, Trust: s.cfg.Trust != nil}
	page.Back = b
	page.Next = site.LocalPath(c.Query("next"))
	if b.Form != "" {
		page.Next = site.LocalPath(b.Values.Get("next"))
	}
	chosen := page.TypedOr("sign-in", "person", string(s.onlyOne(c, page.Crew)))
	for _, p := range page.Crew {
		if !p.Left {
			page.People = append(page.People, screens.Signer{ID: string(p.ID), Name: p.String() + ", " + screens.RankOf(p),
				Chosen: chosen == string(p.ID)})
		}
	}
	return s.render(c, status, "sign_in", page)
}

func (s *Server) signIn(c *gin.Context) error {
	f := formOf(c)
	if f.text("person") == "" {
		f.wrong("person", "Nobody was chosen.")
		return s.signInAgain(c, http.StatusUnprocessableEntity, refusedForm("sign-in", f, f.fault))
	}
	id := permits.PersonID(f.text("person"))
	from := register.Origin{Address: device(c), Mark: s.deviceMark(c, id)}
	e, err := s.reg.SignIn(c.Request.Context(), id, f.text("pin"), from)
	var no *permits.Refusal
	if errors.As(err, &no) {
		b := refusedForm("sign-in", f, no)
		return s.signInAgain(c, statusOfForm(b), b)
	}
	if err != nil {
		return err
	}
	if err := s.keepSession(c, e.By, e.N); err != nil {
		return err
	}
	to := site.LocalPath(f.text("next"))
	if to == "" {
		to = "/"
	}
	ship := s.reg.Ship()
	who, _ := ship.Person(e.By)
	if who.IsCompetent() && !ship.PINs[e.By].ByOwner {
		to = "/pin"
	}
	s.redirect(c, to, "Signed in as "+who.String()+".")
	return nil
}

func (s *Server) signOut(c *gin.Context) error {
	if who := me(c); who.ID != "" {
		if err := s.reg.SignOut(c.Request.Context(), who.ID); err != nil {
			return err
		}
	}
	s.forget(c)
	s.redirect(c, "/sign-in", "Signed out.")
	return nil
}

// markCookie begins the name of the cookie by which the register knows a device again on which somebody signed in:
// wrong PINs from elsewhere do not count there.
const markCookie = "stillwatch-device-"

const markLife = 90 * 24 * time.Hour

func (s *Server) markDevice(c *gin.Context, id permits.PersonID) {
	http.SetCookie(c.Writer, &http.Cookie{Name: s.cookieName(markCookie + string(id)), Value: s.reg.MarkDevice(id),
		Path: "/", MaxAge: int(markLife / time.Second), HttpOnly: true, Secure: s.cfg.Secure,
		SameSite: http.SameSiteLaxMode})
}

// deviceMark returns the mark that this device bears of a person, or "".
func (s *Server) deviceMark(c *gin.Context, id permits.PersonID) string {
	k, err := c.Request.Cookie(s.cookieName(markCookie + string(id)))
	if err != nil {
		return ""
	}
	return k.Value
}

// onlyOne returns the one person who has signed in on this device before; "" if there were several, or none.
func (s *Server) onlyOne(c *gin.Context, crew []permits.Person) permits.PersonID {
	var one permits.PersonID
	for _, p := range crew {
		if p.Left || s.deviceMark(c, p.ID) == "" {
			continue
		}
		if one != "" {
			return ""
		}
		one = p.ID
	}
	return one
}

func (s *Server) shipFoundShow(c *gin.Context) error {
	if !s.reg.NeedsFirstRun() {
		return notThere("The register has its people already.", "The chief engineer adds more on the people page.")
	}
	return s.shipFoundAgain(c, screens.Back{})
}

func (s *Server) shipFoundAgain(c *gin.Context, b screens.Back) error {
	page := screens.FirstRunPage{Frame: s.base(c, "First run", ""), AsksCode: s.cfg.FirstRunCode != ""}
	page.Back = b
	return s.render(c, statusOfForm(b), "ship_found", page)
}

func (s *Server) shipFound(c *gin.Context) error {
	if !s.reg.NeedsFirstRun() {
		return notThere("The register has its people already.", "The chief engineer adds more on the people page.")
	}
	f := formOf(c)
	chief := permits.Person{ID: permits.PersonID(f.text("id")), Name: f.name("name"), Rank: f.name("rank"),
		Roles: []permits.Role{permits.ChiefEngineer}}
	if !s.isFirstRunCode(f.text("code")) {
		f.wrong("code", "This is not the code that stands on the server's console.")
	}
	if f.text("pin") != f.text("pin_again") {
		f.wrong("pin_again", "The two PINs differ.")
	}
	if f.fault != nil {
		return s.shipFoundAgain(c, refusedForm("first-run", f, f.fault))
	}
	err := s.reg.FirstRun(c.Request.Context(), chief, f.text("pin"))
	var no *permits.Refusal
	if errors.As(err, &no) {
		return s.shipFoundAgain(c, refusedForm("first-run", f, no))
	}
	if err != nil {
		return err
	}
	if err := s.keepSession(c, chief.ID, s.reg.Ship().PINs[chief.ID].Entry); err != nil {
		return err
	}
	s.redirect(c, "/", "You are on the books as chief engineer.")
	return nil
}

// isFirstRunCode reports whether somebody stands at the server's console, and not elsewhere on the network.
func (s *Server) isFirstRunCode(typed string) bool {
	plain := func(code string) []byte { return []byte(strings.ToUpper(strings.ReplaceAll(code, "-", ""))) }
	return subtle.ConstantTimeCompare(plain(typed), plain(s.cfg.FirstRunCode)) == 1
}
