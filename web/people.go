package web

import (
	"errors"

	"github.com/gin-gonic/gin"

	"stillwatch/permits"
	"stillwatch/permits/register"
	"stillwatch/web/screens"
)

func (s *Server) peopleList(c *gin.Context) error { return s.peopleAgain(c, screens.Back{}) }

func (s *Server) peopleAgain(c *gin.Context, b screens.Back) error {
	page := screens.PeoplePage{Frame: s.base(c, "People", "people"), Roles: permits.Roles()}
	page.Back, page.Path = b, "/people"
	page.May = page.Me.Has(permits.KindAddPerson.Roles()...)
	for _, p := range page.Crew {
		if p.Left {
			page.Gone = append(page.Gone, p)
		} else {
			page.Aboard = append(page.Aboard, p)
		}
	}
	return s.render(c, statusOfForm(b), "people_list", page)
}

func rolesOf(f *form) []permits.Role {
	var out []permits.Role
	for _, r := range f.Values["role"] {
		out = append(out, permits.Role(r))
	}
	return out
}

// personAdd puts somebody on the books with a first PIN.
func (s *Server) personAdd(c *gin.Context) error {
	f := formOf(c)
	id := f.actID()
	who := permits.Person{ID: permits.PersonID(f.text("id")), Name: f.name("name"), Rank: f.name("rank"),
		Roles: rolesOf(f)}
	if f.fault != nil {
		return s.peopleAgain(c, refusedForm("add", f, f.fault))
	}
	err := s.reg.AddPerson(c.Request.Context(), register.AddPersonDoing{ID: id, By: me(c).ID,
		Signer: permits.PersonID(f.text("signer")), PIN: f.text("pin"),
		Person: who, New: f.text("new_pin"), Device: device(c)})
	return s.afterPeople(c, "add", err, who.String()+" is on the books. They change the first PIN before they "+
		"sign anything.")
}

// afterPeople answers for a change of the books.
func (s *Server) afterPeople(c *gin.Context, name string, err error, done string) error {
	var no *permits.Refusal
	if errors.As(err, &no) {
		return s.peopleAgain(c, refusedForm(name, formOf(c), no))
	}
	if err != nil {
		return err
	}
	s.redirect(c, "/people", done)
	return nil
}

// personChange sets somebody's name, rank and roles anew, or says that they have left.
func (s *Server) personChange(c *gin.Context) error {
	f := formOf(c)
	who := permits.Person{ID: permits.PersonID(c.Param("id")), Name: f.name("name"), Rank: f.name("rank"),
		Roles: rolesOf(f), Left: f.yes("left")}
	return s.do(c, doing{form: "change:" + string(who.ID), act: permits.ChangePerson{Person: who}, then: "/people",
		done: who.String() + ": changed.", again: s.peopleAgain})
}

// pinSet sets another person's PIN, by the chief engineer or the master with their own.
func (s *Server) pinSet(c *gin.Context) error {
	f := formOf(c)
	who := permits.PersonID(c.Param("id"))
	name := "pin:" + string(who)
	id := f.actID()
	if f.text("new_pin") != f.text("new_pin_again") {
		f.wrong("new_pin_again", "The two new PINs differ.")
	}
	if f.fault != nil {
		return s.peopleAgain(c, refusedForm(name, f, f.fault))
	}
	_, err := s.reg.SetPIN(c.Request.Context(), register.SetPINDoing{ID: id, By: me(c).ID, ByPIN: f.text("pin"),
		Person: who,
		New:    f.text("new_pin"), Device: device(c)})
	return s.afterPeople(c, name, err, "The PIN is set.")
}

func (s *Server) pinChangeShow(c *gin.Context) error { return s.pinChangeAgain(c, screens.Back{}) }

func (s *Server) pinChangeAgain(c *gin.Context, b screens.Back) error {
	page := screens.PINPage{Frame: s.base(c, "Your PIN", ""), ByOther: !s.reg.Ship().PINs[me(c).ID].ByOwner}
	page.Back, page.Path = b, "/pin"
	return s.render(c, statusOfForm(b), "pin_change", page)
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
	e, err := s.reg.SetPIN(c.Request.Context(), register.SetPINDoing{ID: id, By: who, ByPIN: f.text("old_pin"),
		Person: who,
		New:    f.text("new_pin"), Device: device(c)})
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
