package paper

import (
	"errors"
	"io"
	"time"
)

// HandoverSheet is read through by the off-going and the oncoming officer together.
type HandoverSheet struct {
	Stamp
	Watch   string    // "08–12" or another name of the watch that begins
	At      time.Time // when the watch changes
	From    Signature // off-going; a line to sign on if not signed
	To      Signature // oncoming
	Permits []OpenPermit
	Remarks []string
}

// OpenPermit is one permit that goes over to the next watch.
type OpenPermit struct {
	Number, Title  string // the number must not be empty
	Place          Place
	State          string   // must not be empty
	Next           string   // what the next gate needs
	InCharge       string   // person in charge of the work
	LocksOn, Locks int      // fitted now, of how many
	Unchecked      int      // fitted but not yet checked by a second person
	People         []string // signed on now
	ValidUntil     time.Time
	Overdue        []string // what is past its time, in words
	Remarks        []string // what this watch should know
}

// WriteHandover writes the sheet as PDF. No open permits is a sheet that says so.
// Refuses (ErrIncomplete) a permit without number or state. Nothing is written on error.
func WriteHandover(w io.Writer, s HandoverSheet) error { return errors.New("not yet") }
