package web

import (
	"fmt"
	"testing"

	"stillwatch/web/screens"
)

// One box says that a drain was held and nothing came; a figure that says otherwise beside it is refused.
func TestOneBoxAnswersForTheHold(t *testing.T) {
	j := begin(t)
	j.authorise()
	j.isolate()
	j.a.wait(drainsRun)
	d := j.a.permit(1).Drains()[0].Section
	path := j.path + "/drain/" + d.ID
	fill := func(more ...string) []string {
		return append([]string{"out_l", screens.FigureTo(d.OutL, 2), "temp_c", "30", "into", "Sludge tank"}, more...)
	}
	j.tech.refused(j.tech.post(path, fill()...), 422, "The hold is missing")
	j.tech.refused(j.tech.post(path, fill("held", "15", "hold_in_l", "0.4")...), 422, "says otherwise")
	j.tech.refused(j.tech.post(path, fill("held", "15", "gauge_bar", "0.2")...), 422, "says otherwise")
	j.tech.refused(j.tech.post(path, fill("held", "15", "hold_min", "5")...), 422, "says otherwise")
	j.tech.must(j.tech.post(path, fill("held", "15", "hold_in_l", "0")...), j.path)
	got := j.a.permit(1).Drains()[0].Reading
	if want := fmt.Sprint(900.0, 0.0, 0.0); fmt.Sprint(got.HoldS, got.HoldInL, got.GaugeBar) != want {
		t.Errorf("recorded hold, litres and pressure %v %v %v, want %s", got.HoldS, got.HoldInL, got.GaugeBar, want)
	}
}
