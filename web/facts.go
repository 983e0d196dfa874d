package web

import (
	"slices"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// setting returns how things stand for somebody now: what the gates are asked with, and what pages are made from.
func (s *Server) setting(who permits.Person) permits.Setting {
	clock := s.now()
	at := clock
	if latest := s.reg.Latest(); latest.After(at) {
		at = latest
	}
	return permits.Setting{At: at, Clock: clock, By: who, Ship: s.reg.Ship(), Held: s.reg.Held(), Plant: s.reg.Plant(),
		Rules: s.reg.Rules()}
}

// hanging returns those holdings whose lock or tag hangs.
func hanging(list []permits.Holding) []permits.Holding {
	return slices.DeleteFunc(list, func(h permits.Holding) bool { return !h.On })
}

// isLabelled reports whether a point carries a label, which fitting asks for.
func isLabelled(set permits.Setting, point isolation.NodeID) bool {
	_, ok := set.Ship.Labels[point]
	return ok
}
