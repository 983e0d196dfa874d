package envelope

import (
	"fmt"
	"slices"

	"stillwatch/isolation"
	"stillwatch/isolation/drain"
)

const (
	// leastL is the volume in litres below which a region is not worth a record of its own: what a rag takes up.
	leastL = 0.1
	// gainShare is by how much of the whole another drain must let out more to be opened as well.
	gainShare = 0.02
	// curvePoints is up to how many points of the course of draining a plan keeps.
	curvePoints = 40
)

// drainRegion chooses the openings of a region that holds liquid and foretells what comes out of them.
func (k *Work) drainRegion(d *DrawOff, r region, may []int32) {
	drains, vents := k.byRole(may)
	all, whole, guessed, err := k.survey(r, may)
	if err != nil || whole.TrappedM3*1000 < leastL {
		k.openAll(d, r, may)
		if err != nil && k.volumeKnown(all) {
			d.Sections = append(d.Sections, k.unforetold(r, all, err, drains, vents))
		}
		return
	}
	drains = k.bestDrains(r, drains, vents, whole.TrappedM3)
	vents = k.bestVents(r, drains, vents)
	for _, o := range vents {
		d.add(o, k.ventWhy(r))
	}
	for _, o := range drains {
		d.add(o, "Lets out what stands in "+k.regionName(r)+", and stays open to show that nothing comes in.")
	}
	b, o, _, err := k.foretell(r, slices.Concat(drains, vents))
	if err != nil {
		d.Sections = append(d.Sections, k.unforetold(r, b, err, drains, vents))
		return
	}
	d.airy = append(d.airy, k.breathing(r, o)...)
	s := k.section(r, b, o, drains, vents)
	if len(guessed) > 0 {
		s.Provable = false
		s.Why = fmt.Sprintf(
			"the plant file gives no levels for %s, so nobody can say where liquid stays",
			isolation.Listed(guessed),
		)
	}
	d.Sections = append(d.Sections, s)
}

// breathing lists the opened vessels of a region to which air gets from a vent without rising through liquid.
func (k *Work) breathing(r region, o drain.Outlook) []int32 {
	var out []int32
	for _, p := range o.Pieces {
		i := k.Number(isolation.NodeID(p.Name))
		if i >= 0 && p.Air == drain.Breathes && k.InZone[i] && k.At(i).Kind == isolation.Vessel &&
			slices.Contains(r.nodes, i) {
			out = append(out, i)
		}
	}
	return out
}

// workOpenings are openings that the work itself opens: they count as open, and are not tagged.
func (k *Work) workOpenings(r region) []int32 {
	return slices.DeleteFunc(
		slices.Clone(r.nodes),
		func(i int32) bool { return k.At(i).Kind != isolation.Opening || !k.InZone[i] },
	)
}

func (k *Work) byRole(openings []int32) (drains, vents []int32) {
	for _, o := range openings {
		if k.At(o).Role == "vent" {
			vents = append(vents, o)
		} else {
			drains = append(drains, o)
		}
	}
	return drains, vents
}

// openAll opens every drain and vent of a region of which no volume is known: nobody can say which would do.
func (k *Work) openAll(d *DrawOff, r region, may []int32) {
	for _, o := range may {
		if k.At(o).Role == "vent" {
			d.add(o, k.ventWhy(r))
		} else {
			d.add(o, "Lets out what stands in "+k.regionName(r)+", and stays open to show that nothing comes in.")
		}
	}
}

// ventWhy says what a vent does, in the order in which it does it.
func (k *Work) ventWhy(r region) string {
	return "Lets the pressure out of " + k.regionName(r) + " first, then air in above what drains: stand aside, a hose " +
		"or a can to it."
}

// volumeKnown reports whether a basis holds anything that has a volume.
func (k *Work) volumeKnown(b isolation.Basis) bool {
	return len(b.Section.Links)+len(b.Section.Vessels) > 0
}

// outWith returns what is foretold with these openings open; the zero Outlook where nothing can be.
func (k *Work) outWith(r region, open ...[]int32) drain.Outlook {
	_, o, _, err := k.survey(r, slices.Concat(open...))
	if err != nil {
		return drain.Outlook{}
	}
	return o
}

// bestDrains takes the drain that lets out most, the lowest of equals, and then every other that adds enough.
func (k *Work) bestDrains(r region, drains, vents []int32, trapped float64) []int32 {
	var chosen []int32
	out := 0.0
	for len(chosen) < len(drains) {
		best, most := int32(-1), out+max(gainShare*trapped, leastL/1000)
		for _, o := range drains {
			if slices.Contains(chosen, o) {
				continue
			}
			got := k.outWith(r, append(slices.Clone(chosen), o), vents).OutM3
			if got > most+1e-9 || best >= 0 && got > most-1e-9 && k.drainsBetter(o, best) {
				best, most = o, got
			}
		}
		if best < 0 {
			break
		}
		chosen, out = append(chosen, best), most
	}
	slices.Sort(chosen)
	return chosen
}

// bestVents takes the highest single vent with which the drains prove the region empty, else all of them.
func (k *Work) bestVents(r region, drains, vents []int32) []int32 {
	if len(vents) < 2 {
		return vents
	}
	high := slices.Clone(vents)
	slices.SortStableFunc(high, func(a, b int32) int {
		switch x, y := k.At(a).ElevationM, k.At(b).ElevationM; {
		case x > y:
			return -1
		case x < y:
			return 1
		}
		return 0
	})
	for _, v := range high {
		if k.outWith(r, drains, []int32{v}).Provable {
			return []int32{v}
		}
	}
	return vents
}

// section returns the plan's record of a region with what is foretold of it.
func (k *Work) section(r region, b isolation.Basis, o drain.Outlook, drains, vents []int32) isolation.Section {
	s := k.bareSection(r, b, drains, vents)
	half := stubL(&b) / 2
	s.TrappedL, s.OutL, s.KeptL, s.SpreadL = o.TrappedM3*1000+2*half, o.OutM3*1000+half, o.KeptM3*1000+half,
		o.SpreadM3*1000+half
	s.DrainS, s.Provable, s.Why = o.DrainS, o.Provable, o.Why
	for _, p := range o.Pockets {
		if p.VolumeM3*1000 < leastL/10 {
			continue
		}
		pocket := isolation.Pocket{At: isolation.NodeID(p.Name), Name: p.Name, Litres: p.VolumeM3 * 1000}
		if n := k.Plant.Node(pocket.At); n != nil && n.Name != "" {
			pocket.Name = n.Name
		}
		s.Pockets = append(s.Pockets, pocket)
	}
	for _, p := range b.Stubs {
		s.Pockets = append(s.Pockets, isolation.Pocket{At: p.At, Name: p.Name + ", up to", Litres: p.Litres})
	}
	step := max(1, (len(o.Curve)+curvePoints-1)/curvePoints)
	for i, p := range o.Curve {
		if i%step == 0 || i == len(o.Curve)-1 {
			s.Curve = append(s.Curve, isolation.Level{S: p.TimeS, L: max(0, (o.Curve[0].LeftM3-p.LeftM3)*1000)})
		}
	}
	return s
}

// bareSection is a section without figures.
func (k *Work) bareSection(r region, b isolation.Basis, drains, vents []int32) isolation.Section {
	s := isolation.Section{ID: string(k.sectionID(r)), Name: b.Section.Name, Nodes: k.IDs(r.nodes), Fluid: b.Fluid.Name,
		TempC:  b.Section.TempC,
		Drains: k.IDs(append(k.drainsOf(k.workOpenings(r)), drains...)),
		Vents:  k.IDs(append(k.ventsOf(k.workOpenings(r)), vents...)), Basis: &b}
	if s.Fluid == "" {
		s.Fluid = string(b.Fluid.Family)
	}
	for _, p := range b.Section.Boundary {
		s.Suspects = append(s.Suspects, isolation.NodeID(p.Name))
	}
	return s
}

func (k *Work) drainsOf(list []int32) []int32 { d, _ := k.byRole(list); return d }

func (k *Work) ventsOf(list []int32) []int32 { _, v := k.byRole(list); return v }

// unforetold is a section of which nothing can be computed, with the reason: it proves nothing.
func (k *Work) unforetold(r region, b isolation.Basis, err error, drains, vents []int32) isolation.Section {
	s := k.bareSection(r, b, drains, vents)
	s.Why = err.Error()
	return s
}

// sectionID names a region by its first node that stands in the work, else by its first.
func (k *Work) sectionID(r region) isolation.NodeID {
	for _, i := range r.nodes {
		if k.InZone[i] && k.At(i).Kind != isolation.Vessel {
			return k.At(i).ID
		}
	}
	for _, i := range r.nodes {
		if k.InZone[i] {
			return k.At(i).ID
		}
	}
	return k.At(r.nodes[0]).ID
}
