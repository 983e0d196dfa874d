package register

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"gorm.io/gorm"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// Permit returns a permit, one that is over too; there being none is a NotFound refusal.
func (r *Register) Permit(ctx context.Context, id permits.PermitID) (permits.Permit, error) {
	if p := r.world().permit(id); p.ID() != 0 {
		return p, nil
	}
	p, err := r.foldPermit(ctx, id)
	if err == nil && p.ID() == 0 {
		err = noPermit(id)
	}
	return p, err
}

// PermitAsAuthorised returns a permit as its authorisation left it: its steps with their tags, its sections and checks by
// name, and nothing of what was recorded since. It reads two entries where Permit reads all of them, for a page that
// puts entries of a hundred permits into words. A permit that is not over comes as it stands, since it is at hand.
func (r *Register) PermitAsAuthorised(ctx context.Context, id permits.PermitID) (permits.Permit, error) {
	if p := r.world().permit(id); p.ID() != 0 {
		return p, nil
	}
	begins := []permits.Kind{permits.KindRequest, permits.KindAuthorise} // one of each: the way leads back to neither
	p, err := r.fold(ctx, id, "+l.kind IN ?", begins, len(begins))
	if err == nil && p.ID() == 0 {
		err = noPermit(id)
	}
	return p, err
}

// foldPermit folds a permit from its entries; the zero permit if there are none.
func (r *Register) foldPermit(ctx context.Context, id permits.PermitID) (permits.Permit, error) {
	return r.fold(ctx, id, "+l.kind <> ?", permits.KindRefusedAct, -1)
}

// fold folds a permit from those of its entries whose kind fulfils a condition, the first most of them; -1: from all.
func (r *Register) fold(ctx context.Context, id permits.PermitID, which string, kinds any, most int) (permits.Permit,
	error) {
	var p permits.Permit
	query := r.db.read.WithContext(ctx).Raw("SELECT e.n, e.body FROM lines l JOIN entries e ON e.n = l.n WHERE l.permit "+
		"= ? AND l.permit > 0 AND "+which+" ORDER BY l.n LIMIT ?",
		int64(id), kinds, most)
	err := eachEntry(query, func(e permits.Entry) error { permits.Advance(&p, e); return nil })
	return p, err
}

func noPermit(id permits.PermitID) error {
	return &permits.Refusal{Kind: permits.NotFound, Gate: "permit", What: "There is no permit " +
		strconv.FormatInt(int64(id), 10) + "."}
}

// PermitQuery says which permits a list holds; zero fields ask for nothing. Newest first.
type PermitQuery struct {
	States  []permits.State // none: any state
	Open    bool            // only those that are not over
	Machine string
	Text    string           // somewhere in number, machine, title or work; any case
	Before  permits.PermitID // numbers below this one, for the next page
	Limit   int              // 0: 50; at most 500
}

// PermitLine is one permit in a list.
type PermitLine struct {
	ID          permits.PermitID
	State       permits.State
	Job         string
	Machine     string
	MachineName string
	Title       string
	Work        string
	Exposure    isolation.Exposure
	RequestedBy permits.PersonID
	RequestedAt time.Time
	Changed     time.Time
	Until       time.Time // zero: not authorised
	Locks       int       // steps of the plan
	LocksOn     int
	SignedOn    int
	Entries     int
	LastEntry   int64
}

// Permits lists permits, those that are over too, newest first.
func (r *Register) Permits(ctx context.Context, q PermitQuery) ([]PermitLine, error) {
	db := r.db.read.WithContext(ctx).Order("id DESC").Limit(limit(q.Limit, 50, 500))
	if len(q.States) > 0 {
		states := make([]string, len(q.States))
		for i, s := range q.States {
			states[i] = s.String()
		}
		db = db.Where("state IN ?", states)
	}
	if q.Open {
		db = db.Where("over = 0")
	}
	if q.Machine != "" {
		db = db.Where("machine = ?", q.Machine)
	}
	if text := strings.TrimSpace(q.Text); text != "" {
		like := "%" + strings.NewReplacer(`\`, `\\`, `%`, `\%`, `_`, `\_`).Replace(text) + "%"
		db = db.Where(`(CAST(id AS TEXT) = @exact OR machine LIKE @like ESCAPE '\' OR machine_name LIKE @like ESCAPE '\' OR title LIKE @like ESCAPE '\' OR work LIKE @like ESCAPE '\')`,
			map[string]any{"exact": strings.TrimPrefix(text, "#"), "like": like})
	}
	if q.Before > 0 {
		db = db.Where("id < ?", int64(q.Before))
	}
	var rows []permitRow
	if err := db.Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("list permits: %w", err)
	}
	out := make([]PermitLine, len(rows))
	for i, row := range rows {
		out[i] = row.line()
	}
	return out, nil
}

func limit(asked, usual, most int) int {
	if asked <= 0 {
		return usual
	}
	return min(asked, most)
}

// Entry returns one entry; there being none is a NotFound refusal.
func (r *Register) Entry(ctx context.Context, n int64) (permits.Entry, error) {
	var row entryRow
	err := r.db.read.WithContext(ctx).Take(&row, "n = ?", n).Error
	switch {
	case errors.Is(err, gorm.ErrRecordNotFound):
		return permits.Entry{}, &permits.Refusal{Kind: permits.NotFound, Gate: "log", What: "The log has no entry " +
			strconv.FormatInt(n, 10) + "."}
	case err != nil:
		return permits.Entry{}, fmt.Errorf("read entry %d: %w", n, err)
	}
	e, err := permits.DecodeEntry(n, row.Body)
	if err != nil {
		return e, fmt.Errorf("read entry %d: %w", n, err)
	}
	return e, nil
}
