package register

import (
	"context"
	"slices"
	"strconv"
	"strings"

	"stillwatch/isolation"
	"stillwatch/permits"
)

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

// Entries lists entries: newest first, or with After oldest first. Asked for one thing, it costs about as much as the
// entries that it gives, however long the log is. Asked for several, it costs at most as much as all entries of one of
// them, that of which there are the fewest: the permit, a kind that changes the ship, the point, the person.
func (r *Register) Entries(ctx context.Context, q EntryQuery) ([]permits.Entry, error) {
	text, args := q.statement()
	var out []permits.Entry
	err := eachEntry(r.db.read.WithContext(ctx).Raw(text, args...),
		func(e permits.Entry) error { out = append(out, e); return nil })
	return out, err
}

// walk is a way through the log from one end, along an index: rows l of lines, in the order of n.
type walk struct {
	from, n string
	where   string // which part of the index; "" is the whole log
	arg     any
}

// walks returns the ways on which every entry of the answer lies. SQLite would choose among the indexes too, but it does
// not know that a ship has thousands of entries of a point and hundreds of thousands of a kind, and walks the longer.
func (q EntryQuery) walks() []walk {
	switch {
	case q.Permit != 0:
		return []walk{{"lines l", "l.n", "l.permit = ? AND l.permit > 0", int64(q.Permit)}}
	case slices.Contains(rareKinds, q.Kind), q.Kind != "" && q.Point == "" && q.Person == "":
		return []walk{{"lines l", "l.n", "l.kind = ?", string(q.Kind)}}
	case q.Point != "": // a CROSS JOIN is taken in the order in which it is written
		return []walk{{"touched t CROSS JOIN lines l ON l.n = t.n", "t.n", "t.point = ?", string(q.Point)}}
	case q.Person != "": // each branch has an index of its own
		return []walk{{"lines l", "l.n", "l.person = ?", string(q.Person)},
			{"lines l", "l.n", "l.about = ? AND l.about <> ''", string(q.Person)}}
	}
	return []walk{{from: "lines l", n: "l.n"}}
}

// rareKinds are the kinds of which even a long log has fewer entries than of a person: whatever changes the ship.
var rareKinds = append([]permits.Kind{permits.KindSetPIN}, shapesShip...)

// statement returns the query of numbers and bodies.
func (q EntryQuery) statement() (text string, args []any) {
	order := " DESC"
	if q.After != nil {
		order = ""
	}
	end := order + " LIMIT " + strconv.Itoa(limit(q.Limit, 100, 1000))
	var branches []string
	for _, w := range q.walks() {
		where, more := q.conditions(w)
		branches = append(branches, "SELECT n FROM (SELECT "+w.n+" AS n FROM "+w.from+where+" ORDER BY "+w.n+end+")")
		args = append(args, more...)
	}
	return "SELECT e.n, e.body FROM (" + strings.Join(branches, " UNION ") +
		") f JOIN entries e ON e.n = f.n ORDER BY e.n" + end, args
}

// conditions returns what an entry on a walk must fulfil. The plus keeps SQLite from another index than the walk's.
func (q EntryQuery) conditions(w walk) (where string, args []any) {
	var all []string
	add := func(condition string, more ...any) { all, args = append(all, condition), append(args, more...) }
	if w.where != "" {
		add(w.where, w.arg)
	}
	switch {
	case q.After != nil:
		add(w.n+" > ?", *q.After)
	case q.Before > 0:
		add(w.n+" < ?", q.Before)
	}
	if q.Point != "" && w.n != "t.n" {
		add("EXISTS (SELECT 1 FROM touched t WHERE t.point = ? AND t.n = l.n)", string(q.Point))
	}
	if q.Person != "" {
		add("(+l.person = ? OR +l.about = ?)", string(q.Person), string(q.Person))
	}
	if q.Kind != "" {
		add("+l.kind = ?", string(q.Kind))
	}
	if len(all) == 0 {
		return "", nil
	}
	return " WHERE " + strings.Join(all, " AND "), args
}
