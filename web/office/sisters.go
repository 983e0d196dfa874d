package office

import (
	"context"
	"errors"
	"net/http"
	"strconv"

	"github.com/gin-gonic/gin"

	"stillwatch/permits/shore"
	"stillwatch/web/office/desk"
	"stillwatch/web/screens"
)

// pair returns the two ships that an address names, or nil where it names none.
func (o *Server) pair(ctx context.Context, c *gin.Context) (a, b *shore.Ship, err error) {
	var both [2]*shore.Ship
	for i, field := range []string{"of", "with"} {
		id, err := strconv.ParseInt(c.Query(field), 10, 64)
		if err != nil {
			return nil, nil, nil
		}
		ship, err := o.shore.Numbered(ctx, id)
		if err != nil {
			return nil, nil, err
		}
		both[i] = &ship
	}
	return both[0], both[1], nil
}

// sistersShow compares what two ships have in force.
func (o *Server) sistersShow(c *gin.Context) error {
	ctx := c.Request.Context()
	p := desk.SistersPage{Frame: o.frame(c, "Sister ships", "sisters")}
	var err error
	if p.Ships, err = o.shore.Fleet(ctx); err != nil {
		return err
	}
	a, b, err := o.pair(ctx, c)
	if err != nil {
		return err
	}
	if a != nil {
		p.Of, p.With = a.ID, b.ID
		compared, err := o.shore.Compare(ctx, *a, *b)
		if errors.Is(err, shore.ErrNoPlant) {
			p.Why = screens.Sentence(err.Error())
			return o.render(c, http.StatusOK, "sisters_show", p)
		}
		if err != nil {
			return err
		}
		p.Compare(compared)
	}
	return o.render(c, http.StatusOK, "sisters_show", p)
}

// draftSend sends the draft of a plant file to the office's browser.
func (o *Server) draftSend(c *gin.Context) error {
	ctx := c.Request.Context()
	a, b, err := o.pair(ctx, c)
	if err != nil || a == nil {
		return errors.Join(errNotThere, err)
	}
	text, err := o.shore.Draft(ctx, *a, *b, c.Query("job"))
	if err != nil {
		p := desk.NoticePage{Frame: o.frame(c, "No draft", "sisters"), Heading: "No draft",
			Words: screens.Sentence(err.Error()),
			Opens: "Somebody who knows both ships writes the job into the plant file."}
		return o.render(c, http.StatusUnprocessableEntity, "notice", p)
	}
	c.Header("Content-Disposition", `attachment; filename="draft-`+screens.Slug(a.Name)+`.yaml"`)
	c.Data(http.StatusOK, "application/yaml", text)
	return nil
}
