package envelope

import (
	"fmt"
	"slices"

	"stillwatch/isolation"
	"stillwatch/isolation/graph"
)

// DrawOff is what the plan opens so that the isolated part is empty and without pressure.
type DrawOff struct {
	Open     []Opened
	Sections []isolation.Section
	BleedM   float64  // bore of the widest opening that lets gas out, metres
	Cocks    []Opened // normally shut points on the way to an opening, opened too
	ShutIn   []Sealed // parts that nothing can be let out of
	airy     []int32  // opened vessels to which air gets from an open vent
}

// Opened is one drain or vent that is tagged open, with the sentence that says what for.
type Opened struct {
	Node int32
	Why  string
	Gas  bool // what it lets out blows rather than runs
}

// Sealed is a part of gas or steam without a drain or vent, with the sentence that says what is done instead.
type Sealed struct {
	At          isolation.NodeID
	Name, Words string
}

func (d *DrawOff) add(node int32, why string) { d.addOf(isolation.Liquid, node, why) }

// addOf opens a drain or vent for what is of some nature.
func (d *DrawOff) addOf(nature isolation.Nature, node int32, why string) {
	if !d.Has(node) {
		d.Open = append(d.Open, Opened{node, why, nature == isolation.Gas})
	}
}

// Has reports whether an opening is tagged open.
func (d *DrawOff) Has(node int32) bool {
	return slices.ContainsFunc(d.Open, func(o Opened) bool { return o.Node == node })
}

// DrawOff chooses the drains and vents: a bleed in every stretch between the two points of a double, and in every part
// of the isolated envelope that holds liquid or gas what empties it, as the envelope is before any joint is broken.
// Nothing is opened that a source can come to then.
func (k *Work) DrawOff(shut []bool) (DrawOff, error) {
	var d DrawOff
	live := k.Live(shut)
	k.bleeds(&d, shut, live)
	k.empty(&d, k.Early(shut), live)
	k.letDown(&d, shut, live)
	k.openCocks(&d, shut, live)
	return d, nil
}

// Live marks what a source of the plant can come to while the drains are opened: without crossing a point that is shut
// by then.
func (k *Work) Live(shut []bool) []bool {
	shut = k.Early(shut)
	var sources []int32
	for i := range k.Plant.Nodes {
		if k.Plant.Nodes[i].Kind == isolation.Source {
			sources = append(sources, int32(i))
		}
	}
	live := graph.Flood(k.Out, sources, func(i int32) bool { return shut[i] })
	for i := range live {
		live[i] = live[i] && !shut[i]
	}
	return live
}

// bleeds opens one drain in each stretch between the two points of a double: the lowest that what stands there can
// flow to. Between a valve and the blank behind it, where nobody demands a drain, one that is there is opened too: it
// shows whether the valve passes.
func (k *Work) bleeds(d *DrawOff, shut, live []bool) {
	leads := k.beforePoint(shut)
	closed := slices.Clone(shut)
	for i := range closed {
		closed[i] = closed[i] || k.standsShut(int32(i), shut)
	}
	for _, w := range k.Sources {
		if w.Rule.Demand == isolation.DemandSingle || !k.At(w.Node).Energy.Flows() {
			continue
		}
		between := k.Between(w, shut)
		for i := range k.Plant.Nodes {
			v := int32(i)
			if !between[i] || !leads[i] || k.InZone[i] || k.bled(d, v, shut) {
				continue
			}
			o := k.lowest(k.OpeningsFrom(v, closed, live))
			if o < 0 { // none but behind a cock, which is opened too
				o = k.lowest(k.OpeningsFrom(v, shut, live))
			}
			if o >= 0 {
				d.addOf(k.At(w.Node).Energy.Nature(), o, fmt.Sprintf("Lets out what stands between the two points that cut %s, "+
					"and shows by running or blowing if the first of them passes.", k.At(w.Node).Label()))
			}
		}
	}
}

// beforePoint marks what can come to a shut point without crossing another, or a cock that stands shut: what lies
// behind such a cock, away from all points, is no way to the work, and the cock stays shut, as that of another space's
// gas.
func (k *Work) beforePoint(shut []bool) []bool {
	var next []int32
	for i := range shut {
		if shut[i] {
			next = append(next, k.In[i]...)
		}
	}
	return graph.Flood(k.In, next, func(i int32) bool { return shut[i] || k.standsShut(i, shut) })
}

// bled reports whether what stands at i can already flow to an opening that is tagged open.
func (k *Work) bled(d *DrawOff, i int32, shut []bool) bool {
	reach := graph.Flood(k.Runs, []int32{i}, func(j int32) bool { return shut[j] })
	return slices.ContainsFunc(d.Open, func(o Opened) bool { return reach[o.Node] && !shut[o.Node] })
}

// OpeningsFrom lists the openings that what stands at i can flow to, and that may be opened.
func (k *Work) OpeningsFrom(i int32, shut, live []bool) []int32 {
	reach := graph.Flood(k.Runs, []int32{i}, func(j int32) bool { return shut[j] })
	var out []int32
	for o := range k.Plant.Nodes {
		if reach[o] && !shut[o] && k.mayOpen(int32(o), live) {
			out = append(out, int32(o))
		}
	}
	return out
}

// mayOpen reports whether node i is a drain or vent that no source can come to and that the work does not open itself.
func (k *Work) mayOpen(i int32, live []bool) bool {
	return k.At(i).Kind == isolation.Opening && !live[i] && !k.InZone[i]
}

// lowest returns the opening that drains most: a drain rather than a vent, and of those the one with the lowest mouth;
// -1 of none.
func (k *Work) lowest(list []int32) int32 {
	best := int32(-1)
	for _, o := range list {
		if best < 0 || k.drainsBetter(o, best) {
			best = o
		}
	}
	return best
}

func (k *Work) drainsBetter(a, b int32) bool {
	m, n := k.At(a), k.At(b)
	if (m.Role == "vent") != (n.Role == "vent") {
		return n.Role == "vent"
	}
	return m.ElevationM < n.ElevationM
}

// empty opens what empties each region of the isolated envelope.
//
// Regions that hold an opened vessel come first, so that the lines which were cut apart at it know whether air gets
// to their mouths there.
func (k *Work) empty(d *DrawOff, shut, live []bool) {
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

func (k *Work) vesselFirst(r region) int {
	if slices.ContainsFunc(r.nodes, func(i int32) bool { return k.InZone[i] && k.At(i).Kind == isolation.Vessel }) {
		return 0
	}
	return 1
}

// holdsLiquid reports whether a vessel of the region is said to hold something.
func (k *Work) holdsLiquid(r region) bool {
	return slices.ContainsFunc(
		r.nodes,
		func(i int32) bool { return k.At(i).Kind == isolation.Vessel && k.At(i).Fluid != "" },
	)
}

// letOut opens everything that a region of gas or steam has: every drain to atmosphere on all dead interconnected parts
// is open (29 CFR 1915.163(a)(2)).
func (k *Work) letOut(d *DrawOff, r region, may []int32) {
	for _, o := range may {
		d.BleedM = max(d.BleedM, k.At(o).BoreMM/1000)
		d.addOf(
			isolation.Gas,
			o,
			"Lets the pressure out of "+k.regionName(r)+", and stays open to show that none comes back.",
		)
	}
	if len(may) == 0 && !slices.ContainsFunc(r.nodes, func(i int32) bool { return k.At(i).Kind == isolation.Opening }) {
		name := k.regionName(r)
		d.ShutIn = append(d.ShutIn, Sealed{k.sectionID(r), name, "Nothing lets the pressure out of " + name +
			": it is let out with care at the first joint, slackened on the far side from the person."})
	}
}
