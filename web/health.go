package web

import (
	"net/http"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"stillwatch/permits/register"
)

// health says that the program answers, that its log can be written as far as anybody knows, and how far it reaches. If
// the disk is in trouble it answers 503 and says so in words: the pages then still show what was recorded. It tells a
// stranger nothing else. A disk in trouble is found out by the act that it did not take; the next act that it takes
// ends it.
func (s *Server) health(c *gin.Context) error {
	size := strconv.FormatInt(s.reg.Head().Size, 10)
	for _, n := range s.reg.Notices(c.Request.Context()) {
		if n.Kind == register.NoticeDisk {
			c.String(http.StatusServiceUnavailable, strings.TrimSpace(n.Words)+"\nlog "+size+"\n")
			return nil
		}
	}
	c.String(http.StatusOK, "ok\nlog "+size+"\n")
	return nil
}
