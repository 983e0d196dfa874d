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

// routes is everything that answers. No form of the office changes anything but who is signed in, and how it looks.
func (o *Server) routes() []route {
	return []route{
		{get, "/healthz", anybody, o.health},
		{get, "/static/:hash/*name", page, o.assetShow},
		{get, "/sign-in", page, o.signInShow},
		{post, "/sign-in", page, o.signIn},
		{post, "/sign-out", page, o.signOut},
		{post, "/palette", page, o.paletteChoose},

		{get, "/", reader, o.first},
		{get, "/fleet.csv", fleet, o.fleetCSV},
		{get, "/ships/:id", reader, o.shipShow},
		{get, "/ships/:id/permits.csv", reader, o.permitsCSV},
		{get, "/ships/:id/log.jsonl", reader, o.logExport},
		{get, "/passing", fleet, o.passingShow},
		{get, "/passing.csv", fleet, o.passingCSV},
		{get, "/figures", fleet, o.figuresShow},
		{get, "/figures.csv", fleet, o.figuresCSV},
		{get, "/sisters", fleet, o.sistersShow},
		{get, "/sisters/draft", fleet, o.draftSend},

		{post, wire.PathEnrol, ships, o.enrol},
		{get, wire.PathPosition, ships, o.position},
		{post, wire.PathSegment, ships, o.segment},
		{post, wire.PathKey, ships, o.replaceKey},
		{get, wire.PathSisters, ships, o.sisters},
		{get, wire.PathDraft, ships, o.draft},
	}
}
