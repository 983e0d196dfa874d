package register

import (
	"strings"

	"stillwatch/permits"
)

// The length of a PIN in digits: with gloves off it is typed at every signature, so it is no password.
const (
	leastDigits = 6
	mostDigits  = 12
)

// CheckPIN says whether a new PIN may be set: 6 to 12 digits, not one digit or one group over and over, no run up or
// down, not one of those that people take first. The answer is an Invalid refusal of the field "new_pin", or nil.
func CheckPIN(pin string) error {
	invalid := func(what string) error {
		return &permits.Refusal{Kind: permits.Invalid, Gate: "form", Field: "new_pin", What: what}
	}
	if len(pin) < leastDigits || len(pin) > mostDigits || strings.Trim(pin, "0123456789") != "" {
		return invalid("A PIN has 6 to 12 digits and nothing else.")
	}
	if repeats(pin) {
		return invalid("This PIN only repeats itself: take one that is harder to guess.")
	}
	if isRun(pin) {
		return invalid("This PIN is a run of digits: take one that is harder to guess.")
	}
	if takenFirst[pin] {
		return invalid("This PIN is one of those that people try first: take another.")
	}
	return nil
}

// repeats reports whether a group of one, two or three digits makes the whole PIN, or the second half is the first.
func repeats(pin string) bool {
	for size := 1; size <= len(pin)/2; size++ {
		if pin == strings.Repeat(pin[:size], len(pin)/size+1)[:len(pin)] {
			return true
		}
	}
	return false
}

// isRun reports whether every digit is one more, or every digit is one less, than the one before, 0 after 9.
func isRun(pin string) bool {
	up, down := true, true
	for i := 1; i < len(pin); i++ {
		step := (int(pin[i]) - int(pin[i-1]) + 10) % 10
		up, down = up && step == 1, down && step == 9
	}
	return up || down
}

// takenFirst are PINs that pass the other rules and yet are favourites: keyboard patterns and doubled digits (common
// practice, no source).
var takenFirst = map[string]bool{
	"112233": true, "223344": true, "332211": true, "445566": true, "665544": true, "147258": true, "258369": true,
	"159357": true, "357159": true, "147852": true, "852147": true, "741852": true, "963852": true, "123321": true,
	"654456": true, "102030": true, "100000": true, "200000": true, "000001": true, "111222": true, "222333": true,
	"135790": true, "246800": true, "135791": true, "159753": true, "753159": true, "314159": true, "271828": true,
	"147369": true, "369147": true, "987123": true, "123987": true, "11223344": true, "12344321": true,
}
