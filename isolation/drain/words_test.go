package drain

import "testing"

func TestVolumesReadAsOnAJugOrADrum(t *testing.T) {
	for m3, want := range map[float64]string{0.00863: "8.6 L", 0.000597: "0.6 L", 0.00001: "10 mL", 0.0000996: "0.1 L",
		0.1429: "143 L", 0: "0 mL"} {
		if got := litres(m3); got != want {
			t.Errorf("litres(%v) = %q, want %q", m3, got, want)
		}
	}
}
