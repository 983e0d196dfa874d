package register

import (
	"github.com/google/uuid"

	"stillwatch/permits"
)

// NewActID draws the id of an act that is made here: a UUID of version 7 (RFC 9562, 5.7). Such an id begins with the
// time at which it was drawn, so that those of acts that come together lie together in the index of ids, and one page
// of the database takes them all; random ids cost a page each.
func NewActID() permits.ActID { return permits.ActID(uuid.Must(uuid.NewV7()).String()) }
