package web

import (
	"errors"
	"net/http"
	"net/url"

	"github.com/gin-gonic/gin"

	"stillwatch/permits"
	"stillwatch/permits/register"
	"stillwatch/web/screens"
)

// doing is one act as read from a form: what, on which permit, and which page shows the answer.
type doing struct {
	form   string           // name of the form, so that it can be shown again
	permit permits.PermitID // 0: the whole ship
	act    permits.Act
	// address of the page that shows what has become of it; "": the permit's
	then  string
	done  string                                               // what that page says first
	next  func(*gin.Context, permits.Permit) *screens.NextStep // what a script goes on to; nil: nothing
	again func(*gin.Context, screens.Back) error               // shows the form again with the refusal
	after func(*gin.Context)                                   // is called once it happened; nil: nothing
}

// statusOfForm returns the status with which a page goes out: that of the form which was refused on it.
func statusOfForm(b screens.Back) int {
	if b.Refusal == nil {
		return http.StatusOK
	}
	return statusOf(b.Refusal, b.Refusal)
}

// refusedForm makes the form that goes back. PINs are never sent back.
func refusedForm(name string, f *form, no *permits.Refusal) screens.Back {
	typed := url.Values{}
	for field, v := range f.Values {
		if !isSecret(field) {
			typed[field] = v
		}
	}
	return screens.Back{Form: name, Values: typed, Refusal: no}
}

func isSecret(field string) bool {
	return field == "pin" || field == "new_pin" || field == "new_pin_again" || field == "old_pin" || field == "pin_again"
}

// do hands the act to the register and answers: on to the next page when it happened, the form again when it was
// refused. A field that made no sense is answered without asking the register.
func (s *Server) do(c *gin.Context, d doing) error {
	f := formOf(c)
	id := f.actID()
	if f.fault != nil {
		return s.refused(c, d, f, f.fault)
	}
	if no := s.sameHands(c, d.act); no != nil {
		return s.refused(c, d, f, no)
	}
	got, no, err := s.perform(c, id, d.permit, d.act)
	if err != nil {
		return err
	}
	if no != nil {
		return s.refused(c, d, f, no)
	}
	if d.after != nil {
		d.after(c)
	}
	if got.Repeated {
		d.done = repeated(got)
	}
	then := d.then
	if then == "" {
		then = screens.PermitPath(got.Entry.Permit)
	}
	if toScript(c) {
		t := told{Done: d.done, Then: then, Entry: got.Entry.N}
		if d.next != nil {
			t.Next = d.next(c, got.Permit)
		}
		c.JSON(http.StatusOK, t)
		return nil
	}
	s.redirect(c, then, d.done)
	return nil
}

// perform hands one act to the register, with the signature that the form carries if the act is signed. A refusal is no
// error.
func (s *Server) perform(
	c *gin.Context, id permits.ActID, permit permits.PermitID, act permits.Act,
) (register.Receipt, *permits.Refusal, error) {
	f := formOf(c)
	order := register.Doing{ID: id, Permit: permit, Act: act, By: me(c).ID, Device: device(c)}
	if act.Kind().IsSigned() {
		order.Signer, order.PIN = permits.PersonID(f.text("signer")), f.text("pin")
	}
	got, err := s.reg.Do(c.Request.Context(), order)
	var no *permits.Refusal
	if errors.As(err, &no) {
		s.log.Info("refused", "request", c.GetString(ctxRequest), "person", string(me(c).ID), "act", string(act.Kind()),
			"permit", int64(permit), "gate", no.Gate)
		return register.Receipt{}, no, nil
	}
	if err == nil {
		s.log.Info("done", "request", c.GetString(ctxRequest), "person", string(got.Entry.By), "act", string(got.Entry.Kind),
			"permit", int64(got.Entry.Permit), "entry", got.Entry.N)
	}
	return got, nil, err
}

// repeated says of an act that was sent once more what was recorded then and what holds now: never the sentence that
// would send people on.
func repeated(got register.Receipt) string {
	words := "This was recorded already, at " + screens.StampWords(got.Entry.At) + "."
	if got.Entry.Permit == 0 {
		return words
	}
	return words + " The permit stood at " + got.Entry.To.String() + " then; it stands at " + got.Permit.State().String() +
		" now."
}

// sameHands refuses a form that somebody opened, or that a phone kept, before another person signed in on the same
// device: what nobody signs is recorded under the name of whoever is signed in.
func (s *Server) sameHands(c *gin.Context, act permits.Act) *permits.Refusal {
	by := permits.PersonID(formOf(c).text("by"))
	if by == "" || by == me(c).ID || act.Kind().IsSigned() {
		return nil
	}
	filledIn := string(by)
	if p, known := s.reg.Ship().Person(by); known {
		filledIn = p.String()
	}
	return &permits.Refusal{Kind: permits.Conflict, Gate: "sign in", What: filledIn + " filled this in, and " +
		me(c).String() + " is signed in on this device now. It was not recorded.",
		Opens: filledIn + " signs in and sends it again; or whoever is signed in opens the page anew and looks for " +
			"themselves."}
}

// refused shows the form again, or tells the script that sent it.
func (s *Server) refused(c *gin.Context, d doing, f *form, no *permits.Refusal) error {
	if toScript(c) {
		tellRefused(c, statusOf(no, no), screens.InShipTime(no, s.now()))
		return nil
	}
	return d.again(c, refusedForm(d.form, f, no))
}

// told is what a script of our own pages is answered instead of a page: what was done, and where that is seen; or a
// refusal in its two sentences. It is asked for by "Accept: application/json".
type told struct {
	Done  string `json:"done,omitempty"`  // what was recorded, as the page would say it
	Then  string `json:"then,omitempty"`  // address of the page that shows what has become of it
	Entry int64  `json:"entry,omitempty"` // its number in the log

	Next *screens.NextStep `json:"next,omitempty"` // of the same permit; nil: nothing is fitted or taken off next

	What  string `json:"what,omitempty"`  // why it was not done
	Opens string `json:"opens,omitempty"` // what would let it be done
	Field string `json:"field,omitempty"` // of the form, if one was at fault
}

// toScript reports whether a script asks, which makes a page's words of the answer itself.
func toScript(c *gin.Context) bool { return c.GetHeader("Accept") == "application/json" }

// tellRefused answers a script why not.
func tellRefused(c *gin.Context, status int, no *permits.Refusal) {
	c.JSON(status, told{What: no.What, Opens: no.Opens, Field: no.Field})
}
