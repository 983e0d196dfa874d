package drain

import "fmt"

// index maps node names to their place in the section.
type index map[string]int

// check refuses everything that the physics could only answer with nonsense, and
// names the field. It returns the node index.
func (s Section) check() (index, error) {
	if len(s.Nodes) == 0 {
		return nil, refuse("section "+s.Name, "has no nodes")
	}
	at := make(index, len(s.Nodes))
	for i, n := range s.Nodes {
		if _, twice := at[n.Name]; twice || n.Name == "" {
			return nil, refuse(fmt.Sprintf("node %d", i+1), "the name %q is empty or used twice", n.Name)
		}
		at[n.Name] = i
		if err := n.check(); err != nil {
			return nil, err
		}
	}
	if err := s.checkParts(at); err != nil {
		return nil, err
	}
	return at, s.checkState()
}

// checkParts looks at links, vessels and openings.
func (s Section) checkParts(at index) error {
	for _, l := range s.Links {
		if err := l.check(at); err != nil {
			return err
		}
	}
	for _, v := range s.Vessels {
		if err := v.check(at); err != nil {
			return err
		}
	}
	names := map[string]bool{}
	for _, o := range s.Openings {
		if err := o.check(at); err != nil {
			return err
		}
		if names[o.Name] {
			return refuse("opening "+o.Name, "the name is used twice")
		}
		names[o.Name] = true
	}
	for _, b := range s.Boundary {
		if err := b.check(); err != nil {
			return err
		}
	}
	return nil
}

// checkState looks at fluid, temperature, fill, margins and tilt.
func (s Section) checkState() error {
	if err := s.Fluid.flows(s.TempC); err != nil {
		return fmt.Errorf("section %s: %w", s.Name, err)
	}
	if s.FillM != nil {
		if err := levelBand.within("fill level", *s.FillM); err != nil {
			return err
		}
	}
	share := band{0, 0.5, ""}
	m := s.Margin
	return firstOf(roughBand.within("roughness", s.RoughM), share.within("margin of bores", m.Bore),
		share.within("margin of lengths", m.Length), share.within("margin of vessels", m.Vessel),
		share.within("margin of the fill", m.Fill),
		angleBand.within("list", s.Tilt.ListDeg), angleBand.within("trim", s.Tilt.TrimDeg))
}

func (n Node) check() error {
	err := levelBand.within("node "+n.Name+" level", n.LevelM)
	if err == nil && n.Placed {
		err = firstOf(placeBand.within("node "+n.Name+" x", n.XM), placeBand.within("node "+n.Name+" y", n.YM))
	}
	return err
}

func (at index) has(field, node string) error {
	if _, ok := at[node]; !ok {
		return refuse(field, "names node %q, which is not in the section", node)
	}
	return nil
}

func (l Link) check(at index) error {
	what := "link " + l.label()
	err := firstOf(at.has(what, l.A), at.has(what, l.B), boreBand.within(what+" bore", l.BoreM),
		lengthBand.within(what+" length", l.LengthM), lossBand.within(what+" loss", l.LossK),
		levelBand.within(what+" invert at "+l.A, l.InvertAM), levelBand.within(what+" invert at "+l.B, l.InvertBM))
	if err != nil {
		return err
	}
	rise := l.InvertAM - l.InvertBM
	if rise < 0 {
		rise = -rise
	}
	if l.LengthM < rise*(1-1e-9) {
		return refuse(what+" length", "%.6g m is shorter than the %.6g m of height between its ends", l.LengthM, rise)
	}
	return nil
}

func (v Vessel) check(at index) error {
	what := "vessel " + v.label()
	err := firstOf(at.has(what, v.Node), volumeBand.within(what+" volume", v.VolumeM3),
		heightBand.within(what+" height", v.HeightM))
	if err == nil && v.VolumeM3 == 0 {
		err = refuse(what+" volume", "is missing")
	}
	if err == nil && v.VolumeM3 < 1e-6 {
		err = refuse(what+" volume", "%.6g m³ is less than a millilitre", v.VolumeM3)
	}
	if err == nil && v.Shape > Sphere {
		err = refuse(what+" shape", "is not one of prism, lying cylinder, sphere")
	}
	return err
}

func (o Opening) check(at index) error {
	what := o.what()
	return firstOf(at.has(what, o.Node), boreBand.within(what+" bore", o.BoreM), levelBand.within(what+" level", o.LevelM),
		lengthBand.within(what+" length", o.LengthM), lossBand.within(what+" loss", o.LossK))
}

// what is the opening's name with its role: "drain D4", "vent V2".
func (o Opening) what() string {
	if o.Role == VentOpening {
		return "vent " + o.Name
	}
	return "drain " + o.Name
}

func (b Boundary) check() error {
	what := "point " + b.Name
	return firstOf(band{0, 3000, "mm"}.within(what+" size", b.DNmm),
		band{-1, 1000, "bar"}.within(what+" pressure behind it", b.UpstreamBar),
		band{-60, 700, "°C"}.within(what+" temperature behind it", b.TempC))
}
