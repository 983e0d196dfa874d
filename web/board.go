package web

import (
	"slices"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"stillwatch/permits"
	"stillwatch/web/screens"
)

func (s *Server) boardShow(c *gin.Context) error { return s.boardAgain(c, screens.Back{}) }

// clockRight takes the signature that the clock, which had run ahead, is right now.
func (s *Server) clockRight(c *gin.Context) error {
	return s.do(c, doing{form: "clock", act: permits.PutClockRight{Words: formOf(c).text("words")}, then: "/",
		again: s.boardAgain, done: "Recorded. Permits with an entry of the false time are proved anew."})
}

// releaseHeard takes the signature of an owner who has been told that their locks were released.
func (s *Server) releaseHeard(c *gin.Context) error {
	return s.do(c, doing{form: "heard", act: permits.HearRelease{}, then: "/", again: s.boardAgain, done: "Confirmed."})
}

// boardAgain shows the board, with a form that was refused.
func (s *Server) boardAgain(c *gin.Context, b screens.Back) error {
	page := screens.BoardOf(s.setting(me(c)), s.reg.OpenPermits())
	page.Frame = s.base(c, "Board", "board")
	page.Live, page.Back = true, b
	page.Notices = s.reg.Notices(c.Request.Context())
	page.Untold = screens.ReleaseLines(s.reg.Ship(), me(c).ID)
	page.Hang = screens.HangLines(s.reg.Held(), s.reg.Plant())
	page.Alarms = screens.BoardAlarms(s.setting(me(c)), s.reg.OpenPermits())
	page.Passing = s.passingLines()
	return s.render(c, statusOfForm(b), "board_show", page)
}

// passingLines returns the points that are recorded as passing.
func (s *Server) passingLines() []screens.PassingLine {
	var out []screens.PassingLine
	ship := s.reg.Ship()
	for _, point := range ship.PassingPoints() {
		out = append(out, screens.PassingLine{Point: point, Words: ship.Passing[point]})
	}
	return out
}

func (s *Server) handoverShow(c *gin.Context) error { return s.handoverAgain(c, screens.Back{}) }

// handoverAgain shows the page of the handover, with a form that was refused.
func (s *Server) handoverAgain(c *gin.Context, b screens.Back) error {
	frame := s.base(c, "Handing over the watch", "board")
	frame.Live, frame.Back, frame.Path = true, b, "/handover"
	page := screens.HandoverOf(frame, s.setting(me(c)), s.reg.OpenPermits())
	page.Notices = s.reg.Notices(c.Request.Context())
	page.Passing = s.passingLines()
	return s.render(c, statusOfForm(b), "handover_show", page)
}

// watchOffer takes the off-going officer's signature under the permits that were ticked.
func (s *Server) watchOffer(c *gin.Context) error {
	f := formOf(c)
	act := permits.OfferWatch{To: permits.PersonID(f.text("to")), Words: f.text("words")}
	return s.eachPermit(c, "offer", act, "Signed. The oncoming officer reads them and signs; until then nothing leads on "+
		"to work.")
}

// watchTake takes the oncoming officer's signature under the permits that were ticked.
func (s *Server) watchTake(c *gin.Context) error {
	return s.eachPermit(c, "take", permits.TakeWatch{}, "Taken over.")
}

// eachPermit does a signed act to every permit that a form ticks, one after another, each with an entry and a signature
// of its own. At the first refusal it stops and says what was done before.
func (s *Server) eachPermit(c *gin.Context, name string, act permits.Act, done string) error {
	f := formOf(c)
	id := f.actID()
	ids := f.permitIDs()
	if f.fault != nil {
		return s.handoverAgain(c, refusedForm(name, f, f.fault))
	}
	var before []string
	for _, permit := range ids {
		n := strconv.FormatInt(int64(permit), 10)
		_, no, err := s.perform(c, id+permits.ActID("-"+n), permit, act)
		if err != nil {
			return err
		}
		if no != nil {
			said := *no
			if len(before) > 0 {
				said.What += " Before that it was done for permit " + strings.Join(before, ", ") + "."
			}
			return s.handoverAgain(c, refusedForm(name, f, &said))
		}
		before = append(before, n)
	}
	s.redirect(c, "/handover", done)
	return nil
}

// ticksMost is how many permits one form may tick: each takes a PIN's slow check, some 50 ms.
const ticksMost = 60

// permitIDs returns the permits that were ticked, each once.
func (f *form) permitIDs() []permits.PermitID {
	var out []permits.PermitID
	for _, text := range f.Values["permit"] {
		n, err := strconv.ParseInt(text, 10, 64)
		if err != nil || n < 1 || len(f.Values["permit"]) > ticksMost {
			f.wrong("permit", "The list of permits makes no sense.")
			return nil
		}
		if id := permits.PermitID(n); !slices.Contains(out, id) {
			out = append(out, id)
		}
	}
	if len(out) == 0 {
		f.wrong("permit", "No permit is ticked.")
	}
	return out
}
