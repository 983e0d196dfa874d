package isolation

import (
	"fmt"
	"slices"
)

// drawOff is what the plan opens so that the isolated part is empty and without pressure.
type drawOff struct {
	open     []opened
	sections []Section
	airy     []int32  // opened vessels to which air gets from an open vent
	bleedM   float64  // bore of the widest opening that lets gas out, metres
	shutIn   []sealed // parts that nothing can be let out of
}

// opened is one drain or vent that is tagged open, with the sentence that says what for.
type opened struct {
	node int32
	why  string
	gas  bool // what it lets out blows rather than runs
}

// sealed is a part of gas or steam without a drain or vent, with the sentence that says what is done instead.
type sealed struct {
	at          NodeID
	name, words string
}

func (d *drawOff) add(node int32, why string) { d.addOf(Liquid, node, why) }

// addOf opens a drain or vent for what is of some nature.
func (d *drawOff) addOf(nature Nature, node int32, why string) {
	if !d.has(node) {
		d.open = append(d.open, opened{node, why, nature == Gas})
	}
}

func (d *drawOff) has(node int32) bool {
	return slices.ContainsFunc(d.open, func(o opened) bool { return o.node == node })
}

// drawOff chooses the drains and vents: a bleed in every stretch between the two points of a double, and in every part
// of the isolated envelope that holds liquid or gas what empties it, as the envelope is before any joint is broken.
// Nothing is opened that a source can come to then.
func (k *task) drawOff(shut []bool) (drawOff, error) {
	var d drawOff
	live := k.live(shut)
	k.bleeds(&d, shut, live)
	k.empty(&d, k.early(shut), live)
	k.letDown(&d, shut, live)
	return d, nil
}

// live marks what a source of the plant can come to while the drains are opened: without crossing a point that is shut
// by then.
func (k *task) live(shut []bool) []bool {
	shut = k.early(shut)
	var sources []int32
	for i := range k.plant.Nodes {
		if k.plant.Nodes[i].Kind == Source {
			sources = append(sources, int32(i))
		}
	}
	live := flood(k.out, sources, func(i int32) bool { return shut[i] })
	for i := range live {
		live[i] = live[i] && !shut[i]
	}
	return live
}

// bleeds opens one drain in each stretch between the two points of a double: the lowest that what stands there can
// flow to. Between a valve and the blank behind it, where nobody demands a drain, one that is there is opened too: it
// shows whether the valve passes.
func (k *task) bleeds(d *drawOff, shut, live []bool) {
	leads := k.beforePoint(shut)
	for _, w := range k.sources {
		if w.rule.Demand == DemandSingle || !k.at(w.node).Energy.Flows() {
			continue
		}
		between := k.between(w, shut)
		for i := range k.plant.Nodes {
			v := int32(i)
			if !between[i] || !leads[i] || k.inZone[i] || k.bled(d, v, shut) {
				continue
			}
			if o := k.lowest(k.openingsFrom(v, shut, live)); o >= 0 {
				d.addOf(k.at(w.node).Energy.Nature(), o, fmt.Sprintf("Lets out what stands between the two points that cut %s, "+
					"and shows by running or blowing if the first of them passes.", k.at(w.node).Label()))
			}
		}
	}
}

// beforePoint marks what can come to a shut point without crossing another.
func (k *task) beforePoint(shut []bool) []bool {
	var next []int32
	for i := range shut {
		if shut[i] {
			next = append(next, k.in[i]...)
		}
	}
	return flood(k.in, next, func(i int32) bool { return shut[i] })
}

// bled reports whether what stands at i can already flow to an opening that is tagged open.
func (k *task) bled(d *drawOff, i int32, shut []bool) bool {
	reach := flood(k.out, []int32{i}, func(j int32) bool { return shut[j] })
	return slices.ContainsFunc(d.open, func(o opened) bool { return reach[o.node] && !shut[o.node] })
}

// openingsFrom lists the openings that what stands at i can flow to, and that may be opened.
func (k *task) openingsFrom(i int32, shut, live []bool) []int32 {
	reach := flood(k.out, []int32{i}, func(j int32) bool { return shut[j] })
	var out []int32
	for o := range k.plant.Nodes {
		if reach[o] && !shut[o] && k.mayOpen(int32(o), live) {
			out = append(out, int32(o))
		}
	}
	return out
}

// mayOpen reports whether node i is a drain or vent that no source can come to and that the work does not open itself.
func (k *task) mayOpen(i int32, live []bool) bool {
	return k.at(i).Kind == Opening && !live[i] && !k.inZone[i]
}

// lowest returns the opening that drains most: a drain rather than a vent, and of those the one with the lowest mouth;
// -1 of none.
func (k *task) lowest(list []int32) int32 {
	best := int32(-1)
	for _, o := range list {
		if best < 0 || k.drainsBetter(o, best) {
			best = o
		}
	}
	return best
}

func (k *task) drainsBetter(a, b int32) bool {
	m, n := k.at(a), k.at(b)
	if (m.Role == "vent") != (n.Role == "vent") {
		return n.Role == "vent"
	}
	return m.ElevationM < n.ElevationM
}

// empty opens what empties each region of the isolated envelope.
//
// Regions that hold an opened vessel come first, so that the lines which were cut apart at it know whether air gets
// to their mouths there.
func (k *task) empty(d *drawOff, shut, live []bool) {
	regions := k.regions(shut)
	slices.SortStableFunc(regions, func(a, b region) int { return k.vesselFirst(a) - k.vesselFirst(b) })
	for _, r := range regions {
		for _, e := range r.ends {
			if slices.Contains(d.airy, e) {
				r.airy = append(r.airy, e)
			}
		}
		may := slices.DeleteFunc(slices.Clone(r.nodes), func(i int32) bool { return !k.mayOpen(i, live) })
		switch {
		case r.gas:
			k.letOut(d, r, may)
		case r.feeder >= 0 || k.holdsLiquid(r):
			k.drainRegion(d, r, may)
		}
	}
}

func (k *task) vesselFirst(r region) int {
	if slices.ContainsFunc(r.nodes, func(i int32) bool { return k.inZone[i] && k.at(i).Kind == Vessel }) {
		return 0
	}
	return 1
}

// holdsLiquid reports whether a vessel of the region is said to hold something.
func (k *task) holdsLiquid(r region) bool {
	return slices.ContainsFunc(r.nodes, func(i int32) bool { return k.at(i).Kind == Vessel && k.at(i).Fluid != "" })
}

// letOut opens everything that a region of gas or steam has: every drain to atmosphere on all dead interconnected parts
// is open (29 CFR 1915.163(a)(2)).
func (k *task) letOut(d *drawOff, r region, may []int32) {
	for _, o := range may {
		d.bleedM = max(d.bleedM, k.at(o).BoreMM/1000)
		d.addOf(Gas, o, "Lets the pressure out of "+k.regionName(r)+", and stays open to show that none comes back.")
	}
	if len(may) == 0 && !slices.ContainsFunc(r.nodes, func(i int32) bool { return k.at(i).Kind == Opening }) {
		name := k.regionName(r)
		d.shutIn = append(d.shutIn, sealed{k.sectionID(r), name, "Nothing lets the pressure out of " + name +
			": it is let out with care at the first joint, slackened on the far side from the person."})
	}
}
