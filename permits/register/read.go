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

// Permit gives a permit, one that is over too; there being none is a NotFound refusal.
func (r *Register) Permit(ctx context.Context, id permits.PermitID) (permits.Permit, error) {
	if p := r.world().permit(id); p.ID() != 0 {
		return p, nil
	}
	p, err := r.foldPermit(ctx, id)
	if err == nil && p.ID() == 0 {
		err = &permits.Refusal{Kind: permits.NotFound, Gate: "permit", What: "There is no permit " + strconv.FormatInt(int64(id), 10) + "."}
	}
	return p, err
}

// foldPermit folds a permit from its entries; the zero permit if there are none.
func (r *Register) foldPermit(ctx context.Context, id permits.PermitID) (permits.Permit, error) {
	var p permits.Permit
	query := r.db.read.WithContext(ctx).Raw("SELECT e.n, e.body FROM lines l JOIN entries e ON e.n = l.n WHERE l.permit = ? AND l.permit > 0 AND l.kind <> ? ORDER BY l.n",
		int64(id), permits.KindRefusedAct)
	err := eachEntry(query, func(e permits.Entry) error { p = permits.Apply(p, e); return nil })
	return p, err
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

// EntryQuery says which entries a list holds; zero fields ask for nothing.
type EntryQuery struct {
	Permit permits.PermitID
	Point  isolation.NodeID
	Person permits.PersonID // who acted, or whom it is about
	Kind   permits.Kind
	Before int64  // numbers below this one; 0: from the newest. Not looked at with After
	After  *int64 // numbers above this one, oldest first; without it the list is newest first
	Limit  int    // 0: 100; at most 1000
}

// Entries lists entries: newest first, or with After oldest first. It costs about as much as the entries that it gives,
// however long the log is.
func (r *Register) Entries(ctx context.Context, q EntryQuery) ([]permits.Entry, error) {
	where, args, order := q.conditions()
	most := limit(q.Limit, 100, 1000)
	branch := func(more string) string {
		return "SELECT n FROM (SELECT n FROM lines WHERE " + where + more + " ORDER BY n" + order + " LIMIT " + strconv.Itoa(most) + ")"
	}
	inner := branch("")
	if q.Person != "" { // each branch walks an index of its own from its end and stops
		inner = branch(" AND person = ?") + " UNION " + branch(" AND about = ? AND about <> ''")
		args = append(append(append(append([]any{}, args...), string(q.Person)), args...), string(q.Person))
	}
	query := r.db.read.WithContext(ctx).Raw("SELECT e.n, e.body FROM ("+inner+") f JOIN entries e ON e.n = f.n ORDER BY e.n"+order+" LIMIT "+strconv.Itoa(most), args...)
	var out []permits.Entry
	err := eachEntry(query, func(e permits.Entry) error { out = append(out, e); return nil })
	return out, err
}

// conditions gives what a row of lines must fulfil, but for the person, and the order.
func (q EntryQuery) conditions() (where string, args []any, order string) {
	all := []string{"n >= 0"}
	add := func(condition string, arg any) { all, args = append(all, condition), append(args, arg) }
	order = " DESC"
	switch {
	case q.After != nil:
		add("n > ?", *q.After)
		order = ""
	case q.Before > 0:
		add("n < ?", q.Before)
	}
	if q.Permit != 0 {
		add("permit = ? AND permit > 0", int64(q.Permit))
	}
	if q.Point != "" {
		add("n IN (SELECT n FROM touched WHERE point = ?)", string(q.Point))
	}
	if q.Kind != "" {
		add("kind = ?", string(q.Kind))
	}
	return strings.Join(all, " AND "), args, order
}

// Entry gives one entry; there being none is a NotFound refusal.
func (r *Register) Entry(ctx context.Context, n int64) (permits.Entry, error) {
	var row entryRow
	err := r.db.read.WithContext(ctx).Take(&row, "n = ?", n).Error
	switch {
	case errors.Is(err, gorm.ErrRecordNotFound):
		return permits.Entry{}, &permits.Refusal{Kind: permits.NotFound, Gate: "log", What: "The log has no entry " + strconv.FormatInt(n, 10) + "."}
	case err != nil:
		return permits.Entry{}, fmt.Errorf("read entry %d: %w", n, err)
	}
	e, err := permits.DecodeEntry(n, row.Body)
	if err != nil {
		return e, fmt.Errorf("read entry %d: %w", n, err)
	}
	return e, nil
}
