package isolation

import "fmt"

// Place is where a thing stands aboard: what a person needs to walk to it.
// The zero value means that the plant file gives no place.
type Place struct {
	Deck  int    `yaml:"deck" json:"deck"`   // numbered from the tank top upward
	Frame int    `yaml:"frame" json:"frame"` // frame number, counted from aft
	Side  string `yaml:"side" json:"side"`   // "port", "starboard" or "centre"
}

// Sides returns the sides that a place may have.
func Sides() []string { return []string{"port", "starboard", "centre"} }

// IsZero reports whether no place was given.
func (p Place) IsZero() bool { return p == Place{} }

// String returns the place in the words used aboard, such as "deck 2, frame 32, port".
func (p Place) String() string {
	if p.IsZero() {
		return "place not recorded"
	}
	text := fmt.Sprintf("deck %d, frame %d", p.Deck, p.Frame)
	if p.Side != "" {
		text += ", " + p.Side
	}
	return text
}
