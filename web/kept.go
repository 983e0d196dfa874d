package web

import (
	"net/http"

	"github.com/gin-gonic/gin"

	"stillwatch/web/screens"
)

// forHeader says for whom a page was made: a phone keeps it for nobody else.
const forHeader = "Stillwatch-For"

// workerShow answers with the service worker. It stands at the top of the site, since a worker sees only what lies
// below its own address, and is never kept: a browser asks for it anew and takes a later one by itself.
func (s *Server) workerShow(c *gin.Context) error {
	c.Data(http.StatusOK, "text/javascript; charset=utf-8", s.assets.Read("worker.js"))
	return nil
}

// keptShow is the page that the service worker shows where it has no line and no copy. Nobody is signed in on it.
func (s *Server) keptShow(c *gin.Context) error {
	frame := s.frame()
	frame.Title, frame.Path, frame.Palette = "No line", "/", paletteOf(c.Request)
	body, err := s.screens.Write("kept_show", screens.KeptPage{Frame: frame})
	if err != nil {
		return err
	}
	c.Data(http.StatusOK, "text/html; charset=utf-8", body)
	return nil
}
