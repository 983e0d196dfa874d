package web

import (
	"net/http"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/web/screens"
)

func (s *Server) atWorkShow(c *gin.Context) error { return s.atWorkAgain(c, screens.Back{}) }

// atWorkAgain shows what is looked after where people work, with a form that was refused.
func (s *Server) atWorkAgain(c *gin.Context, b screens.Back) error {
	p, err := s.permitOf(c)
	if err != nil {
		return err
	}
	if !screens.HasAtWork(p) {
		c.Redirect(http.StatusSeeOther, screens.PermitPath(p.ID()))
		return nil
	}
	frame := s.base(c, "At the work of permit "+screens.PermitNumber(p.ID()), "permits")
	frame.Back = b
	return s.render(c, statusOfForm(b), "work_show", screens.ViewAtWork(frame, s.setting(me(c)), p))
}

// atWork does an act from that page.
func (s *Server) atWork(c *gin.Context, form string, act permits.Act, done string) error {
	id, err := permitID(c)
	if err != nil {
		return err
	}
	return s.do(c, doing{form: form, permit: id, act: act, done: done, then: screens.AtWorkPath(id), again: s.atWorkAgain})
}

// airRecord takes a test of the air at the level whose number the address has.
func (s *Server) airRecord(c *gin.Context) error {
	p, err := s.permitOf(c)
	if err != nil {
		return err
	}
	f := formOf(c)
	act := permits.RecordAir{Meter: f.text("meter"), Tested: f.yes("tested"), Still: f.yes("still"),
		Words: f.text("words")}
	n, err := strconv.Atoi(c.Param("level"))
	if levels := p.Air(); err == nil && n >= 1 && n <= len(levels) {
		act.Level = levels[n-1].Level
	}
	if test := p.Plan().Air; test != nil {
		for _, l := range test.Limits {
			act.Values = append(act.Values, permits.AirValue{Gas: l.Gas, Value: f.number("gas_"+l.Gas, l.Name)})
		}
	}
	return s.atWork(c, "air:"+c.Param("level"), act, "Recorded. What was found stands beside it.")
}

// measuresAnswer takes a yes to each measure that was ticked.
func (s *Server) measuresAnswer(c *gin.Context) error {
	act := permits.AnswerMeasures{Checks: formOf(c).Values["measure"]}
	return s.atWork(c, "measures", act, "Recorded: "+screens.Plural(len(act.Checks), "measure is", "measures are")+
		" seen to.")
}

func (s *Server) postTake(c *gin.Context) error {
	act := permits.TakePost{Post: isolation.Post(formOf(c).text("post"))}
	return s.atWork(c, "take-post:"+string(act.Post), act, "You stand by. Do nothing else.")
}

func (s *Server) postLeave(c *gin.Context) error {
	f := formOf(c)
	act := permits.LeavePost{Post: isolation.Post(f.text("post")), Quiet: f.yes("quiet")}
	return s.atWork(c, "leave-post:"+string(act.Post), act, "You have left the post.")
}

// peopleOf reads the people that were ticked.
func (f *form) peopleOf() []permits.PersonID {
	var out []permits.PersonID
	for _, id := range f.Values["people"] {
		out = append(out, permits.PersonID(strings.TrimSpace(id)))
	}
	return out
}

func (s *Server) peopleGoIn(c *gin.Context) error {
	f := formOf(c)
	return s.atWork(c, "go-in", permits.GoIn{People: f.peopleOf(), Meters: f.yes("meters")}, "Recorded as in.")
}

func (s *Server) peopleComeOut(c *gin.Context) error {
	return s.atWork(c, "come-out", permits.ComeOut{People: formOf(c).peopleOf()}, "Recorded as out.")
}

func (s *Server) detectorInhibit(c *gin.Context) error {
	f := formOf(c)
	return s.atWork(c, "inhibit", permits.Inhibit{What: f.text("what"), Means: f.text("means")},
		"Signed. It is put back before the work is handed back.")
}

func (s *Server) detectorPutBack(c *gin.Context) error {
	n, _ := strconv.Atoi(c.Param("n")) // what is no number is no detector: the gate says so
	return s.atWork(c, "put-back:"+c.Param("n"), permits.PutBack{N: n, Tried: formOf(c).yes("tried")},
		"Signed: it is back in action.")
}

// deviationConsent takes the officer's signature beside the chief engineer's.
func (s *Server) deviationConsent(c *gin.Context) error {
	section := c.Param("section")
	return s.onPermit(c, "consent:"+section, permits.ConsentDeviation{Section: section},
		"Signed. Two people answer for it.")
}
