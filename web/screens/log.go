package screens

import (
	"stillwatch/permits"
	"stillwatch/permits/register"
)

// LogPage lists entries of the log, the newest first, with what gates refused among them.
type LogPage struct {
	Frame
	Lines   []EntryLine
	Kinds   []permits.Kind
	Filter  LogFilter
	Older   string // address of the page before this one
	SignIns bool   // signing in and out is listed too
	Full    register.Head
}

// LogFilter is what the reader asked for.
type LogFilter struct{ Kind, Permit, Point, Person string }

// People returns everybody for the filter.
func (p LogPage) People() []permits.Person { return p.Crew }

// EntryPage is one entry as it stands in the log, to the byte.
type EntryPage struct {
	Frame
	Line EntryLine
	Text string // the entry's own bytes, set out for reading
	Size int    // of the bytes as they are hashed
	Prev int64  // -1: none
	Next int64  // -1: none
}
