package web

import (
	"slices"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// facts is how things stand aboard when a page is made.
type facts struct {
	plant *isolation.Plant
	rules *isolation.Rules
	held  permits.Held
	ship  permits.Ship
}

func (s *Server) facts() facts {
	return facts{s.reg.Plant(), s.reg.Rules(), s.reg.Held(), s.reg.Ship()}
}

// hanging returns those holdings whose lock or tag hangs.
func hanging(list []permits.Holding) []permits.Holding {
	return slices.DeleteFunc(list, func(h permits.Holding) bool { return !h.On })
}

// mostHours returns the longest period for which a permit may be authorised, for the form; the gate looks itself.
func (f facts) mostHours() float64 {
	if f.rules != nil && f.rules.MaxPeriodH > 0 {
		return f.rules.MaxPeriodH
	}
	return isolation.DefaultPeriodH
}
