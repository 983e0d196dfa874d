package office

import (
	"net/http"

	"github.com/gin-gonic/gin"

	"stillwatch/permits/shore/wire"
)

// route is one line of the table.
type route struct {
	method, path string
	door         door
	handle       func(*gin.Context) error
}

// door says who may come to a route, and how an error is told to them.
type door struct {
	open     func(*Server, *gin.Context, route) error
	sayError func(*Server, *gin.Context, error)
}

const (
	get  = http.MethodGet
	post = http.MethodPost
)

// routes is everything that answers.
func (o *Server) routes() []route {
	return []route{
		{get, "/healthz", anybody, o.health},

		{post, wire.PathEnrol, ships, o.enrol},
		{get, wire.PathPosition, ships, o.position},
		{post, wire.PathSegment, ships, o.segment},
		{post, wire.PathKey, ships, o.replaceKey},
	}
}
