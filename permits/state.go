package permits

// State is where a permit stands on its way. The zero value is no state. Texts are stored, numbers never.
type State uint8

// The states of the way, in its order.
const (
	unset State = iota
	Draft
	Authorised
	Isolating
	Proving
	Live
	Suspended
	Testing
	HandedBack
	Restoring
	Closed
	Cancelled
)

var stateNames = [...]string{"unset", "draft", "authorised", "isolating", "proving", "live", "suspended",
	"under test", "handed back", "restoring", "closed", "cancelled"}

// States returns every state in the order of the way.
func States() []State {
	return []State{Draft, Authorised, Isolating, Proving, Live, Suspended, Testing, HandedBack, Restoring, Closed,
		Cancelled}
}

// String returns the state's text, as stored and shown.
func (s State) String() string {
	if int(s) < len(stateNames) {
		return stateNames[s]
	}
	return "unset"
}

// ParseState returns the state whose text this is; ok is false for any other text.
func ParseState(text string) (s State, ok bool) {
	for i, name := range stateNames {
		if i > 0 && name == text {
			return State(i), true
		}
	}
	return unset, false
}

// IsOver reports whether the permit has ended: nothing can happen to it any more.
func (s State) IsOver() bool { return s == Closed || s == Cancelled }

// MarshalText stores the state as its text.
func (s State) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText reads what MarshalText wrote; an unknown text is an error.
func (s *State) UnmarshalText(text []byte) error {
	if len(text) == 0 || string(text) == "unset" {
		*s = unset
		return nil
	}
	got, ok := ParseState(string(text))
	if !ok {
		return invalid("state", "%q is not a state of a permit", text)
	}
	*s = got
	return nil
}
