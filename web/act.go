package web

import (
	"errors"
	"net/http"
	"net/url"

	"github.com/gin-gonic/gin"

	"stillwatch/permits"
	"stillwatch/permits/register"
)

// doing is one act as read from a form: what, on which permit, and which page shows the answer.
type doing struct {
	form   string           // name of the form, so that it can be shown again
	permit permits.PermitID // 0: the whole ship
	act    permits.Act
	then   string                         // address of the page that shows what has become of it; "": the permit's
	done   string                         // what that page says first
	again  func(*gin.Context, back) error // shows the form again with the refusal
}

// back is a form that was refused: it is shown again with what was typed, except the PIN.
type back struct {
	Form    string
	Values  url.Values
	Refusal *permits.Refusal
}

// status gives the status with which the refused form goes back.
func (b back) status() int {
	if b.Refusal == nil {
		return http.StatusOK
	}
	return statusOf(b.Refusal, b.Refusal)
}

// refusedForm makes the form that goes back. PINs are never sent back.
func refusedForm(name string, f *form, no *permits.Refusal) back {
	typed := url.Values{}
	for field, v := range f.Values {
		if !isSecret(field) {
			typed[field] = v
		}
	}
	return back{Form: name, Values: typed, Refusal: no}
}

func isSecret(field string) bool {
	return field == "pin" || field == "new_pin" || field == "new_pin_again" || field == "old_pin" || field == "pin_again"
}

// do hands the act to the register and answers: on to the next page when it happened, the form again when it was refused.
// A field that made no sense is answered without asking the register.
func (s *Server) do(c *gin.Context, d doing) error {
	f := formOf(c)
	id := f.actID()
	if f.fault != nil {
		return d.again(c, refusedForm(d.form, f, f.fault))
	}
	order := register.Doing{ID: id, Permit: d.permit, Act: d.act, By: me(c).ID, Device: device(c)}
	if d.act.Kind().IsSigned() {
		order.Signer, order.PIN = permits.PersonID(f.text("signer")), f.text("pin")
	}
	got, err := s.reg.Do(c.Request.Context(), order)
	if err != nil {
		var no *permits.Refusal
		if errors.As(err, &no) {
			s.log.Info("refused", "request", c.GetString(ctxRequest), "person", string(me(c).ID), "act", string(d.act.Kind()), "permit", int64(d.permit), "gate", no.Gate)
			return d.again(c, refusedForm(d.form, f, no))
		}
		return err
	}
	s.log.Info("done", "request", c.GetString(ctxRequest), "person", string(got.Entry.By), "act", string(got.Entry.Kind), "permit", int64(got.Entry.Permit), "entry", got.Entry.N)
	then := d.then
	if then == "" {
		then = permitPath(got.Entry.Permit)
	}
	s.redirect(c, then, d.done)
	return nil
}
