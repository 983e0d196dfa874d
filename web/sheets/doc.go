// Package sheets puts permits, plans, tags and the handover on paper: it fills the structs of permits/paper from how
// things stand, in the words of the screens. It knows no request and writes no file.
//
// Begin with Permit.
package sheets
