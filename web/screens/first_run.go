package screens

// FirstRunPage is the very first page of a new register: it makes the first chief engineer.
type FirstRunPage struct {
	Frame
	AsksCode bool // which stands on the server's console
}
