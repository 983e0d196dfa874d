package screens

// DemoPerson is somebody of the demo's crew whose PIN may be known to everybody.
type DemoPerson struct {
	ID, Name, Role, PIN string
}

// SignInPage lets a person pick who they are and type their PIN.
type SignInPage struct {
	Frame
	People []Signer
	Next   string // where to go afterwards
	Demo   []DemoPerson
	Trust  bool // the ship has an authority of its own, of which a page tells
}
