package screens

// PINPage lets a person change their own PIN.
type PINPage struct{ Frame }
