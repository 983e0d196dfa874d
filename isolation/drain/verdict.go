package drain

import (
	"fmt"
	"math"
	"strings"
)

// Record is what the technician wrote down.
type Record struct {
	OutM3    float64 // what came out before the hold, m³
	OpenS    float64 // how long the drain was open before the hold; 0: not written down
	HoldS    float64 // length of the hold, s
	HoldInM3 float64 // what came in the hold, m³
	GaugeBar float64 // pressure in the section after draining, gauge
	TempC    float64 // of the liquid that came out, °C

	HoldTempC *float64 // of what came in the hold, °C; nil: not taken
}

// Result is what a record says about a section.
type Result uint8

const (
	// Undecided is the zero Result and never returned with a nil error.
	Undecided Result = iota
	// Drained: everything that had to come out did, nothing came back.
	Drained
	// NotDrained: liquid, pressure or doubt is left.
	NotDrained
	// Passing: something lets liquid in.
	Passing
)

// String returns the text that is stored and shown.
func (r Result) String() string {
	switch r {
	case Drained:
		return "drained"
	case NotDrained:
		return "not drained"
	case Passing:
		return "passing"
	}
	return "undecided"
}

// Verdict is the judgement of a record. Only Drained lets a permit go on.
type Verdict struct {
	Result     Result
	Words      string   // plain sentences with the figures compared
	ExpectedM3 float64  // at the temperature of what came out
	SpreadM3   float64  // margin used
	Likely     []string // places that may still hold liquid or be blocked, best match first
	RateM3S    float64  // of the leak, if Passing and it can be told
	Class      string   // ISO 5208 class that the first suspect would have; "" if its size is unknown
	Suspects   []string // points that could be letting it in, likeliest first
	UnseenM3S  float64  // a leak slower than this could not have been seen in the hold
}

const (
	// shortestHoldS: common practice, no source.
	shortestHoldS = 600
	// smallestM3 is what can be told from a drip in a measuring jug: 10 mL.
	smallestM3 = 1e-5
	// restBar is read as no pressure on a line gauge: common practice, no source.
	restBar = 0.05
)

// Judge compares a record with the outlook. points names the shut points that
// could pass; nil takes the section's own boundary. The margins of the outlook are
// used on both sides: within them a difference says nothing. Never Drained if the
// outlook is not provable, whatever came out. A record with negative volumes,
// impossible pressures or temperatures is refused with a [FieldError].
func Judge(o Outlook, r Record, points []string) (Verdict, error) {
	if err := o.checkRecord(r); err != nil {
		return Verdict{}, err
	}
	v := Verdict{ExpectedM3: o.OutM3, SpreadM3: o.SpreadM3 + smallestM3}
	if rho, err := o.fluid.DensityAt(r.TempC); err == nil {
		v.ExpectedM3 *= o.DensityKg / rho
	}
	runoff := o.runoff(r)
	if r.HoldS > 0 {
		v.UnseenM3S = (runoff + smallestM3) / r.HoldS
	}
	refill := r.HoldInM3 - runoff
	excess := r.OutM3 - v.ExpectedM3 - v.SpreadM3
	if refill > smallestM3 || excess > 0 {
		return o.passing(v, r, refill, points), nil
	}
	if doubt := o.doubts(v, r); len(doubt) > 0 {
		v.Result = NotDrained
		v.Words = strings.Join(doubt, " ")
		v.Likely = o.likely(math.Max(0, v.ExpectedM3-r.OutM3), v.SpreadM3)
		if r.GaugeBar > restBar {
			v.Suspects = names(o.suspects(r, points))
		}
		return v, nil
	}
	v.Result = Drained
	v.Words = fmt.Sprintf("%s came out where %s had to, give or take %s; in %s nothing came back that a leak faster "+
		"than %s would have brought.",
		litres(r.OutM3), litres(v.ExpectedM3), litres(v.SpreadM3), lasted(r.HoldS), perHour(v.UnseenM3S))
	if o.KeptM3 > smallestM3 {
		v.Words += fmt.Sprintf(" %s stay in %s.", litres(o.KeptM3), o.pocketNames())
	}
	return v, nil
}

func (o Outlook) checkRecord(r Record) error {
	if !o.timed {
		return refuse("outlook", "was not made by Predict")
	}
	err := firstOf(volumeBand.within("litres out", r.OutM3), secondsBand.within("time open", r.OpenS),
		secondsBand.within("hold time", r.HoldS), volumeBand.within("litres in the hold", r.HoldInM3),
		band{-1.05, 1000, "bar"}.within("pressure", r.GaugeBar), tempBand.within("temperature", r.TempC))
	if err == nil && r.HoldTempC != nil {
		err = tempBand.within("temperature in the hold", *r.HoldTempC)
	}
	if err == nil && r.HoldInM3 > 0 && r.HoldS == 0 {
		err = refuse("hold time", "is missing although %s came in the hold", litres(r.HoldInM3))
	}
	return err
}

// runoff is what the film and the last drips still bring in the hold, m³; the
// drips at most 0.1 L, so that a large section does not hide a leak.
func (o Outlook) runoff(r Record) float64 {
	start := r.OpenS
	if start == 0 {
		start = o.WaitS
	}
	f := filmM3(o.walls, o.ViscosityM, start) - filmM3(o.walls, o.ViscosityM, start+r.HoldS)
	return math.Min(f, o.FilmM3) + math.Min(1e-4, done*o.OutM3)
}

// passing fills in the rate, the class and the suspects.
func (o Outlook) passing(v Verdict, r Record, refill float64, points []string) Verdict {
	v.Result = Passing
	var say []string
	if refill > smallestM3 {
		v.RateM3S = refill / r.HoldS
		say = append(say, fmt.Sprintf("%s came in %s of hold: something passes at %s.", litres(r.HoldInM3), lasted(r.HoldS),
			perHour(v.RateM3S)))
	}
	excess := r.OutM3 - v.ExpectedM3 - v.SpreadM3
	if excess > 0 {
		say = append(say, fmt.Sprintf("%s came out where at most %s can have been in it.", fully(r.OutM3),
			fully(v.ExpectedM3+v.SpreadM3)))
		if r.OpenS > 0 && v.RateM3S == 0 {
			v.RateM3S = excess / r.OpenS
			say = append(say, fmt.Sprintf("Something passes at %s or more.", perHour(v.RateM3S)))
		}
	}
	list := o.suspects(r, points)
	v.Suspects = names(list)
	if len(list) > 0 && v.RateM3S > 0 {
		if v.Class = SeatClass(list[0].DNmm, v.RateM3S); v.Class != "" {
			say = append(say, fmt.Sprintf("Through %s (DN %.0f) that is ISO 5208 rate %s.", list[0].Name, list[0].DNmm, v.Class))
		}
	}
	if z, ok := o.StandsAt(v.RateM3S); ok && v.RateM3S > 0 {
		say = append(say, fmt.Sprintf("With the drain open it would stand at about %.3g m.", z))
	}
	if missing := v.ExpectedM3 - v.SpreadM3 - r.OutM3; missing > 0 {
		v.Likely = o.likely(v.ExpectedM3-r.OutM3, v.SpreadM3)
		say = append(say, fmt.Sprintf("%s are also still missing: part of it may be late drainage.",
			litres(v.ExpectedM3-r.OutM3)))
	}
	v.Words = strings.Join(say, " ")
	return v
}

// doubts are the reasons, in sentences, why a section can't be called drained.
func (o Outlook) doubts(v Verdict, r Record) []string {
	var say []string
	add := func(format string, args ...any) { say = append(say, fmt.Sprintf(format, args...)) }
	missing := v.ExpectedM3 - r.OutM3
	switch {
	case missing > v.SpreadM3 && r.OutM3 < 0.1*v.ExpectedM3:
		add("Only %s of %s came out: the drain is blocked, shut or not joined to the section, or no air gets in.",
			litres(r.OutM3), litres(v.ExpectedM3))
	case missing > v.SpreadM3:
		add("%s of %s are missing, more than the %s by which the estimate may be off.", fully(missing), litres(v.ExpectedM3),
			fully(v.SpreadM3))
	}
	if !o.Provable {
		add("Nothing that comes out proves this section: %s.", o.Why)
	}
	if v.SpreadM3 >= v.ExpectedM3 && o.Provable {
		add("The estimate of %s may be off by as much as itself, so nothing is proved.", litres(v.ExpectedM3))
	}
	switch {
	case r.GaugeBar > restBar:
		add("%.3g bar still stand in it: something feeds it, or drain and vent are blocked.", r.GaugeBar)
	case r.GaugeBar < -restBar:
		add("It stands at %.3g bar, below the air's pressure: no air gets in.", r.GaugeBar)
	}
	say = append(say, o.tooCold(r)...)
	if r.HoldS < shortestHoldS {
		add("The hold lasted %s; at least %s are needed to see a refill.", lasted(r.HoldS), span(shortestHoldS))
	}
	return say
}

// tooCold says whether the oil has set or had too little time at its temperature.
func (o Outlook) tooCold(r Record) []string {
	if r.TempC < o.fluid.pourC {
		return []string{fmt.Sprintf("At %.3g °C %s has set (pour point %.3g °C); it has to be warmed before it drains.",
			r.TempC, o.fluid.name, o.fluid.pourC)}
	}
	nu, err := o.fluid.ViscosityAt(r.TempC)
	if err != nil || r.OpenS == 0 {
		return nil
	}
	// the time grows at most in proportion to the viscosity
	need := o.WaitS * math.Max(1, nu/o.ViscosityM)
	if r.OpenS < need {
		return []string{fmt.Sprintf("The drain was open for %s; at %.3g °C it takes %s.", lasted(r.OpenS), r.TempC,
			span(need))}
	}
	return nil
}

func (o Outlook) pocketNames() string {
	var list []string
	for _, p := range o.Pockets {
		list = append(list, fmt.Sprintf("%s (%s)", p.Name, litres(p.VolumeM3)))
	}
	return strings.Join(list, ", ")
}

func names(list []Boundary) []string {
	var out []string
	for _, b := range list {
		out = append(out, b.Name)
	}
	return out
}

// litres writes a volume as it can be read off a jug or a drum: in millilitres below a tenth of a litre.
func litres(m3 float64) string {
	switch l := math.Abs(m3 * 1000); {
	case l < 0.0995:
		return fmt.Sprintf("%.0f mL", m3*1e6)
	case l < 99.95:
		return fmt.Sprintf("%.1f L", m3*1000)
	}
	return fmt.Sprintf("%.0f L", m3*1000)
}

// fully writes a volume with all that it is compared by.
func fully(m3 float64) string { return fmt.Sprintf("%.3g L", m3*1000) }

func perHour(m3s float64) string { return fmt.Sprintf("%.3g L/h", m3s*3.6e6) }

// span writes a time that has to be waited in the unit people would use, minutes and hours rounded up.
func span(s float64) string {
	switch {
	case s < 120:
		return fmt.Sprintf("%.0f s", s)
	case s < 7200:
		return fmt.Sprintf("%.0f min", math.Ceil(s/60-1e-9))
	}
	return fmt.Sprintf("%.1f h", math.Ceil(s/360-1e-9)/10)
}

// lasted writes a time that somebody recorded, minutes and hours rounded down: a hold is never said to have been longer
// than it was.
func lasted(s float64) string {
	switch {
	case s < 120:
		return fmt.Sprintf("%.0f s", math.Floor(s+1e-9))
	case s < 7200:
		return fmt.Sprintf("%.0f min", math.Floor(s/60+1e-9))
	}
	return fmt.Sprintf("%.1f h", math.Floor(s/360+1e-9)/10)
}
