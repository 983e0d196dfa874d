package envelope

import (
	"fmt"
	"slices"

	"stillwatch/isolation"
)

// Where the demand for these answers comes from.
const (
	drySource = "29 CFR 1915.163(a)(2), read: the drains and vents of what is dead are open; that they are seen to " +
		"run and blow no more: common practice, no source"
	heldSource = "DOE-STD-1030-96, from memory: an automatic valve isolates only with its motive supply taken away; " +
		"actuator vented and handwheel secured: common practice, no source"
	shutSource = "29 CFR 1910.147(d)(5), from memory: stored energy is relieved and made safe before the work"
)

// Seen returns what has to be seen and answered with yes before the work: that every drain, vent and bleed which no
// reading of a liquid section proves by itself ran dry, that a part without any is without pressure, and that an
// automatic valve which is relied on is held shut.
func (k *Work) Seen(d DrawOff, shut []bool) []isolation.StoredCheck {
	var out []isolation.StoredCheck
	add := func(id string, s isolation.Stored, quantity, source, words string) {
		out = append(out, isolation.StoredCheck{ID: id, Stored: s, Name: s.Name, Quantity: quantity, Limit: 1,
			Source: source, Words: words})
	}
	for _, o := range d.Open {
		n := k.At(o.Node)
		if d.ProvedByReading(n.ID) {
			continue
		}
		what := "ran dry and stays dry, no pressure"
		if o.Gas {
			what = "blew off and stays without pressure"
		}
		add("dry-"+string(n.ID), isolation.Stored{Kind: isolation.KindDry, Name: n.Label()}, what, drySource,
			fmt.Sprintf("%s: seen that it %s.", n.Label(), what))
	}
	for i := range k.Plant.Nodes {
		if n := &k.Plant.Nodes[i]; shut[i] && n.Kind == isolation.AutomaticValve {
			what := "actuator vented, handwheel secured if it has one, and seen shut"
			add("held-"+string(n.ID), isolation.Stored{Kind: isolation.KindHeld, Name: n.Label()}, what, heldSource,
				fmt.Sprintf("%s: %s.", n.Label(), what))
		}
	}
	for _, s := range d.ShutIn {
		add(
			"shut-in-"+string(s.At),
			isolation.Stored{Kind: isolation.KindShut, Name: s.Name},
			"seen without pressure: how",
			shutSource,
			s.Words,
		)
	}
	return out
}

// ProvedByReading reports whether what an opening lets out is missed in a section's reading if it does not come. A
// drain beside another of the same section is not: what stands before the one is less than the margin of the whole.
func (d *DrawOff) ProvedByReading(id isolation.NodeID) bool {
	return slices.ContainsFunc(d.Sections, func(s isolation.Section) bool {
		return slices.Contains(s.Vents, id) || len(s.Drains) == 1 && s.Drains[0] == id
	})
}

// judgeSeen holds an answer against the only one that opens the gate: 1, yes.
func judgeSeen(c *isolation.StoredCheck, value float64) (isolation.Finding, error) {
	switch value {
	case 1:
		return isolation.Finding{
			OK:     true,
			Result: "within limit",
			Words:  fmt.Sprintf("%s: yes, %s.", c.Name, c.Quantity),
		}, nil
	case 0:
		return isolation.Finding{
			Result: "above limit",
			Words: fmt.Sprintf("%s: not yet. Only yes lets the work begin: %s.", c.Name,
				c.Quantity),
		}, nil
	}
	return isolation.Finding{}, fmt.Errorf("judge %s: %v is neither 1, yes, nor 0, no", c.ID, value)
}
