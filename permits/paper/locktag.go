package paper

import (
	"errors"
	"io"
	"time"
)

// LockTag is the tag hung on one point for one step of one permit.
type LockTag struct {
	Permit, Title string // permit's number and title
	Machine       string // name of what is worked on
	Step, Of      int    // step number, 1..Of, in the order of fitting
	Point, Name   string // id and name of the point; the id must not be empty
	Place         Place
	Held          Position // position in which the point is held; must be set
	Clearance     Position // position to which it returns; must be set
	// Proves marks a drain or vent that is held open because it proves the isolation.
	Proves bool
	// TagOnly says that no lock can be fitted; Measure then names the further physical
	// measure that replaces it (29 CFR 1915.89(c)(4)), a line to write on if empty.
	TagOnly bool
	Measure string
	// LockNumber is the number on the padlock; a line to write on if empty.
	LockNumber string
	// FittedBy and CheckedBy are filled in by hand on the paper where not set.
	FittedBy, CheckedBy string
	FittedAt, CheckedAt time.Time
	AuthorisedBy        string
	AuthorisedAt        time.Time
	ValidUntil          time.Time
	SharedWith          []string // numbers of other permits that hold the same point
	URL                 string   // content of the QR code, upper case for the smallest symbol; must not be empty
	Code                string   // the tag's code, its check character last; must not be empty
}

// LockTagSheet is a set of lock tags, several to a page.
type LockTagSheet struct {
	Stamp
	Tags []LockTag
}

// WriteLockTags writes the tags as PDF, four to an A4 page with cut marks and a mark
// for the hole. Refuses (ErrIncomplete) a sheet without tags, and a tag without point,
// position, clearance position, code or address. Nothing is written on error.
func WriteLockTags(w io.Writer, s LockTagSheet) error { return errors.New("not yet") }
