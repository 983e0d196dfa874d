package drain

import (
	"math"
	"sort"
)

// suspects ranks the points that could let a leak of rate m³/s in. The least fault
// that explains it comes first: a large valve with much pressure behind it needs
// less wrong with its seat. What came in at the temperature of what stands behind a
// point speaks for it; a point with less pressure behind it than the section has
// comes last, since nothing can flow in there.
func (o Outlook) suspects(r Record, points []string) []Boundary {
	known := map[string]Boundary{}
	for _, b := range o.Boundary {
		known[b.Name] = b
	}
	var list []Boundary
	if points == nil {
		list = append(list, o.Boundary...)
	}
	for _, name := range points {
		b, ok := known[name]
		if !ok {
			b = Boundary{Name: name}
		}
		list = append(list, b)
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].ease(r) > list[j].ease(r) })
	return list
}

// ease grows with how readily a point explains a refill. Unknown sizes and
// pressures count as small ones: DN 15 and 0.1 bar.
func (b Boundary) ease(r Record) float64 {
	dn, over := b.DNmm, b.UpstreamBar-r.GaugeBar
	if dn == 0 {
		dn = 15
	}
	if b.UpstreamBar == 0 {
		over = 0.1
	}
	if over <= 0 {
		return over - 1
	}
	e := dn * math.Sqrt(over)
	if r.HoldTempC != nil && b.TempC != 0 {
		// ten kelvin off halves it: common sense, no source
		e *= math.Pow(2, -math.Abs(*r.HoldTempC-b.TempC)/10)
	}
	return e
}

// likely names the places whose blocking or not draining would explain that
// missing m³ did not come out, best match first, at most five: unvented parts when
// there are any, then what lies behind a link.
func (o Outlook) likely(missing, spread float64) []string {
	var list []string
	for _, p := range o.Pieces {
		if p.TrappedM3-p.KeptM3 > dust && p.Air != Breathes {
			list = append(list, p.Name+" (no air)")
		}
	}
	var fits []Behind
	for _, b := range o.Behind {
		if b.M3 >= missing-spread {
			fits = append(fits, b)
		}
	}
	sort.SliceStable(fits, func(i, j int) bool {
		return math.Abs(fits[i].M3-missing) < math.Abs(fits[j].M3-missing)
	})
	for _, b := range fits {
		list = append(list, b.Name)
	}
	return list[:min(5, len(list))]
}
