package web

import (
	"crypto/subtle"
	"errors"
	"strings"

	"github.com/gin-gonic/gin"

	"stillwatch/permits"
	"stillwatch/web/screens"
)

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
	s.redirect(c, "/plant", "You are on the books as chief engineer. Now put the plant file in force.")
	return nil
}

// isFirstRunCode reports whether somebody stands at the server's console, and not elsewhere on the network.
func (s *Server) isFirstRunCode(typed string) bool {
	plain := func(code string) []byte { return []byte(strings.ToUpper(strings.ReplaceAll(code, "-", ""))) }
	return subtle.ConstantTimeCompare(plain(typed), plain(s.cfg.FirstRunCode)) == 1
}
