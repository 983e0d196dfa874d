package permits_test

import (
	"testing"

	"stillwatch/permits"
	"stillwatch/permits/oilrecord"
)

func TestOilTotalsAgreeWithThePermitsOwn(t *testing.T) {
	p, entries := permits.DrainedTwice(t)
	sum := 0.0
	for _, d := range oilrecord.Totals(p.ID(), p.Drains(), entries) {
		sum += d.Litres
	}
	if want := p.Drains()[0].TotalL; want == 0 || sum < want-1e-9 || sum > want+1e-9 {
		t.Errorf("sum of the totals = %g L, want the permit's %g L", sum, want)
	}
}
