package screens

// PINPage is where somebody changes their own PIN.
type PINPage struct {
	Frame
	ByOther bool // the PIN was set by somebody else: it signs nothing before it is changed
}
