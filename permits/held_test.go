package permits

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"stillwatch/isolation"
)

// What is held follows whatever permits come to hold, in any order, and a Held once given never changes.
func TestHeldFollowsEveryPermitAndNeverChanges(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var held Held
		want := map[PermitID][]Holding{}
		type given struct {
			held Held
			all  []Holding
		}
		var before []given
		room := make([]Holding, 0, 4) // used again and again, as the register does
		for range rapid.IntRange(1, 20).Draw(t, "changes") {
			id := PermitID(rapid.IntRange(1, 5).Draw(t, "permit"))
			room = room[:0]
			for step := range rapid.IntRange(0, 4).Draw(t, "steps") {
				room = append(room, Holding{Permit: id, Step: step + 1,
					Point: rapid.SampledFrom([]isolation.NodeID{"V1", "V2", "V3"}).Draw(t, "point"), On: rapid.Bool().Draw(t, "on")})
			}
			want[id] = slices.Clone(room)
			held = held.With(id, room)
			all := slices.Collect(held.All())
			var flat []Holding
			for id := PermitID(1); id <= 5; id++ {
				flat = append(flat, want[id]...)
			}
			if !slices.Equal(all, flat) {
				t.Fatalf("All() = %v, want %v", all, flat)
			}
			for _, own := range []PermitID{0, 2} {
				others := slices.DeleteFunc(slices.Clone(flat), func(h Holding) bool { return h.Permit == own || h.Point != "V1" })
				if got := held.At("V1", own); !slices.Equal(got, others) {
					t.Fatalf("At(V1, %d) = %v, want %v", own, got, others)
				}
			}
			before = append(before, given{held, all})
		}
		for _, b := range before {
			if got := slices.Collect(b.held.All()); !slices.Equal(got, b.all) {
				t.Fatalf("a Held given before has become %v, was %v", got, b.all)
			}
		}
	})
}
