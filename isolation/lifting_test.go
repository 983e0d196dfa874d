package isolation

import (
	"slices"
	"testing"
)

// A pump that is opened or drained is run dry by its motor, whether the file says that it drives it or not.
func TestWhatWouldRunDryIsNamed(t *testing.T) {
	p := &Plant{}
	for _, n := range []Node{{ID: "pump", Kind: Vessel, Drive: "motor"}, {ID: "casing", Kind: Vessel},
		{ID: "tank", Kind: Vessel}, {ID: "motor", Kind: Consumer}, {ID: "fan", Kind: Consumer}} {
		p.AddNode(n)
	}
	p.AddMachine(Machine{ID: "P", Nodes: []NodeID{"casing", "motor"}})
	plan := &Plan{Opens: []NodeID{"pump", "tank"}, Sections: []Section{{Nodes: []NodeID{"casing"}}}}
	if got := plan.RunsDry(p, "motor"); !slices.Equal(got, []NodeID{"pump", "casing"}) {
		t.Errorf("the motor would run %v dry, want pump and casing", got)
	}
	if got := plan.RunsDry(p, "fan"); got != nil {
		t.Errorf("the fan would run %v dry, want nothing", got)
	}
}
