package planner

import (
	"slices"
	"strings"
	"testing"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
)

// TestPlanThatCutsTheStandbySaysSoFirst: with pump 1's own suction passing, only the sea chests are left to shut, and
// pump 2 draws from the same ones; with heater 1's steam valve passing, only the header is left, on which heater 2
// lives.
func TestPlanThatCutsTheStandbySaysSoFirst(t *testing.T) {
	p := readFile(t, demoPlant)
	for _, tc := range []struct {
		job, passing, start string
		lost                isolation.NodeID
	}{
		{"SW1-impeller", "SW1-V1", "Sea-water pump 2 cannot run while this plan is on: it loses sea water", "SW2-casing"},
		{"S1-heater", "S1-V11", "Heater 2 cannot run while this plan is on: it loses steam", "S2-steam-leg"},
	} {
		t.Run(tc.job, func(t *testing.T) {
			plan := makeProved(t, p, tc.job, isolation.Circumstances{Passing: []isolation.NodeID{isolation.NodeID(tc.passing)}})
			for where, text := range map[string]string{"StandbyCut": plan.StandbyCut, "Words": plan.Words,
				"Prepare[0]": plan.Prepare[0], "Hazards[0]": plan.Hazards[0]} {
				if !strings.HasPrefix(text, tc.start) {
					t.Errorf("%s = %q, want it to begin %q", where, text, tc.start)
				}
			}
			if s := strings.Join(plan.Prepare, "\n"); strings.Contains(s, "into service and see") || plan.Standby != "" {
				t.Errorf("Prepare = %s, Standby = %q: want nobody sent to start what cannot run", s, plan.Standby)
			}
			if !slices.Contains(plan.Lost, tc.lost) {
				t.Errorf("Lost = %v, want %s in it", plan.Lost, tc.lost)
			}
		})
	}
}

// sharedHeader is a plant in which the fewest points are those on the header from which the standby lives too, and two
// more points spare it. Its own valve is shut in the normal line-up.
const sharedHeader = `plant: shared header
nodes:
  - {id: tank, kind: source, energy: fuel, gauge_bar: 1, temp_c: 40}
  - {id: V0, kind: valve, lockable: true}
  - {id: H, kind: junction}
  - {id: V1, kind: valve, lockable: true}
  - {id: V2, kind: valve, lockable: true}
  - {id: V3, kind: valve, lockable: true, normal: closed}
  - {id: P1, kind: junction}
  - {id: P2, kind: junction}
links:
  - {a: tank, b: V0}
  - {a: V0, b: H}
  - {a: H, b: V1}
  - {a: H, b: V2}
  - {a: V1, b: P1}
  - {a: V2, b: P1}
  - {a: H, b: V3}
  - {a: V3, b: P2}
machines:
  - {id: A, name: Pump A, nodes: [P1], standby: B}
  - {id: B, name: Pump B, nodes: [P2]}
jobs:
  - {id: j, machine: A, opens: [P1], exposure: open}
`

// TestStandbyIsSparedBeforePoints: two points that leave the standby its supply are better than one that takes it, even
// though the standby's own valve is shut until it is lined up.
func TestStandbyIsSparedBeforePoints(t *testing.T) {
	p, err := plantfile.Read("shared", []byte(sharedHeader))
	if err != nil {
		t.Fatal(err)
	}
	plan := makeProved(t, p, "j", isolation.Circumstances{})
	if got := isolating(plan); !slices.Equal(got, []isolation.NodeID{"V1", "V2"}) || plan.StandbyCut != "" ||
		plan.Standby != "B" ||
		plan.Cost != 2 ||
		plan.SearchBound != 2 {
		t.Errorf("Make shuts %v (cost %d, bound %d), StandbyCut %q, Standby %q, want V1 and V2 (2, 2), none, B", got,
			plan.Cost, plan.SearchBound, plan.StandbyCut, plan.Standby)
	}
	cut := makeProved(t, p, "j", isolation.Circumstances{Passing: []isolation.NodeID{"V1"}})
	if got := isolating(cut); !slices.Equal(got, []isolation.NodeID{"V0"}) ||
		!strings.HasPrefix(cut.StandbyCut, "Pump B cannot run") {
		t.Errorf("Make without V1 shuts %v, StandbyCut %q, want V0 and Pump B cut", got, cut.StandbyCut)
	}
}

// TestMachineOutsideTheWorkIsNamedOnce: a machine that loses a supply at its vessel, without a consumer of its own.
func TestMachineOutsideTheWorkIsNamedOnce(t *testing.T) {
	text := strings.Replace(strings.Replace(sharedHeader, ", standby: B", "", 1), ", normal: closed", "", 1)
	p, err := plantfile.Read("shared", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	plan := makeProved(t, p, "j", isolation.Circumstances{Passing: []isolation.NodeID{"V1"}})
	if !slices.Equal(plan.Lost, []isolation.NodeID{"P2"}) || len(plan.Losses) != 1 || plan.Losses[0].Machine != "B" ||
		plan.Losses[0].Source != "tank" {
		t.Errorf("Lost = %v, Losses = %+v, want P2 of machine B, from tank, once", plan.Lost, plan.Losses)
	}
}

func isolating(plan isolation.Plan) []isolation.NodeID {
	var out []isolation.NodeID
	for _, s := range plan.Steps {
		if s.Isolates() {
			out = append(out, s.Point)
		}
	}
	slices.Sort(out)
	return out
}
