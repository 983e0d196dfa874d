package office

import (
	"encoding/json"
	"errors"
	"io"
	"net/http"

	"github.com/gin-gonic/gin"

	"stillwatch/permits/shore"
	"stillwatch/permits/shore/wire"
	"stillwatch/web/office/desk"
	"stillwatch/web/screens"
)

// Keys under which a request carries what was found out at the door.
const (
	ctxKey  = "stillwatch.key"
	ctxBody = "stillwatch.body"
)

// ships lets in whoever signs with the key that the request names. Whether it is a ship's, the shore knows.
var ships = door{
	open: func(o *Server, c *gin.Context, r route) error {
		if n := c.Request.ContentLength; n < 0 || n > usualPacked {
			if err := take(c, o.large); err != nil {
				return err
			}
			defer func() { <-o.large }()
		}
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
		if err := take(c, o.working); err != nil { // only now: who sends slowly keeps nobody waiting
			return err
		}
		defer func() { <-o.working }()
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

// usualPacked is how long what a ship sends may be without waiting for its turn, bytes. A segment is some hundred
// thousand.
const usualPacked = 1 << 20

// take takes one of the places that there are, unless whoever asks goes away.
func take(c *gin.Context, places chan struct{}) error {
	select {
	case places <- struct{}{}:
		return nil
	case <-c.Request.Context().Done():
		return c.Request.Context().Err()
	}
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
	wire.RefusedSister:  http.StatusNotFound,
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
	if err := o.shore.Knows(c.Request.Context(), c.GetString(ctxKey)); err != nil {
		return err // before it is unpacked: anybody can make a key and send what is small packed and large unpacked
	}
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

// sisters tells a ship of the others, or in what one of them differs. A ship asks for it; nothing is sent unasked.
func (o *Server) sisters(c *gin.Context) error {
	ctx, key := c.Request.Context(), c.GetString(ctxKey)
	var told wire.Sisters
	if with := c.Query("with"); with != "" {
		compared, err := o.shore.CompareFor(ctx, key, with)
		if err != nil {
			return asSister(err)
		}
		told.Lines = desk.ComparedLines(compared)
	} else {
		ships, err := o.shore.SistersFor(ctx, key)
		if err != nil {
			return err
		}
		for _, s := range ships {
			told.Lines = append(told.Lines, s.Name+": "+s.Plant)
		}
	}
	c.JSON(http.StatusOK, told)
	return nil
}

// draft returns a draft of the ship's own plant file with a job of a sister's.
func (o *Server) draft(c *gin.Context) error {
	text, err := o.shore.DraftFor(c.Request.Context(), c.GetString(ctxKey), c.Query("from"), c.Query("job"))
	if err != nil {
		return asSister(err)
	}
	c.Data(http.StatusOK, "application/yaml", text)
	return nil
}

// asSister makes a refusal of what a ship is told of its sisters; what is a refusal already stays one.
func asSister(err error) error {
	var no *shore.Refusal
	if errors.As(err, &no) {
		return err
	}
	return &shore.Refusal{Kind: wire.RefusedSister, Words: screens.Sentence(err.Error())}
}

// anybody lets everybody in.
var anybody = door{
	open:     func(_ *Server, c *gin.Context, r route) error { return r.handle(c) },
	sayError: ships.sayError,
}
