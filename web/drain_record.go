package web

import (
	"strings"

	"github.com/gin-gonic/gin"

	"stillwatch/isolation"
	"stillwatch/permits"
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
		Reading: isolation.DrainReading{
			OutL:     f.number("out_l", "What came out"),
			HoldS:    60 * f.number("hold_min", "The hold"),
			HoldInL:  f.number("hold_in_l", "What came in the hold"),
			GaugeBar: f.number("gauge_bar", "The pressure"),
			TempC:    f.number("temp_c", "The temperature"),
		}}
	d := doing{form: "drain:" + section, permit: id, act: act, done: "Recorded. The verdict stands with the section.",
		then: permitPath(id) + "#f-drain-" + slug(section), again: s.permitAgain}
	if from := localPath(f.text("from")); strings.HasPrefix(strings.ToUpper(from), "/T/") {
		code := from[len("/T/"):]
		d.then, d.again = tagPath(code), func(c *gin.Context, b back) error { return s.tagAgain(c, code, b) }
	}
	return s.do(c, d)
}
