package web

import (
	"net/http"
	"strconv"

	"github.com/gin-gonic/gin"
)

// health says that the program answers and how far its log reaches. It tells a stranger nothing else.
func (s *Server) health(c *gin.Context) error {
	c.String(http.StatusOK, "ok\nlog "+strconv.FormatInt(s.reg.Head().Size, 10)+"\n")
	return nil
}
