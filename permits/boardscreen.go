package permits

import (
	"encoding/hex"
	"slices"
	"strings"
)

// Kinds of the screens that show the board without anybody signed in.
const (
	KindAllowScreen Kind = "allow board screen"
	KindEndScreen   Kind = "end board screen"
)

// screensMost is how many board screens a ship may have (our choice: more than one in every space).
const screensMost = 200

// BoardScreen is a device that hangs in a space and shows the board to whoever passes. Nobody is signed in on it; it
// reads the board and nothing else, and it signs nothing.
type BoardScreen struct {
	Name    string
	Key     TagDigest // of the secret that the device alone has
	Allowed Mark
}

// Screen returns the board screen whose secret has this digest; ok is false for any other, and for one that was ended.
func (s Ship) Screen(key TagDigest) (screen BoardScreen, ok bool) {
	i := slices.IndexFunc(s.Screens, func(b BoardScreen) bool { return b.Key == key })
	if i < 0 {
		return BoardScreen{}, false
	}
	return s.Screens[i], true
}

// screenNamed returns where the screen with this name stands among the ship's; -1 if there is none.
func (s Ship) screenNamed(name string) int {
	return slices.IndexFunc(s.Screens, func(b BoardScreen) bool { return looksLike(b.Name, name) })
}

// AllowScreen lets one device show the board from now on, until it is ended.
type AllowScreen struct {
	Name string    `json:"name"` // where it hangs, such as "Bridge"
	Key  TagDigest `json:"key"`
}

// Kind says which act this is.
func (AllowScreen) Kind() Kind { return KindAllowScreen }

func (AllowScreen) rule() rule { return signedBy("let a screen show the board", ChiefEngineer, Master) }

func (a AllowScreen) tell(Names, Entry) string { return "let the screen " + a.Name + " show the board" }

func (AllowScreen) touches(Permit) Touched { return Touched{} }

func (a AllowScreen) decideShip(s Setting) error {
	if err := checkName("name", a.Name, 2); err != nil {
		return err
	}
	if raw, err := hex.DecodeString(string(a.Key)); err != nil || len(raw) != 32 {
		return invalid("key", "The digest of the screen's secret makes no sense.")
	}
	switch {
	case s.Ship.screenNamed(a.Name) >= 0:
		return refuse("board screen", "Give it another name, or end that one first.",
			"A board screen with the name %s is in use.", a.Name)
	case len(s.Ship.Screens) >= screensMost:
		return refuse("board screen", "End one that hangs no more.", "The ship has %d board screens, and no more are kept.",
			screensMost)
	}
	return nil
}

func (a AllowScreen) applyShip(e Entry, ship *Ship) {
	ship.Screens = append(slices.Clip(ship.Screens), BoardScreen{a.Name, a.Key, Mark{e.By, e.At}})
}

// EndScreen ends what AllowScreen began: the device shows the board no more.
type EndScreen struct {
	Name string `json:"name"`
}

// Kind says which act this is.
func (EndScreen) Kind() Kind { return KindEndScreen }

func (EndScreen) rule() rule { return signedBy("end a board screen", ChiefEngineer, Master, Officer) }

func (a EndScreen) tell(Names, Entry) string { return "ended the board screen " + a.Name }

func (EndScreen) touches(Permit) Touched { return Touched{} }

func (a EndScreen) decideShip(s Setting) error {
	if i := s.Ship.screenNamed(a.Name); i < 0 || s.Ship.Screens[i].Name != a.Name {
		return refuse("board screen", "The page of the board screens lists those in use.",
			"No board screen with the name %q is in use.", strings.TrimSpace(a.Name))
	}
	return nil
}

func (a EndScreen) applyShip(_ Entry, ship *Ship) {
	ship.Screens = slices.DeleteFunc(slices.Clone(ship.Screens), func(b BoardScreen) bool { return b.Name == a.Name })
}
