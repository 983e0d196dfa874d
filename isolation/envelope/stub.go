package envelope

import (
	"slices"

	"stillwatch/isolation"
	"stillwatch/isolation/drain"
)

// stubShare is up to which share of what a region holds its dead ends without air may be, all together, for the rest to
// prove it: common practice, no source. Beyond it the region is not provable.
const stubShare = 0.2

// foretell computes what comes out of a region with these openings open, and how long it takes: see survey.
func (k *Work) foretell(r region, open []int32) (isolation.Basis, drain.Outlook, []string, error) {
	b, o, guessed, err := k.survey(r, open)
	if err == nil {
		o, err = outlook(&b)
	}
	return b, o, guessed, err
}

// survey computes what comes out of a region with these openings open, and with those that the work opens itself, but
// not how long it takes, which is nearly all of the labour.
//
// A short pipe that rises to a shut point has no air at its end, and whether it lets its liquid go cannot be foretold.
// By itself that would keep every section from being provable, since every valve has such a stub. So dead ends that no
// air gets to are taken out of what must come, and counted as what may come: see Basis.Stubs. Where that is too much,
// what is wide enough for air and liquid to pass each other is taken to let it go, and all of that must come.
func (k *Work) survey(r region, open []int32) (isolation.Basis, drain.Outlook, []string, error) {
	b, guessed := k.basis(r, append(k.workOpenings(r), open...))
	o, err := surveyed(&b)
	if err != nil || o.Provable || o.TrappedM3 == 0 {
		return b, o, guessed, err
	}
	if short, so, ok := k.provedWithoutStubs(r, b, o); ok {
		return short, so, guessed, nil
	}
	wide := b
	wide.Section.Air = drain.WideRoom
	wo, err := surveyed(&wide)
	if err != nil {
		return b, o, guessed, nil
	}
	if wo.Provable {
		return wide, wo, guessed, nil
	}
	if short, so, ok := k.provedWithoutStubs(r, wide, wo); ok {
		return short, so, guessed, nil
	}
	return b, o, guessed, nil
}

// provedWithoutStubs returns what is foretold without the dead ends that no air gets to; ok is false where that proves
// nothing either.
func (k *Work) provedWithoutStubs(r region, b isolation.Basis, o drain.Outlook) (isolation.Basis, drain.Outlook, bool) {
	short, ok := k.withoutStubs(r, b, o)
	if !ok {
		return b, o, false
	}
	so, err := surveyed(&short)
	return short, so, err == nil && so.Provable
}

// withoutStubs takes the dead ends without air out of a basis; ok is false where there are none or too much of it.
func (k *Work) withoutStubs(r region, b isolation.Basis, o drain.Outlook) (isolation.Basis, bool) {
	airless := map[string]float64{}
	for _, p := range o.Pieces {
		if p.Air != drain.Breathes {
			airless[p.Name] = p.TrappedM3 - p.KeptM3
		}
	}
	short := isolation.Basis{Fluid: b.Fluid, Section: b.Section}
	short.Section.Links = nil
	moved := map[string]string{}
	sum := 0.0
	for _, l := range b.Section.Links {
		m3, is := airless[l.Name]
		end, inner := k.deadEnd(r, l)
		if !is || end == "" || m3 <= 0 {
			short.Section.Links = append(short.Section.Links, l)
			continue
		}
		moved[end] = inner
		sum += m3
		short.Stubs = append(short.Stubs, isolation.Stub{Name: l.Name, At: isolation.NodeID(end), Litres: m3 * 1000})
	}
	if len(short.Stubs) == 0 || sum > stubShare*o.TrappedM3 {
		return b, false
	}
	short.Section.Nodes = slices.DeleteFunc(slices.Clone(b.Section.Nodes),
		func(n drain.Node) bool { return moved[n.Name] != "" })
	short.Section.Boundary = slices.Clone(b.Section.Boundary)
	for i, p := range short.Section.Boundary {
		if inner := moved[p.Node]; inner != "" {
			short.Section.Boundary[i].Node = inner
		}
	}
	return short, true
}

// deadEnd returns the end of a link that is a shut point at the region's edge, and its other end; "" where it is none.
func (k *Work) deadEnd(r region, l drain.Link) (end, inner string) {
	for _, e := range r.ends {
		switch id := string(k.At(e).ID); {
		case k.At(e).Kind == isolation.Vessel:
		case l.A == id:
			return id, l.B
		case l.B == id:
			return id, l.A
		}
	}
	return "", ""
}

// stubL returns the litres that stubs may hold, all together.
func stubL(b *isolation.Basis) float64 {
	sum := 0.0
	for _, s := range b.Stubs {
		sum += s.Litres
	}
	return sum
}
