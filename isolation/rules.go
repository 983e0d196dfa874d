package isolation

import "slices"

// Rules say how sources must be cut, in which order, and how long a permit may run. They are read from a rules file
// and not changed afterwards, so they may be read by many at once.
type Rules struct {
	Demands     []DemandRule // the first that matches holds
	Order       [][]Energy   // groups isolated one after the other; energies in no group come last, together
	MaxPeriodH  float64      // longest period of a permit, hours; 24 unless the file says otherwise
	Countersign []Exposure   // exposures for which the master countersigns
	AirRules    string       // the set by which air is judged: an id of atmosphere.Sets
	AirEveryMin float64      // air is tested again at the latest after so long, minutes
	AirBreakMin float64      // after so long without anybody inside it is tested anew, minutes
	SHA256      string       // of the file's bytes, lower-case hex: every plan names it
	Text        []byte       // the file as it was read
}

// DefaultPeriodH is the longest period of a permit where the rules file says nothing: 24 hours (UK Code of safe
// working practices for merchant seafarers, second hand).
const DefaultPeriodH = 24

// How often air is tested where the rules file says nothing: A.1050(27) 7.3, read, asks for tests at regular intervals
// and after every break without a figure; the figures are common practice, no source.
const (
	DefaultAirEveryMin = 60
	DefaultAirBreakMin = 30
)

// Group returns the number of the group of Order in which an energy is isolated, from 0; len(Order) for one that is in
// no group. An exact word counts before the general word for all of its kind.
func (r *Rules) Group(e Energy) int {
	for i, g := range r.Order {
		if slices.Contains(g, e) {
			return i
		}
	}
	for i, g := range r.Order {
		if slices.ContainsFunc(g, e.IsUnder) {
			return i
		}
	}
	return len(r.Order)
}
