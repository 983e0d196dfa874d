package paper

import (
	"errors"
	"fmt"
	"strings"
	"time"
)

// ErrIncomplete is wrapped by every refusal to print a paper that lacks something
// without which it would mislead: a tag without a position, a sheet without a date.
var ErrIncomplete = errors.New("paper is incomplete")

// Caution is the sentence at the foot of every page. It defers to those who have
// the authority that a program can't have.
const Caution = "Aid to work, not an authority: the company's safety management system, the flag state's rules " +
	"and the judgement of qualified people come first. A tag forbids, it does not prove: try, measure, look."

// Stamp says from what a paper was printed, so that it can be held against the
// register later. It is embedded in every sheet and printed at the foot of each page.
type Stamp struct {
	// Ship is the ship's name, printed at the head of each page.
	Ship string
	// PrintedAt is when the paper was made; also the PDF's creation date. Printed in
	// its own location with the offset from UTC. Must not be zero.
	PrintedAt time.Time
	// PrintedBy is who asked for the paper; may be empty.
	PrintedBy string
	// Entry is the number of the log's head from which the paper was made.
	Entry int64
	// Hash is the hash of that head, hexadecimal or base64; shortHash prints its beginning.
	Hash string
	// URL is the address of that entry's page, shown as a small QR at the foot of filed papers; no code if empty. Tags
	// and labels have their own code and never carry this one beside it.
	URL string
}

// Place is where a point is found. Empty fields are left out in print.
type Place struct {
	Deck, Frame, Side string // "4", "32", "port"
	Note              string // anything else, such as "behind the cooler"
}

// String is the place in one line: "deck 4, frame 32, port". Empty if nothing is known.
func (p Place) String() string {
	parts := make([]string, 0, 4)
	for _, f := range []struct{ label, text string }{{"deck ", p.Deck}, {"frame ", p.Frame}, {"", p.Side}, {"", p.Note}} {
		if t := strings.TrimSpace(f.text); t != "" {
			parts = append(parts, f.label+t)
		}
	}
	return strings.Join(parts, ", ")
}

// Signature is one act that somebody signed. The zero value means not signed yet and
// is printed as a line to sign on.
type Signature struct {
	Name, Role string
	Act        string    // "authorised", "accepted", "extended to 18:00"; may be empty where the heading says it
	At         time.Time // zero if not signed
	Entry      int64     // number of the log's entry, 0 if none
	Note       string    // reason or remark in the signer's words
}

// IsSigned tells whether somebody signed.
func (s Signature) IsSigned() bool { return s.Name != "" && !s.At.IsZero() }

// check refuses a stamp that can't date the paper.
func (s Stamp) check() error {
	if s.PrintedAt.IsZero() {
		return fmt.Errorf("%w: PrintedAt is not set", ErrIncomplete)
	}
	return nil
}
