package drain

import "strings"

// seatRates are the leakage rates of ISO 5208 for liquid, mm³/s per mm of nominal
// size, tightest first. Rate A allows nothing that can be seen.
var seatRates = []struct {
	class string
	rate  float64
}{
	{"A", 0}, {"AA", 0.006}, {"B", 0.01}, {"C", 0.03}, {"CC", 0.08}, {"D", 0.1},
	{"E", 0.3}, {"EE", 0.39}, {"F", 1}, {"G", 2},
}

// WorseThanG is the class of a leak beyond every rate of ISO 5208.
const WorseThanG = "worse than G"

// SeatLeak returns the leak in m³/s that a valve of dnMM may have and still be of
// the class (A, AA, B, C, CC, D, E, EE, F, G; either case). Sizes outside 3 to
// 3000 mm and other classes are refused. Source: ISO 5208, liquid test.
func SeatLeak(dnMM float64, class string) (float64, error) {
	if err := (band{3, 3000, "mm"}).within("dn", dnMM); err != nil {
		return 0, err
	}
	for _, r := range seatRates {
		if strings.EqualFold(r.class, class) {
			return r.rate * dnMM * 1e-9, nil
		}
	}
	return 0, refuse("rate", "%q is not one of A, AA, B, C, CC, D, E, EE, F, G", class)
}

// SeatClass returns the tightest class that a leak of rateM3S through a valve of
// dnMM still meets, [WorseThanG] beyond all, and "" if the size is unknown (0) or
// a figure is not one.
func SeatClass(dnMM, rateM3S float64) string {
	if !(dnMM > 0) || !(rateM3S >= 0) {
		return ""
	}
	per := rateM3S * 1e9 / dnMM
	for _, r := range seatRates {
		if per <= r.rate*(1+1e-9) {
			return r.class
		}
	}
	return WorseThanG
}

// StandsAt returns the level at which the open drains would only just carry off an
// inflow of q m³/s, read from the predicted course; ok is false if even the full
// section does not let out so much, or there is no course.
func (o Outlook) StandsAt(qM3S float64) (levelM float64, ok bool) {
	for i := len(o.Curve) - 1; i > 0; i-- {
		a, b := o.Curve[i-1], o.Curve[i]
		if b.TimeS > a.TimeS && (a.LeftM3-b.LeftM3)/(b.TimeS-a.TimeS) >= qM3S {
			return b.LevelM, true
		}
	}
	return 0, false
}
