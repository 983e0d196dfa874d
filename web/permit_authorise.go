package web

import (
	"github.com/gin-gonic/gin"

	"stillwatch/permits"
)

// onPermit does an act on the permit that the address names; a refusal shows the permit's page again.
func (s *Server) onPermit(c *gin.Context, form string, act permits.Act, done string) error {
	id, err := permitID(c)
	if err != nil {
		return err
	}
	return s.do(c, doing{form: form, permit: id, act: act, done: done, then: permitPath(id), again: s.permitAgain})
}

func (s *Server) permitAuthorise(c *gin.Context) error {
	f := formOf(c)
	return s.onPermit(c, "authorise", permits.Authorise{Hours: f.number("hours", "The period")},
		"Authorised. Print the lock tags; the technician fits them in their order.")
}

func (s *Server) permitExtend(c *gin.Context) error {
	f := formOf(c)
	return s.onPermit(c, "extend", permits.Extend{Hours: f.number("hours", "The period")}, "The authorisation runs on.")
}

// permitCountersign takes the master's signature under the authorisation.
func (s *Server) permitCountersign(c *gin.Context) error {
	return s.onPermit(c, "countersign", permits.Countersign{},
		"Countersigned. The technician fits the locks in their order.")
}
