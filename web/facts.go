package web

import (
	"stillwatch/isolation"
	"stillwatch/permits"
)

// facts is how things stand aboard when a page is made.
type facts struct {
	plant *isolation.Plant
	rules *isolation.Rules
	held  []permits.Holding
	ship  permits.Ship
}

func (s *Server) facts() facts {
	return facts{s.reg.Plant(), s.reg.Rules(), s.reg.Holdings(), s.reg.Ship()}
}

// mostHours gives the longest period for which a permit may be authorised, for the form; the gate looks itself.
func (f facts) mostHours() float64 {
	if f.rules != nil && f.rules.MaxPeriodH > 0 {
		return f.rules.MaxPeriodH
	}
	return isolation.DefaultPeriodH
}
