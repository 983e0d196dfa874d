package web

import (
	"errors"

	"github.com/gin-gonic/gin"

	"stillwatch/permits"
	"stillwatch/permits/register"
)

// pinChangePage lets a person change their own PIN.
type pinChangePage struct{ base }

func (s *Server) pinChangeShow(c *gin.Context) error { return s.pinChangeAgain(c, back{}) }

func (s *Server) pinChangeAgain(c *gin.Context, b back) error {
	page := pinChangePage{base: s.base(c, "Your PIN", "")}
	page.back, page.Path = b, "/pin"
	return s.render(c, b.status(), "pin_change", page)
}

func (s *Server) pinChange(c *gin.Context) error {
	f := formOf(c)
	id := f.actID()
	if f.text("new_pin") != f.text("new_pin_again") {
		f.wrong("new_pin_again", "The two new PINs differ.")
	}
	if f.fault != nil {
		return s.pinChangeAgain(c, refusedForm("pin", f, f.fault))
	}
	who := me(c).ID
	e, err := s.reg.SetPIN(c.Request.Context(), register.SetPINDoing{ID: id, By: who, ByPIN: f.text("old_pin"), Person: who,
		New: f.text("new_pin"), Device: device(c)})
	var no *permits.Refusal
	if errors.As(err, &no) {
		return s.pinChangeAgain(c, refusedForm("pin", f, no))
	}
	if err != nil {
		return err
	}
	if err := s.keepSession(c, who, e.N); err != nil {
		return err
	}
	s.redirect(c, "/", "Your PIN is changed.")
	return nil
}
