package register

import (
	"context"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/register/store"
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
// entries that it returns, however long the log is. Asked for several, it costs at most as much as all entries of one
// of them, that of which there are the fewest: the permit, a kind that changes the ship, the point, the person.
func (r *Register) Entries(ctx context.Context, q EntryQuery) ([]permits.Entry, error) {
	var out []permits.Entry
	err := r.db.Now(ctx).EachFound(q.search(), decoded(func(e permits.Entry) error { out = append(out, e); return nil }))
	return out, err
}

func (q EntryQuery) search() store.EntrySearch {
	return store.EntrySearch{Permit: int64(q.Permit), Point: string(q.Point), Person: string(q.Person),
		Kind: string(q.Kind), Rare: Shapes(q.Kind), Before: q.Before, After: q.After,
		Limit: limit(q.Limit, 100, 1000)}
}
