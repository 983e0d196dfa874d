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
	Now bool // the first that is not done
	beginPage
}

// beginPage is a page on which something is done, and what its button says.
type beginPage struct{ Href, Button string }

// beginPages is where each is done.
var beginPages = map[permits.BeginKey]beginPage{
	permits.BeginCrew: {"/people", "People"}, permits.BeginPINs: {"/people", "Who is aboard"},
	permits.BeginFile: {"/plant", "Template and proposal"}, permits.BeginForce: {"/plant/proposed", "Read the proposal"},
	permits.BeginLabels: {"/points", "Points and labels"}, permits.BeginPermit: {"/permits/new", "Request it"}}

func beginLines(set permits.Setting) []beginLine {
	var out []beginLine
	now := true
	for _, b := range set.ToBegin() {
		out = append(out, beginLine{b, now && !b.Done, beginPages[b.Key]})
		now = now && b.Done
	}
	return out
}
