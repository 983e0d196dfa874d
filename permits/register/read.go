package register

import (
	"context"
	"strconv"
	"strings"
	"time"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/register/store"
)

// Setting returns how things stand for somebody at a time of the server's clock: what the gates are asked with.
func (r *Register) Setting(clock time.Time, by permits.Person) permits.Setting {
	s := r.state().setting(clock, "")
	s.By, s.Distrust = by, r.distrust()
	return s
}

// Permit returns a permit, one that is over too; there being none is a NotFound refusal.
func (r *Register) Permit(ctx context.Context, id permits.PermitID) (permits.Permit, error) {
	if p := r.state().permit(id); p.ID() != 0 {
		return p, nil
	}
	p, err := r.foldPermit(ctx, id)
	if err == nil && p.ID() == 0 {
		err = noPermit(id)
	}
	return p, err
}

// PermitAsAuthorised returns a permit as its authorisation left it: its steps with their tags, its sections and checks
// by name, and nothing of what was recorded since. It reads two entries where Permit reads all of them, for a page that
// puts entries of a hundred permits into words. A permit that is not over comes as it stands, since it is at hand.
func (r *Register) PermitAsAuthorised(ctx context.Context, id permits.PermitID) (permits.Permit, error) {
	if p := r.state().permit(id); p.ID() != 0 {
		return p, nil
	}
	begins := []permits.Kind{permits.KindRequest, permits.KindAuthorise} // one of each: the way leads back to neither
	var p permits.Permit
	err := r.db.Now(ctx).EachOfPermitAndKinds(int64(id), texts(begins), into(&p))
	if err == nil && p.ID() == 0 {
		err = noPermit(id)
	}
	return p, err
}

// foldPermit folds a permit from its entries; the zero permit if there are none.
func (r *Register) foldPermit(ctx context.Context, id permits.PermitID) (p permits.Permit, err error) {
	err = r.db.Now(ctx).EachOfPermit(int64(id), into(&p))
	return p, err
}

// into folds the entries of rows into a permit.
func into(p *permits.Permit) func(store.EntryRow) error {
	return decoded(func(e permits.Entry) error { permits.Advance(p, e); return nil })
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
	Point   isolation.NodeID // some entry of theirs concerns it
	Person  permits.PersonID // who acted on them
	Kind    string           // an exposure, or a kind of work
	From    time.Time        // requested then or later
	To      time.Time        // requested before
	Overdue time.Time        // not over, and the authorisation ran out before this moment
	Text    string           // somewhere in number, machine, title or work; any case
	Before  permits.PermitID // numbers below this one, for the next page
	Limit   int              // 0: 50; at most 5000
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
	Kinds       string // of the work, with commas between; "": none
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
	search := store.PermitSearch{Open: q.Open, Machine: q.Machine, Text: strings.TrimSpace(q.Text),
		Point: string(q.Point), Person: string(q.Person),
		Kind: q.Kind, From: micro(q.From), To: micro(q.To), Overdue: micro(q.Overdue),
		Before: int64(q.Before), Limit: limit(q.Limit, 50, 5000)}
	for _, s := range q.States {
		search.States = append(search.States, s.String())
	}
	rows, err := r.db.Now(ctx).Permits(search)
	if err != nil {
		return nil, err
	}
	out := make([]PermitLine, len(rows))
	for i, row := range rows {
		out[i] = permitLine(row)
	}
	return out, nil
}

// micro returns a moment as the tables have it; 0 for none.
func micro(t time.Time) int64 {
	if t.IsZero() {
		return 0
	}
	return t.UnixMicro()
}

func limit(asked, usual, most int) int {
	if asked <= 0 {
		return usual
	}
	return min(asked, most)
}

// Entry returns one entry; there being none is a NotFound refusal.
func (r *Register) Entry(ctx context.Context, n int64) (permits.Entry, error) {
	row, found, err := r.db.Now(ctx).Entry(n)
	switch {
	case err != nil:
		return permits.Entry{}, err
	case !found:
		return permits.Entry{}, &permits.Refusal{Kind: permits.NotFound, Gate: "log", What: "The log has no entry " +
			strconv.FormatInt(n, 10) + "."}
	}
	var e permits.Entry
	err = decoded(func(got permits.Entry) error { e = got; return nil })(row)
	return e, err
}
