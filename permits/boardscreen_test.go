package permits

import (
	"strings"
	"testing"
)

// A board screen is allowed and ended by those who answer for the ship's machinery, under their own PIN, and two never
// share a name: a notice that "Bridge" was ended must mean one screen.
func TestBoardScreensAreAllowedAndEnded(t *testing.T) {
	r := newRig(t)
	key := func(c string) TagDigest { return TagDigest(strings.Repeat(c, 64)) }
	bridge := AllowScreen{Name: "Bridge", Key: key("a")}
	r.shipRefuses(olga, bridge, string(KindAllowScreen))
	r.shipRefuses(chief, AllowScreen{Name: "B", Key: key("a")}, "form")
	r.shipRefuses(chief, AllowScreen{Name: "Bridge", Key: "abc"}, "form")
	if err := r.tryAboard(chief, bridge); err != nil {
		t.Fatal(err)
	}
	r.shipRefuses(chief, AllowScreen{Name: "bridge", Key: key("b")}, "board screen")
	if err := r.tryAboard(chief, AllowScreen{Name: "Control room", Key: key("b")}); err != nil {
		t.Fatal(err)
	}
	if s, ok := r.ship.Screen(key("b")); !ok || s.Name != "Control room" || s.Allowed.By != chief.ID {
		t.Errorf("Screen() = %+v, %t; want the control room's, allowed by the chief engineer", s, ok)
	}
	before := r.ship
	r.shipRefuses(tomas, EndScreen{Name: "Bridge"}, string(KindEndScreen))
	r.shipRefuses(chief, EndScreen{Name: "Galley"}, "board screen")
	if err := r.tryAboard(olga, EndScreen{Name: "Bridge"}); err != nil {
		t.Fatal(err)
	}
	if _, ok := r.ship.Screen(key("a")); ok || len(r.ship.Screens) != 1 {
		t.Errorf("screens = %+v, want the control room's alone", r.ship.Screens)
	}
	if len(before.Screens) != 2 {
		t.Errorf("ending a screen changed the ship as it was: %+v", before.Screens)
	}
}
