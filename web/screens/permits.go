package screens

import (
	"time"

	"stillwatch/permits"
	"stillwatch/permits/register"
)

// PermitsPage lists permits, closed ones too.
type PermitsPage struct {
	Frame
	Lines  []register.PermitLine
	States []permits.State
	State  string
	Text   string
	Older  string // address of the page before this one
	Now    time.Time
}
