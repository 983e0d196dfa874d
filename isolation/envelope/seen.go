package isolation

import (
	"fmt"
	"slices"
)

// Kinds of stored energy that a plan adds to those of the plant file: no instrument reads them, somebody looks and
// answers yes or no.
const (
	KindDry   = "dry"     // a drain, vent or bleed that no section's reading proves
	KindShut  = "shut-in" // a part from which nothing lets the pressure out
	KindEntry = "entry"   // the entry permit and its tested atmosphere
)

// Where the demand for these answers comes from.
const (
	drySource = "29 CFR 1915.163(a)(2), read: the drains and vents of what is dead are open; that they are seen to " +
		"run and blow no more: common practice, no source"
	shutSource  = "29 CFR 1910.147(d)(5), from memory: stored energy is relieved and made safe before the work"
	entrySource = "A.1050(27) 7.2, read; MSC.581(110), second hand"
)

// isSeen reports whether a stored energy is answered with yes or no.
func (s Stored) isSeen() bool { return s.Kind == KindDry || s.Kind == KindShut || s.Kind == KindEntry }

// saySeen adds what has to be seen and answered with yes before the work: that every drain, vent and bleed which no
// liquid section proves ran dry, that a part without any is without pressure, and that an entry has its own permit.
func (k *task) saySeen(plan *Plan, d drawOff) {
	add := func(id string, s Stored, quantity, source, words string) {
		plan.Stored = append(plan.Stored, StoredCheck{ID: id, Stored: s, Name: s.Name, Quantity: quantity, Limit: 1,
			Source: source, Words: words})
	}
	for _, o := range d.open {
		n := k.at(o.node)
		if k.inSection(plan, n.ID) {
			continue
		}
		what := "ran dry and stays dry, no pressure"
		if o.gas {
			what = "blew off and stays without pressure"
		}
		add("dry-"+string(n.ID), Stored{Kind: KindDry, Name: n.Label()}, what, drySource,
			fmt.Sprintf("%s: seen that it %s.", n.Label(), what))
	}
	for _, s := range d.shutIn {
		add("shut-in-"+string(s.at), Stored{Kind: KindShut, Name: s.name}, "seen without pressure: how", shutSource, s.words)
	}
	if plan.Exposure == Enter {
		what := "the entry permit of its own is issued and the atmosphere was tested from outside within its limits " +
			"(oxygen, flammable, toxic)"
		add("entry", Stored{Kind: KindEntry, Name: "Entry"}, what, entrySource, "Nobody goes in before "+what+".")
	}
}

// judgeSeen holds an answer against the only one that opens the gate: 1, yes.
func (c *StoredCheck) judgeSeen(value float64) (Finding, error) {
	switch value {
	case 1:
		return Finding{OK: true, Result: "within limit", Words: fmt.Sprintf("%s: yes, %s.", c.Name, c.Quantity)}, nil
	case 0:
		return Finding{Result: "above limit", Words: fmt.Sprintf("%s: not yet. Only yes lets the work begin: %s.", c.Name,
			c.Quantity)}, nil
	}
	return Finding{}, fmt.Errorf("judge %s: %v is neither 1, yes, nor 0, no", c.ID, value)
}

// seen checks that every opening of the plan is proved: by a section that it drains or vents, or by an answer of its
// own; and that an entry asks for its permit.
func (v *prover) seen() error {
	asked := func(id string) bool {
		return slices.ContainsFunc(v.plan.Stored, func(c StoredCheck) bool {
			return c.ID == id && c.Unit == "" &&
				c.Limit == 1 && c.Stored.isSeen()
		})
	}
	for id, s := range v.opens {
		in := slices.ContainsFunc(v.plan.Sections, func(c Section) bool {
			return slices.Contains(c.Drains, id) ||
				slices.Contains(c.Vents, id)
		})
		if !in && !asked("dry-"+string(id)) {
			return fmt.Errorf("step %d opens %s, and nothing asks whether it ran dry", s.N, id)
		}
	}
	if v.job.Exposure == Enter && !asked("entry") {
		return fmt.Errorf("people go in, and nothing asks for the entry permit")
	}
	return nil
}
