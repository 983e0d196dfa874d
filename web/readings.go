package web

import (
	"context"
	"strings"

	"github.com/gin-gonic/gin"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/register"
	"stillwatch/web/screens"
	"stillwatch/web/site"
)

// drainRecord takes what came out of one section, from the permit's page or from the page of the drain's tag.
func (s *Server) drainRecord(c *gin.Context) error {
	id, err := permitID(c)
	if err != nil {
		return err
	}
	f := formOf(c)
	section := c.Param("section")
	act := permits.RecordDrain{Section: section, Into: f.text("into"), Words: f.text("words"),
		KeptS: f.countOr("kept_s", 0),
		Reading: isolation.DrainReading{
			OutL:     f.number("out_l", "What came out"),
			HoldS:    60 * f.heldOr("hold_min", "The hold", f.held()),
			HoldInL:  f.heldOr("hold_in_l", "What came in the hold", 0),
			GaugeBar: f.heldOr("gauge_bar", "The pressure", 0),
			TempC:    f.number("temp_c", "The temperature"),
		}}
	d := doing{form: "drain:" + section, permit: id, act: act, done: "Recorded. What was found stands beside it.",
		then: screens.PermitPath(id) + "#f-drain-" + screens.Slug(section), again: s.permitAgain}
	if from := site.LocalPath(f.text("from")); strings.HasPrefix(strings.ToUpper(from), "/T/") {
		code := from[len("/T/"):]
		d.then, d.again = screens.TagPath(code), func(c *gin.Context, b screens.Back) error { return s.tagAgain(c, code, b) }
	}
	return s.do(c, d)
}

// held is for how many minutes the box says that nothing came and no pressure stood; 0 where it is not ticked.
func (f *form) held() float64 {
	if f.text("held") == "" {
		return 0
	}
	return f.number("held", "The hold")
}

// heldOr reads a figure of the hold. Where the box is ticked an empty field has the figure that the box says, and
// another one contradicts it.
func (f *form) heldOr(field, name string, box float64) float64 {
	switch {
	case f.held() == 0:
		return f.number(field, name)
	case f.text(field) != "" && f.number(field, name) != box:
		f.wrong(field, "The box says that it was held, nothing came and no pressure stands; this field says otherwise.")
	}
	return box
}

// readingRecord takes a reading of a stored energy. Where the check has no unit the answer is yes or no.
func (s *Server) readingRecord(c *gin.Context) error {
	f := formOf(c)
	check := c.Param("check")
	act := permits.RecordStored{Check: check, Words: f.text("words"), KeptS: f.countOr("kept_s", 0)}
	switch f.text("value") {
	case "yes":
		act.Value = 1
	case "no":
		act.Value = 0
	default:
		act.Value = f.number("value", "The reading")
	}
	return s.onPermit(c, "reading:"+check, act, "Recorded. What was found stands beside it.")
}

// deadRecord takes a dead test: the detector proved before, dead, the detector proved after.
func (s *Server) deadRecord(c *gin.Context) error {
	f := formOf(c)
	test := c.Param("test")
	all := f.yes("all")
	act := permits.RecordDead{Test: test, ProvedBefore: all || f.yes("proved_before"), Dead: all || f.yes("dead"),
		ProvedAfter: all || f.yes("proved_after"), Words: f.text("words"), KeptS: f.countOr("kept_s", 0)}
	done := "Recorded as tested dead."
	if !act.ProvedBefore || !act.Dead || !act.ProvedAfter {
		done = "Recorded, but not as tested dead: all three must be so."
	}
	return s.onPermit(c, "dead:"+test, act, done)
}

// startRecord takes the start attempt.
func (s *Server) startRecord(c *gin.Context) error {
	f := formOf(c)
	all := f.yes("all")
	act := permits.RecordStart{Still: all || f.yes("still"), ControlsOff: all || f.yes("controls_off"),
		KeptS: f.countOr("kept_s", 0)}
	done := "Recorded: nothing moved, and the controls are back to off."
	if !act.Still || !act.ControlsOff {
		done = "Recorded, but it does not count yet: nothing may move, and the controls must be back to off."
	}
	return s.onPermit(c, "start", act, done)
}

// deviationAccept takes the chief engineer's written acceptance of a section that is not found drained.
func (s *Server) deviationAccept(c *gin.Context) error {
	section := c.Param("section")
	return s.accept(c, section, permits.AcceptDeviation{Section: section, Words: formOf(c).text("words")})
}

// heatAccept takes that of a part which is warmer than its touch limit.
func (s *Server) heatAccept(c *gin.Context) error {
	check := c.Param("check")
	return s.accept(c, check, permits.AcceptDeviation{Check: check, Words: formOf(c).text("words")})
}

func (s *Server) accept(c *gin.Context, of string, act permits.AcceptDeviation) error {
	return s.onPermit(c, "deviation:"+of, act, "The deviation is accepted in writing.")
}

// readingsOf returns every reading of a permit, from its entries.
func (s *Server) readingsOf(ctx context.Context, id permits.PermitID) (permits.History, error) {
	entries, err := s.reg.Entries(ctx, register.EntryQuery{Permit: id, After: before(0), Limit: entriesMost})
	if err != nil {
		return permits.History{}, err
	}
	return permits.Readings(entries), nil
}
