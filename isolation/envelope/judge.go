package envelope

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"stillwatch/isolation"
	"stillwatch/isolation/drain"
)

// JudgeSection holds what a technician recorded of a section against what was computed of it. Only the result "drained"
// opens the gate. Returns an error for a record that makes no sense (a negative volume, a temperature outside what a
// line can have) and for a section without a basis. A section of which nothing could be foretold is never drained.
func JudgeSection(s *isolation.Section, r isolation.DrainReading) (isolation.Finding, error) {
	if s.Basis == nil {
		return isolation.Finding{}, fmt.Errorf("judge section %s: the plan does not say what it was computed from", s.ID)
	}
	for name, v := range map[string]float64{"litres out": r.OutL, "hold time": r.HoldS, "litres in the hold": r.HoldInL,
		"pressure": r.GaugeBar, "temperature": r.TempC} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return isolation.Finding{}, fmt.Errorf("judge section %s: %s is not a number", s.ID, name)
		}
	}
	v, err := verdictOn(s, r, func(d drain.Section) (drain.Outlook, error) { return drain.PredictWithin(d, s.DrainS) })
	// seldom, and then the words say where it would stand, which wants the course
	if err == nil && v.Result == drain.Passing {
		v, err = verdictOn(s, r, drain.Predict)
	}
	var unknown *noOutlook
	switch {
	case errors.As(err, &unknown):
		return isolation.Finding{
			Result: drain.NotDrained.String(),
			Words: fmt.Sprintf("Nothing that comes out proves %s: %s.", s.Name,
				s.Why),
		}, nil
	case err != nil:
		return isolation.Finding{}, fmt.Errorf("judge section %s: %w", s.ID, err)
	}
	f := isolation.Finding{OK: v.Result == drain.Drained, Result: v.Result.String(), Words: v.Words, Likely: v.Likely,
		Class: v.Class}
	for _, p := range v.Suspects {
		f.Suspects = append(f.Suspects, isolation.NodeID(p))
	}
	if f.OK && r.HoldS < s.HoldS {
		return isolation.Finding{Result: drain.NotDrained.String(), Words: fmt.Sprintf("The hold lasted %s; this job asks "+
			"for %s: %s.", minutes(r.HoldS), minutes(s.HoldS), strings.TrimSuffix(s.HoldWhy, "."))}, nil
	}
	if f.OK && !s.Provable {
		return isolation.Finding{Result: drain.NotDrained.String(),
			Words: fmt.Sprintf("What came out agrees with what was computed, but it proves nothing here: %s.", s.Why)}, nil
	}
	return f, nil
}

// noOutlook says that nothing can be foretold of a section.
type noOutlook struct{ error }

// verdictOn judges a reading against what by foretells.
func verdictOn(
	s *isolation.Section,
	r isolation.DrainReading,
	by func(drain.Section) (drain.Outlook, error),
) (drain.Verdict, error) {
	o, err := foretold(s.Basis, by)
	if err != nil {
		return drain.Verdict{}, &noOutlook{err}
	}
	out := r.OutL - min(stubL(s.Basis), max(0, r.OutL-o.OutM3*1000)) // what stubs let go explains that much and no more
	return drain.Judge(o, drain.Record{OutM3: out / 1000, HoldS: r.HoldS, HoldInM3: r.HoldInL / 1000, GaugeBar: r.GaugeBar,
		TempC: r.TempC}, nil)
}
