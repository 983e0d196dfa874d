package envelope

import (
	"fmt"
	"math"

	"stillwatch/isolation"
	"stillwatch/isolation/energy"
)

// A reading is far ahead where it came in less than half the time foretold, less half a minute for clocks and hands; a
// volume is far off above twice or below a fifth of what is expected with its spread. Common practice, no source: wide
// enough for the margins of bores, viscosity and cooling, and a slip by a factor of ten never passes.
const (
	aheadShare  = 0.5
	aheadSlackS = 30
	offAbove    = 2
	offBelow    = 0.2
)

const again = " Read again, say what explains it, and let a second person read it too."

// isAhead reports whether what takes so many seconds was there far too soon; a negative time is not known.
func isAhead(elapsedS, takesS float64) bool {
	return elapsedS >= 0 && takesS > 0 && elapsedS+aheadSlackS < aheadShare*takesS
}

// StoredPlausibility returns whether a reading of a stored energy, in the check's unit, can be right elapsedS seconds
// after the moment from which its wait counts; a negative elapsedS says that the moment is not known, and then only the
// bounds count. It opens no gate: see JudgeStored. Returns an error for a check of an unknown kind.
func StoredPlausibility(c *isolation.StoredCheck, value, elapsedS float64) (isolation.Plausibility, error) {
	if math.IsNaN(value) || math.IsInf(value, 0) {
		return isolation.Plausibility{Verdict: isolation.Impossible, Words: c.Name + ": the reading is not a number."}, nil
	}
	if c.Unit == "" {
		return yesOrNo(c, value), nil
	}
	body, err := bodyOf(c.Stored)
	if err != nil {
		return isolation.Plausibility{}, fmt.Errorf("expect %s: %w", c.ID, err)
	}
	if g, is := body.(energy.Gas); is {
		body = g.WithVent(c.WaitS)
	}
	scale := 1.0
	if c.Unit == "bar" {
		scale = barPa
	}
	e, err := energy.Expect(body, value*scale)
	if err != nil {
		return isolation.Plausibility{}, fmt.Errorf("expect %s: %w", c.ID, err)
	}
	say := func(verdict, format string, args ...any) (isolation.Plausibility, error) {
		return isolation.Plausibility{Verdict: verdict, Words: c.Name + ": " + fmt.Sprintf(format, args...)}, nil
	}
	size := value // a voltage counts either way round
	if c.Stored.Kind == "charge" {
		size = math.Abs(value)
	}
	switch {
	case value*scale < e.Least:
		return say(isolation.Impossible, "%.4g %s cannot be right: it cannot be below %.4g %s.", value, c.Unit,
			e.Least/scale, c.Unit)
	case isAhead(elapsedS, e.TakesS):
		return say(isolation.Ahead, "%.4g %s was read after %s, and %s are expected until it is that low."+again, value,
			c.Unit, minutes(elapsedS), minutes(e.TakesS))
	case size*scale > e.Most:
		return say(isolation.Off, "%.4g %s was read, and not more than %.4g %s is expected."+again, value, c.Unit,
			e.Most/scale, c.Unit)
	}
	return isolation.Plausibility{Verdict: isolation.Plausible}, nil
}

// yesOrNo takes 0 and 1 alone.
func yesOrNo(c *isolation.StoredCheck, value float64) isolation.Plausibility {
	if value == 0 || value == 1 {
		return isolation.Plausibility{Verdict: isolation.Plausible}
	}
	return isolation.Plausibility{Verdict: isolation.Impossible, Words: c.Name + ": answer 1, yes, or 0, no."}
}

// DrainPlausibility returns whether what was recorded of a section can be right openS seconds after its drain was
// tagged open (negative: not known). It opens no gate: see JudgeSection. A section of which nothing is foretold has
// bounds only.
func DrainPlausibility(s *isolation.Section, r isolation.DrainReading, openS float64) isolation.Plausibility {
	say := func(verdict, format string, args ...any) isolation.Plausibility {
		return isolation.Plausibility{Verdict: verdict, Words: s.Name + ": " + fmt.Sprintf(format, args...)}
	}
	most := s.OutL + s.SpreadL
	if s.Basis != nil {
		most += stubL(s.Basis)
	}
	least := max(0, s.OutL-s.SpreadL)
	expected := fmt.Sprintf("%.3g L are expected, from %.3g to %.3g L", s.OutL, least, most)
	switch {
	case !(r.OutL >= 0) || !(r.HoldInL >= 0) || math.IsInf(r.OutL+r.HoldInL, 0):
		return say(isolation.Impossible, "a volume cannot be below zero.")
	case !(r.GaugeBar*barPa >= -energy.AtmospherePa):
		return say(isolation.Impossible, "%.3g bar cannot be right: it is below a vacuum.", r.GaugeBar)
	case s.OutL <= 0:
		return isolation.Plausibility{Verdict: isolation.Plausible}
	case r.OutL > offAbove*most:
		return say(isolation.Off, "%.3g L were recorded; %s."+again, r.OutL, expected)
	case r.OutL > 0 && r.OutL < offBelow*least:
		return say(isolation.Off, "only %.3g L were recorded; %s."+again, r.OutL, expected)
	}
	if takes := timeToDrain(s, r.OutL-s.SpreadL); isAhead(openS, takes) {
		return say(isolation.Ahead, "%.3g L were recorded after %s, and %s are expected until then."+again, r.OutL,
			minutes(openS), minutes(takes))
	}
	return isolation.Plausibility{Verdict: isolation.Plausible}
}

// timeToDrain is when, by the section's course, so many litres have come out, seconds; 0 where there is no course.
func timeToDrain(s *isolation.Section, litres float64) float64 {
	for i, p := range s.Curve {
		if p.L < litres {
			continue
		}
		if i == 0 || p.L == s.Curve[i-1].L {
			return p.S
		}
		q := s.Curve[i-1]
		return q.S + (p.S-q.S)*(litres-q.L)/(p.L-q.L)
	}
	if len(s.Curve) == 0 {
		return 0
	}
	return s.Curve[len(s.Curve)-1].S
}

// minutes writes a time as it is said aloud.
func minutes(s float64) string {
	switch {
	case s < 120:
		return fmt.Sprintf("%.0f s", s)
	case s < 7200:
		return fmt.Sprintf("%.0f min", s/60)
	}
	return fmt.Sprintf("%.1f h", s/3600)
}
