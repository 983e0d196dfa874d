package web

import (
	"errors"
	"fmt"
	"net/url"
	"strings"

	"github.com/gin-gonic/gin"

	"stillwatch/isolation"
	"stillwatch/isolation/proved"
	"stillwatch/permits"
	"stillwatch/web/screens"
)

// makeChange computes and proves the plan of a permit to which work is added, as things stand now.
func (s *Server) makeChange(p permits.Permit, a isolation.Added) (proved.Plan, error) {
	plant, rules := s.reg.Plant(), s.reg.Rules()
	if plant == nil || rules == nil {
		return proved.Plan{}, notThere("No plant file is in force, so no plan can be made.",
			"The chief engineer puts one in force on the plant page.")
	}
	if plant.SHA256 != p.Plan().PlantSHA256 {
		return proved.Plan{}, &permits.Refusal{Kind: permits.Refused, Gate: "change",
			What:  "The plan of this permit was made from another plant file than the one in force.",
			Opens: "End this permit, and request one for all of the work."}
	}
	facts := permits.CircumstancesOf(s.reg.Ship(), s.reg.Held(), p.ID())
	key := strings.Join([]string{plant.SHA256, rules.SHA256, fmt.Sprint("change ", p.ID(), p.Plan().Number(), a),
		fmt.Sprint(facts)}, "\x00")
	return s.plans.get(key, func() (proved.Plan, error) { return proved.Change(plant, rules, p.Plan(), a, facts) })
}

// added reads what is to be added.
func added(v url.Values) isolation.Added {
	var a isolation.Added
	most := func(field string) []string {
		return v[field][:min(len(v[field]), 50)]
	}
	for _, id := range most("job") {
		a.Jobs = append(a.Jobs, screens.Shorten(id, 60))
	}
	for _, id := range most("part") {
		if id != "" {
			a.Opens = append(a.Opens, isolation.NodeID(screens.Shorten(id, 60)))
		}
	}
	for _, id := range most("point") {
		if id != "" {
			a.Points = append(a.Points, isolation.NodeID(screens.Shorten(id, 60)))
		}
	}
	return isolation.Added{}.And(a) // each once
}

func (s *Server) changeShow(c *gin.Context) error { return s.changeAgain(c, screens.Back{}) }

// changeAgain shows the page of added work, with a form that was refused: what is asked for, or what the address or the
// form chooses.
func (s *Server) changeAgain(c *gin.Context, b screens.Back) error {
	p, err := s.permitOf(c)
	if err != nil {
		return err
	}
	set := s.setting(me(c))
	page := screens.ChangePage{Frame: s.base(c, "Added work on permit "+c.Param("id"), "permits"),
		PermitView: screens.ViewPermit(set, p)}
	page.Back = b
	if asked, is := p.Changing(); is {
		page.Show(screens.ChangeOf(set, p, asked.Plan.Plan()))
		return s.render(c, statusOfForm(b), "change_show", page)
	}
	if plant := s.reg.Plant(); plant != nil && plant.SHA256 == p.Plan().PlantSHA256 {
		page.Jobs, page.Parts, page.Points = screens.AddChoices(plant, p)
	}
	page.Chosen = added(c.Request.URL.Query())
	if b.Values != nil {
		page.Chosen = added(b.Values)
	}
	if page.Chosen.Len() > 0 {
		made, err := s.makeChange(p, page.Chosen)
		var no *permits.Refusal
		switch {
		case errors.As(err, &no):
			page.Fault = no.What + " " + no.Opens
		case err != nil:
			page.Fault = err.Error() // a sentence for people: what hangs, what would be opened, what does not hold
			s.log.Warn("no changed plan", "request", c.GetString(ctxRequest), "permit", p.ID(), "err", err)
		default:
			page.Hash = made.Hash
			page.Show(screens.ChangeOf(set, p, made.Plan))
		}
	}
	return s.render(c, statusOfForm(b), "change_show", page)
}

// changeAsk takes the wish to add work: the plan is computed here, and held against what hangs by the gate.
func (s *Server) changeAsk(c *gin.Context) error {
	p, err := s.permitOf(c)
	if err != nil {
		return err
	}
	f := formOf(c)
	made, err := s.makeChange(p, added(f.Values))
	var no *permits.Refusal
	switch {
	case errors.As(err, &no):
		return s.changeAgain(c, refusedForm("ask-for-added-work", f, no))
	case err != nil:
		return s.changeAgain(c, refusedForm("ask-for-added-work", f, &permits.Refusal{Kind: permits.Refused, Gate: "change",
			What: "There is no plan for it: " + err.Error() + ".", Opens: "Choose something else to add."}))
	case made.Hash != f.text("plan"):
		return s.changeAgain(c, refusedForm("ask-for-added-work", f, &permits.Refusal{Kind: permits.Conflict, Gate: "change",
			What:  "The plan is another one now than the one that was shown.",
			Opens: "Read below what it changes, then ask."}))
	}
	act := permits.AskChange{Plan: made.Proved, Words: f.text("words")}
	return s.onChange(c, "ask-for-added-work", act, screens.ChangePath(p.ID()),
		"Asked, and the work stands still. The officer of the watch reads what changes, and authorises it.")
}

// changeAuthorise takes the officer's signature under a changed plan.
func (s *Server) changeAuthorise(c *gin.Context) error {
	f := formOf(c)
	act := permits.AuthoriseChange{Number: f.count("number", "The number of the plan"),
		Asked: int64(f.count("asked", "The entry of the wish")), Hours: f.number("hours", "The period"),
		Unproved: f.yes("unproved")}
	return s.onChange(c, "authorise-added-work", act, "", "Authorised. Print the new lock tags; the technician fits "+
		"them. What hangs stays on, and everything is proved anew.")
}

// changeDrop takes that the work is not added.
func (s *Server) changeDrop(c *gin.Context) error {
	return s.onChange(c, "drop-added-work", permits.DropChange{Words: formOf(c).text("words")}, "",
		"Dropped. The permit goes on by its plan, as after every stop.")
}

// onChange does an act of added work; a refusal shows the page of added work again.
func (s *Server) onChange(c *gin.Context, form string, act permits.PermitAct, then, done string) error {
	id, err := permitID(c)
	if err != nil {
		return err
	}
	return s.do(c, doing{form: form, permit: id, act: act, done: done, then: then, again: s.changeAgain})
}
