package office

import (
	"encoding/json"
	"errors"
	"io"
	"net/http"

	"github.com/gin-gonic/gin"

	"stillwatch/permits/shore"
	"stillwatch/permits/shore/wire"
)

// Keys under which a request carries what was found out at the door.
const (
	ctxKey  = "stillwatch.key"
	ctxBody = "stillwatch.body"
)

// ships lets in whoever signs with the key that the request names. Whether it is a ship's, the shore knows.
var ships = door{
	open: func(o *Server, c *gin.Context, r route) error {
		o.bodies <- struct{}{}
		defer func() { <-o.bodies }()
		body, err := io.ReadAll(http.MaxBytesReader(c.Writer, c.Request.Body, wire.MostPacked))
		if err != nil {
			return &shore.Refusal{Kind: wire.RefusedTorn, Words: "What was sent did not come whole, or is too long."}
		}
		key, err := wire.KeyOf(c.Request, body)
		if err != nil {
			return &shore.Refusal{Kind: wire.RefusedRequest, Words: "The request is not signed by the key that it names."}
		}
		c.Set(ctxKey, key)
		c.Set(ctxBody, body)
		return r.handle(c)
	},
	sayError: func(o *Server, c *gin.Context, err error) {
		var no *shore.Refusal
		if errors.As(err, &no) {
			c.JSON(statusOf[no.Kind], wire.Answer{Refused: no.Kind, Words: no.Words})
			return
		}
		o.log.Error("internal error", "err", err)
		c.String(http.StatusInternalServerError, "Something went wrong ashore. Nothing of this was kept; send it again.\n")
	},
}

// statusOf is the status with which each refusal is answered.
var statusOf = map[string]int{
	wire.RefusedKey:     http.StatusUnauthorized,
	wire.RefusedRequest: http.StatusForbidden,
	wire.RefusedCode:    http.StatusForbidden,
	wire.RefusedTorn:    http.StatusBadRequest,
	wire.RefusedForged:  http.StatusUnprocessableEntity,
	wire.RefusedGate:    http.StatusUnprocessableEntity,
	wire.RefusedNewer:   http.StatusUnprocessableEntity,
	wire.RefusedGap:     http.StatusConflict,
	wire.RefusedOverlap: http.StatusConflict,
	wire.RefusedFork:    http.StatusConflict,
	wire.RefusedBack:    http.StatusConflict,
}

func bodyOf(c *gin.Context) []byte {
	v, _ := c.Get(ctxBody)
	body, _ := v.([]byte)
	return body
}

// tellShip answers a ship. A refusal that comes with what the shore has is told with it.
func (o *Server) tellShip(c *gin.Context, a wire.Answer, err error) error {
	if err != nil && a.Refused == "" {
		return err
	}
	status := http.StatusOK
	if a.Refused != "" {
		status = statusOf[a.Refused]
		o.log.Warn("refused", "ship", a.Ship, "kind", a.Refused, "words", a.Words)
	}
	c.JSON(status, a)
	return nil
}

func (o *Server) position(c *gin.Context) error {
	a, err := o.shore.Position(c.Request.Context(), c.GetString(ctxKey))
	return o.tellShip(c, a, err)
}

func (o *Server) segment(c *gin.Context) error {
	p, err := wire.Unpack(bodyOf(c))
	if err != nil {
		return &shore.Refusal{Kind: wire.RefusedTorn, Words: "The segment was not taken: " + err.Error() + "."}
	}
	a, err := o.shore.Take(c.Request.Context(), c.GetString(ctxKey), p)
	return o.tellShip(c, a, err)
}

func (o *Server) enrol(c *gin.Context) error {
	var q wire.EnrolRequest
	if err := json.Unmarshal(bodyOf(c), &q); err != nil {
		return &shore.Refusal{Kind: wire.RefusedTorn, Words: "What was sent is no enrolment."}
	}
	a, err := o.shore.Enrol(c.Request.Context(), c.GetString(ctxKey), q)
	return o.tellShip(c, a, err)
}

func (o *Server) replaceKey(c *gin.Context) error {
	a, err := o.shore.ReplaceKey(c.Request.Context(), c.GetString(ctxKey), bodyOf(c))
	return o.tellShip(c, a, err)
}

// anybody lets everybody in.
var anybody = door{
	open:     func(_ *Server, c *gin.Context, r route) error { return r.handle(c) },
	sayError: ships.sayError,
}
