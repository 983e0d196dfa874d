package screens

import "stillwatch/permits"

// FirstRunPage is the very first page of a new register: it makes the first chief engineer.
type FirstRunPage struct {
	Frame
	AsksCode bool // which stands on the server's console
}

// beginLine is one thing that a new register needs, with the page where it is done.
type beginLine struct {
	permits.BeginStep
	Now  bool // the first that is not done
	Href string
}

// beginPages is where each is done.
var beginPages = map[permits.BeginKey]string{permits.BeginCrew: "/people", permits.BeginPINs: "/people",
	permits.BeginFile: "/plant", permits.BeginForce: "/plant/proposed", permits.BeginLabels: "/points",
	permits.BeginPermit: "/permits/new"}

func beginLines(set permits.Setting) []beginLine {
	var out []beginLine
	now := true
	for _, b := range set.ToBegin() {
		out = append(out, beginLine{b, now && !b.Done, beginPages[b.Key]})
		now = now && b.Done
	}
	return out
}
