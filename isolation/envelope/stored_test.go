package envelope

import (
	"math"
	"testing"

	"stillwatch/isolation"
)

func TestStoredEnergyOpensTheGateByReadingOnly(t *testing.T) {
	check := func(s isolation.Stored) *isolation.StoredCheck {
		c, err := newStoredCheck(s.Kind, s, 0)
		if err != nil {
			t.Fatal(err)
		}
		return &c
	}
	for _, tc := range []struct {
		stored isolation.Stored
		value  float64
		ok     bool
	}{
		{isolation.Stored{Kind: "rotation", SpeedRPM: 7200, CoastDownS: 1500}, 0, true},
		{isolation.Stored{Kind: "rotation", SpeedRPM: 7200, CoastDownS: 1500}, 5, false},
		{isolation.Stored{Kind: "heat", TempC: 95, MassKg: 100, AreaM2: 1}, 40, true},
		{isolation.Stored{Kind: "heat", TempC: 95, MassKg: 100, AreaM2: 1}, 60, false},
		{isolation.Stored{Kind: "charge", Volt: 560, ResistanceOhm: 1e5, CapacitanceUF: 22}, 60, true},
		{isolation.Stored{Kind: "charge", Volt: 560, ResistanceOhm: 1e5, CapacitanceUF: 22}, 61, false},
		{isolation.Stored{Kind: "gas", GaugeBar: 30, VolumeL: 20}, 0, true},
		{isolation.Stored{Kind: "gas", GaugeBar: 30, VolumeL: 20}, 0.5, false},
		{isolation.Stored{Kind: "gas", GaugeBar: 30, VolumeL: 20}, -0.5, false},
		{isolation.Stored{Kind: "liquid", GaugeBar: 3, VolumeL: 5, TempC: 60}, 0.5, false},
		{isolation.Stored{Kind: "accumulator", GaugeBar: 120, PrechargeBar: 60, VolumeL: 20}, 0, true},
		{isolation.Stored{Kind: "accumulator", GaugeBar: 120, VolumeL: 20}, 60, false},
		{isolation.Stored{Kind: "spring", Restraint: "pinned"}, 1, true},
		{isolation.Stored{Kind: "spring", Restraint: "pinned"}, 0, false},
		{isolation.Stored{Kind: "weight", MassKg: 80, Restraint: "chain hoist"}, 0, false},
	} {
		c := check(tc.stored)
		f, err := JudgeStored(c, tc.value)
		if err != nil || f.OK != tc.ok || (f.Result == "within limit") != tc.ok || f.Words == "" {
			t.Errorf("%s: Judge(%g) = %+v, %v; want ok %v", c.ID, tc.value, f, err, tc.ok)
		}
	}
	// IEC 60204-1 figures, own computation: 560 V with RC 2.2 s is down to 60 V after 4.91 s.
	if c := check(isolation.Stored{Kind: "charge", Volt: 560, ResistanceOhm: 1e5, CapacitanceUF: 22}); math.Abs(
		c.WaitS-4.91) > 0.01 || c.Limit != 60 {
		t.Errorf("charge: wait %g s to %g V, want 4.91 s to 60 V", c.WaitS, c.Limit)
	}
	c := check(isolation.Stored{Kind: "rotation", SpeedRPM: 100})
	if _, err := JudgeStored(c, -3); err == nil {
		t.Error("rotation: Judge(-3) = nil, want an error")
	}
	if _, err := newStoredCheck("x", isolation.Stored{Kind: "magic"}, 0); err == nil {
		t.Error("newStoredCheck of an unknown kind = nil, want an error")
	}
}
