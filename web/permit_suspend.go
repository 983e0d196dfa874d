package web

import (
	"github.com/gin-gonic/gin"

	"stillwatch/permits"
)

// permitSuspend stops the work at once: anybody of the crew may.
func (s *Server) permitSuspend(c *gin.Context) error {
	return s.onPermit(c, "suspend", permits.Suspend{Words: formOf(c).text("words")},
		"The work is stopped. Get everybody out; each signs off. The locks stay on.")
}

// permitResume lets a stopped permit be proved anew.
func (s *Server) permitResume(c *gin.Context) error {
	return s.onPermit(c, "resume", permits.Resume{},
		"It goes on: a second person looks at each lock, then every drain, reading and test is recorded anew.")
}
