// Package doctor is the command "doctor": it looks at what a register stands on, and changes nothing.
//
// Begin with Run.
package doctor
