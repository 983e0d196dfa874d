package store

import (
	"fmt"
	"strconv"
	"strings"

	"gorm.io/gorm"
)

// EntrySearch says which entries are looked for; zero fields ask for nothing.
type EntrySearch struct {
	Permit int64
	Point  string
	Person string // who acted, or whom it is about
	Kind   string
	Rare   bool   // there are fewer entries of the kind than of a person
	Before int64  // numbers below this one; 0: from the newest. Not looked at with After
	After  *int64 // numbers above this one, oldest first; without it the newest come first
	Limit  int
}

// EachFound passes the entries that a search finds to f.
func (v View) EachFound(q EntrySearch, f func(EntryRow) error) error {
	text, args := q.statement()
	return eachEntry(v.db.Raw(text, args...), f)
}

// walk is a way through the log from one end, along an index: rows i of entry_index, in the order of n.
type walk struct {
	from, n string
	where   string // which part of the index; "" is the whole log
	arg     any
}

// walks returns the ways on which every entry of the answer lies. SQLite would choose among the indexes too, but it
// does not know that a ship has thousands of entries of a point and hundreds of thousands of a kind, and walks the
// longer.
func (q EntrySearch) walks() []walk {
	switch {
	case q.Permit != 0:
		return []walk{{"entry_index i", "i.n", "i.permit = ? AND i.permit > 0", q.Permit}}
	case q.Rare, q.Kind != "" && q.Point == "" && q.Person == "":
		return []walk{{"entry_index i", "i.n", "i.kind = ?", q.Kind}}
	case q.Point != "": // a CROSS JOIN is taken in the order in which it is written
		return []walk{{"point_index p CROSS JOIN entry_index i ON i.n = p.n", "p.n", "p.point = ?", q.Point}}
	case q.Person != "": // each branch has an index of its own
		return []walk{{"entry_index i", "i.n", "i.person = ?", q.Person},
			{"entry_index i", "i.n", "i.about = ? AND i.about <> ''", q.Person}}
	}
	return []walk{{from: "entry_index i", n: "i.n"}}
}

// statement returns the query of numbers and bodies.
func (q EntrySearch) statement() (text string, args []any) {
	order := " DESC"
	if q.After != nil {
		order = ""
	}
	end := order + " LIMIT " + strconv.Itoa(q.Limit)
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
func (q EntrySearch) conditions(w walk) (where string, args []any) {
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
	if q.Point != "" && w.n != "p.n" {
		add("EXISTS (SELECT 1 FROM point_index p WHERE p.point = ? AND p.n = i.n)", q.Point)
	}
	if q.Person != "" {
		add("(+i.person = ? OR +i.about = ?)", q.Person, q.Person)
	}
	if q.Kind != "" {
		add("+i.kind = ?", q.Kind)
	}
	if len(all) == 0 {
		return "", nil
	}
	return " WHERE " + strings.Join(all, " AND "), args
}

// PermitSearch says which permits are looked for; zero fields ask for nothing.
type PermitSearch struct {
	States  []string
	Open    bool // only those that are not over
	Machine string
	Point   string // some entry of theirs concerns it
	Person  string // who acted on them
	Kind    string // an exposure, or a kind of work
	From    int64  // requested at this moment or later, microseconds; 0: ever
	To      int64  // requested before this moment; 0: ever
	Overdue int64  // not over, and the authorisation ran out before this moment; 0: not asked
	Text    string // somewhere in number, machine, title or work; any case
	Before  int64  // numbers below this one
	Limit   int
}

// Permits returns the permits that a search finds, newest first.
func (v View) Permits(q PermitSearch) (rows []PermitRow, err error) {
	db := v.db.Order("id DESC").Limit(q.Limit)
	if len(q.States) > 0 {
		db = db.Where("state IN ?", q.States)
	}
	if q.Open {
		db = db.Where("over = 0")
	}
	if q.Machine != "" {
		db = db.Where("machine = ?", q.Machine)
	}
	if q.Text != "" {
		db = withText(db, q.Text)
	}
	db = q.whenAndWho(db)
	if q.Before > 0 {
		db = db.Where("id < ?", q.Before)
	}
	if err := db.Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("list permits: %w", err)
	}
	return rows, nil
}

// whenAndWho asks for point, person, kind and times. The index of who acted on which permit answers for a person
// permit by permit, so that a list ends when it is full, however much somebody has done.
func (q PermitSearch) whenAndWho(db *gorm.DB) *gorm.DB {
	if q.Point != "" {
		db = db.Where("id IN (SELECT i.permit FROM point_index p JOIN entry_index i ON i.n = p.n WHERE p.point = ?)", q.Point)
	}
	if q.Person != "" {
		db = db.Where("EXISTS (SELECT 1 FROM entry_index i WHERE i.person = ? AND i.permit = permits.id AND i.permit > 0)",
			q.Person)
	}
	if q.Kind != "" {
		db = db.Where("(exposure = ? OR instr(kinds, ?) > 0)", q.Kind, ","+q.Kind+",")
	}
	if q.From > 0 {
		db = db.Where("requested_at >= ?", q.From)
	}
	if q.To > 0 {
		db = db.Where("requested_at < ?", q.To)
	}
	if q.Overdue > 0 {
		db = db.Where("over = 0 AND until > 0 AND until < ?", q.Overdue)
	}
	return db
}

// withText asks for a permit by its number, or by words in what lists show of it.
func withText(db *gorm.DB, text string) *gorm.DB {
	like := "%" + strings.NewReplacer(`\`, `\\`, `%`, `\%`, `_`, `\_`).Replace(text) + "%"
	return db.Where(`(CAST(id AS TEXT) = @exact OR machine LIKE @like ESCAPE '\' OR machine_name LIKE @like ESCAPE '\' OR `+
		`title LIKE @like ESCAPE '\' OR work LIKE @like ESCAPE '\')`,
		map[string]any{"exact": strings.TrimPrefix(text, "#"), "like": like})
}
