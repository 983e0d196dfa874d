package permits

import "fmt"

// RefusalKind is which sort of no an act got. Kinds are only ever added.
type RefusalKind string

// The sorts of no.
const (
	Refused   RefusalKind = "refused"   // a gate is shut
	Invalid   RefusalKind = "invalid"   // the act itself makes no sense: a field is wrong
	NotFound  RefusalKind = "not found" // it speaks of something that does not exist
	Conflict  RefusalKind = "conflict"  // somebody else was quicker, or the same id came with another content
	Forbidden RefusalKind = "forbidden" // this person may not
)

// Refusal is the answer to an act that may not happen. What says in a sentence what was refused and why; Opens says
// what would open the gate. Both are written for a tired person. Every other error is internal and is not shown.
type Refusal struct {
	Kind  RefusalKind
	Gate  string // the gate's name in the way's table, such as "fit lock"
	What  string
	Opens string
	Field string // the form's field, when one is wrong
	cause error
}

// Error returns the whole refusal in words.
func (r *Refusal) Error() string {
	if r.Opens == "" {
		return r.What
	}
	return r.What + " " + r.Opens
}

// Unwrap returns the cause, if there is one.
func (r *Refusal) Unwrap() error { return r.cause }

// refuse makes the refusal of a gate.
func refuse(gate, opens, what string, args ...any) *Refusal {
	return &Refusal{Kind: Refused, Gate: gate, What: fmt.Sprintf(what, args...), Opens: opens}
}

// invalid makes the refusal of a field that makes no sense.
func invalid(field, what string, args ...any) *Refusal {
	return &Refusal{Kind: Invalid, Gate: "form", Field: field, What: fmt.Sprintf(what, args...)}
}
