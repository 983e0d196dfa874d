package isolation

import "stillwatch/isolation/drain"

// Section is one liquid-filled part of the isolated envelope that must be drained before it is opened. Volumes are
// litres, times seconds.
type Section struct {
	ID       string   `json:"id"`
	Name     string   `json:"name"`
	Nodes    []NodeID `json:"nodes"`
	Fluid    string   `json:"fluid"`
	TempC    float64  `json:"temp_c"`
	TrappedL float64  `json:"trapped_l"`
	OutL     float64  `json:"out_l"`    // expected to come out
	KeptL    float64  `json:"kept_l"`   // cannot come out: pockets and film
	SpreadL  float64  `json:"spread_l"` // uncertainty of OutL, plus or minus
	Pockets  []Pocket `json:"pockets,omitempty"`
	Drains   []NodeID `json:"drains"`
	Vents    []NodeID `json:"vents"`
	DrainS   float64  `json:"drain_s"`
	HoldS    float64  `json:"hold_s,omitempty"` // how long it is watched where the job asks for more than ten minutes
	HoldWhy  string   `json:"hold_why,omitempty"`
	Provable bool     `json:"provable"` // an opening of the plan can prove it empty
	Why      string   `json:"why,omitempty"`
	Curve    []Level  `json:"curve,omitempty"`
	Suspects []NodeID `json:"suspects,omitempty"` // closed points that could pass into it
	Basis    *Basis   `json:"basis,omitempty"`    // what the figures were computed from
}

// Pocket is liquid that stays in a low place.
type Pocket struct {
	At     NodeID  `json:"at"`
	Name   string  `json:"name"`
	Litres float64 `json:"litres"`
}

// Level is one point of a curve: seconds since the drain was opened, litres that have come out.
type Level struct {
	S float64 `json:"s"`
	L float64 `json:"l"`
}

// Basis is what a section's figures were computed from, in plain values, so that a reading can be judged years later
// from the plan alone.
type Basis struct {
	Fluid   drain.FluidSpec `json:"fluid"`
	Section drain.Section   `json:"section"` // its Fluid is made from the field above
	Stubs   []Stub          `json:"stubs,omitempty"`
}

// Stub is a short dead end to which no air gets: up to Litres of it may come out with the rest, or stay.
type Stub struct {
	Name   string  `json:"name"`
	At     NodeID  `json:"at"` // the shut point at its end
	Litres float64 `json:"litres"`
}

// DrainReading is what a technician records of one section: litres that have come out in all since its drain was
// opened, seconds of the hold after the flow had stopped, litres that came in that hold, then the pressure (bar gauge)
// and temperature (°C) at the section.
type DrainReading struct {
	OutL     float64 `json:"out_l"`
	HoldS    float64 `json:"hold_s"`
	HoldInL  float64 `json:"hold_in_l"`
	GaugeBar float64 `json:"gauge_bar"`
	TempC    float64 `json:"temp_c"`
}

// Finding is a verdict on a reading. OK opens the gate; Words say why or why not, for a tired person. Result is
// "drained", "not drained", "passing", "within limit" or "above limit".
type Finding struct {
	OK       bool     `json:"ok"`
	Result   string   `json:"result"`
	Words    string   `json:"words"`
	Likely   []string `json:"likely,omitempty"`   // likely pockets, in words
	Suspects []NodeID `json:"suspects,omitempty"` // points that could be passing, likeliest first
	Class    string   `json:"class,omitempty"`    // ISO 5208 rate that the passing would be
}
