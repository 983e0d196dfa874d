package office

import (
	"time"

	"github.com/gin-gonic/gin"

	"stillwatch/permits/lookback"
)

// Tables for a spreadsheet.

func moment(us int64) lookback.Cell {
	if us == 0 {
		return lookback.Text("")
	}
	return lookback.Moment(time.UnixMicro(us), time.UTC)
}

func (o *Server) fleetCSV(c *gin.Context) error {
	ships, err := o.shore.Fleet(c.Request.Context())
	if err != nil {
		return err
	}
	var rows [][]lookback.Cell
	for _, s := range ships {
		rows = append(rows, []lookback.Cell{lookback.Text(s.Name), lookback.Text(s.Plant), lookback.Whole(s.Size),
			moment(s.Last),
			moment(s.Heard), lookback.Whole(s.Open), lookback.Whole(s.Live), lookback.Whole(s.Overdue),
			lookback.Whole(s.LocksOn),
			lookback.Whole(s.SignedOn), lookback.Whole(s.Tags), lookback.Whole(s.TagsOverdue), lookback.Whole(s.Plans),
			lookback.Whole(s.PlansOverdue), lookback.Whole(s.Passing), lookback.Whole(s.Alarms)})
	}
	return o.csv(c, "fleet.csv", []string{"ship", "plant", "entries", "newest entry", "heard", "permits open", "live",
		"overdue", "locks and tags on", "people signed on", "tags", "tags overdue", "plans in use", "plans overdue",
		"points that pass", "alarms"}, rows)
}

// mostPermits is how many permits of a ship one table holds, the newest.
const mostPermits = 20_000

func (o *Server) permitsCSV(c *gin.Context) error {
	ship, err := o.may(c)
	if err != nil {
		return err
	}
	lines, err := o.shore.Permits(c.Request.Context(), ship.ID, mostPermits)
	if err != nil {
		return err
	}
	var rows [][]lookback.Cell
	for _, p := range lines {
		rows = append(rows, []lookback.Cell{lookback.Whole(p.ID), lookback.Text(p.State), lookback.Text(p.MachineName),
			lookback.Text(p.Title), lookback.Text(p.Work), lookback.Text(p.Exposure), moment(p.RequestedAt), moment(p.Until),
			moment(p.Changed), lookback.Whole(int64(p.Locks)), lookback.Whole(int64(p.LocksOn)),
			lookback.Whole(int64(p.Entries))})
	}
	return o.csv(c, "permits.csv", []string{"no", "state", "machine", "job", "work", "exposure", "requested", "runs until",
		"changed", "locks and tags", "on", "entries"}, rows)
}

func (o *Server) passingCSV(c *gin.Context) error {
	p, err := o.passing(c, mostPermits)
	if err != nil {
		return err
	}
	var rows [][]lookback.Cell
	for _, x := range p.Now {
		rows = append(rows, []lookback.Cell{lookback.Text(x.Name), lookback.Text(x.Point), lookback.Text(x.Kind),
			lookback.Text(x.Place), moment(x.At), lookback.Text(x.Words)})
	}
	return o.csv(c, "passing.csv", []string{"ship", "point", "kind", "place", "found", "what was found"}, rows)
}

func (o *Server) figuresCSV(c *gin.Context) error {
	p, err := o.figures(c)
	if err != nil {
		return err
	}
	var rows [][]lookback.Cell
	for _, part := range p.Parts {
		for _, r := range part.Rows {
			rows = append(rows, []lookback.Cell{lookback.Text(part.Title), lookback.Text(r.Name), lookback.Decimal(r.Value, 3),
				lookback.Text(r.Unit), lookback.Text(r.Note)})
		}
	}
	return o.csv(c, "figures.csv", []string{"figure", "of", "amount", "unit", "note"}, rows)
}
