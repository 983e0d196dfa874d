package permits

import "strings"

// Kinds of what happens at the doors: they change nothing, and are kept.
const (
	KindSignIn     Kind = "sign in"
	KindSignOut    Kind = "sign out"
	KindRefusedPIN Kind = "refused pin"
	KindRefusedAct Kind = "refused"
)

// SignIn says that somebody opened a session, and on what sort of device.
type SignIn struct {
	Person PersonID `json:"person"`
	Device string   `json:"device,omitempty"`
}

// Kind says which act this is.
func (SignIn) Kind() Kind { return KindSignIn }

func (SignIn) rule() rule { return unsignedBy("sign in") }

func (SignIn) tell(Names, Entry) string { return "signed in" }

func (SignIn) touches(Permit) Touched { return Touched{} }

func (SignIn) decideShip(Setting) error { return nil }

func (SignIn) applyShip(Entry, *Ship) {}

// SignOut says that a session was ended.
type SignOut struct {
	Person PersonID `json:"person"`
}

// Kind says which act this is.
func (SignOut) Kind() Kind { return KindSignOut }

func (SignOut) rule() rule { return unsignedBy("sign out") }

func (SignOut) tell(Names, Entry) string { return "signed out" }

func (SignOut) touches(Permit) Touched { return Touched{} }

func (SignOut) decideShip(Setting) error { return nil }

func (SignOut) applyShip(Entry, *Ship) {}

// RefusedPIN says that a wrong PIN was given for somebody; Locked, that no PIN is taken for a while.
type RefusedPIN struct {
	Person PersonID `json:"person"`
	Tries  int      `json:"tries"`
	Locked bool     `json:"locked,omitempty"`
	Device string   `json:"device,omitempty"`
	From   string   `json:"from,omitempty"` // what the count is of, as the register names it
}

// Kind says which act this is.
func (RefusedPIN) Kind() Kind { return KindRefusedPIN }

func (RefusedPIN) rule() rule { return unsignedBy("be refused a PIN") }

func (a RefusedPIN) tell(n Names, _ Entry) string {
	return "typed a wrong PIN for " + n.Name(a.Person) + ", " + itoa(a.Tries) + " in a row" +
		either(a.Locked, ": none is taken for a while", "")
}

func (a RefusedPIN) touches(Permit) Touched { return Touched{Person: a.Person} }

func (RefusedPIN) decideShip(Setting) error { return nil }

func (RefusedPIN) applyShip(Entry, *Ship) {}

// RefusedAct is kept of every act that a gate refused: which, and what the person was told. It changes nothing.
type RefusedAct struct {
	Of    Kind   `json:"of"`
	Gate  string `json:"gate"`
	What  string `json:"what"`
	Opens string `json:"opens,omitempty"`
}

// Kind says which act this is.
func (RefusedAct) Kind() Kind { return KindRefusedAct }

func (RefusedAct) rule() rule { return unsignedBy("be refused an act") }

func (a RefusedAct) tell(Names, Entry) string {
	return strings.TrimSpace("wanted to " + a.Of.Does() + ": " + a.What + " " + a.Opens)
}

func (RefusedAct) touches(Permit) Touched { return Touched{} }

func (RefusedAct) decideShip(Setting) error { return nil }

func (RefusedAct) applyShip(Entry, *Ship) {}
