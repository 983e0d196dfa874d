package diagram

import "stillwatch/isolation"

// half is half the length of a symbol along its line; lines end there.
const half = 3.0

// symbol draws a node of kind k at x, y on a horizontal line, in position pos. The shapes follow the conventions of
// ISO 10628-2 and ISO 14617 for piping (two triangles for a valve, filled when shut) and IEC 60617 for switchgear, all
// from memory; the drawing of them is our own.
func (d *pen) symbol(k isolation.Kind, pos isolation.Position, x, y float64) {
	cut := pos == k.Isolating()
	switch k {
	case isolation.Breaker, isolation.Disconnector, isolation.Switch:
		d.contact(k, cut, x, y)
	case isolation.Fuse:
		d.fuse(cut, x, y)
	case isolation.Earth:
		d.earth(cut, x, y)
	case isolation.Blank:
		d.blank(cut, x, y)
	case isolation.Spool:
		d.spool(cut, x, y)
	case isolation.Plug:
		d.plug(cut, x, y)
	case isolation.CheckValve:
		d.checkValve(x, y)
	case isolation.AutomaticValve:
		d.valve(cut && pos != "", x, y)
		d.line(x, y, x, y-2.4, Ink)
		d.rect(x-1.3, y-4.2, 2.6, 1.8, Hollow)
	case isolation.Valve, isolation.Opening:
		d.valve(cut, x, y)
	case isolation.Consumer:
		d.add(Circle{x, y, 2.2, Hollow})
	case isolation.Vessel:
		d.rect(x-2.4, y-2.4, 4.8, 4.8, Hollow)
	case isolation.Source:
		d.flag(x-half, y)
	default:
		d.add(Circle{x, y, 0.8, Solid})
	}
}

// valve is two triangles tip to tip, filled when shut.
func (d *pen) valve(shut bool, x, y float64) {
	s := Hollow
	if shut {
		s = Solid
	}
	d.poly(s, x-half, y-1.8, x, y, x-half, y+1.8)
	d.poly(s, x+half, y-1.8, x, y, x+half, y+1.8)
}

// checkValve is a body with a slanting disc and its hinge; it is never filled because it never counts as shut.
func (d *pen) checkValve(x, y float64) {
	d.rect(x-half, y-1.8, 2*half, 3.6, Hollow)
	d.line(x-half, y-1.8, x+half, y+1.8, Ink)
	d.add(Circle{x - half, y - 1.8, 0.7, Solid})
}

// contact is a blade between two terminals: lifted when off, down when on. A breaker has a cross at its fixed contact,
// a disconnector a bar, a control switch a grip.
func (d *pen) contact(k isolation.Kind, off bool, x, y float64) {
	d.rect(x-half, y-2.6, 2*half, 4.2, Hollow)
	left, right := x-1.9, x+1.5
	d.line(x-half, y, left, y, Ink)
	d.line(right, y, x+half, y, Ink)
	tip := Point{right, y}
	if off {
		tip = Point{x + 0.9, y - 1.9}
	}
	d.line(left, y, tip.X, tip.Y, Ink)
	d.add(Circle{left, y, 0.4, Solid})
	switch k {
	case isolation.Breaker:
		d.line(right-0.7, y-0.7, right+0.7, y+0.7, Ink)
		d.line(right-0.7, y+0.7, right+0.7, y-0.7, Ink)
	case isolation.Disconnector:
		d.line(right, y-1, right, y+1, Ink)
	default:
		d.line(x-0.5, (y+tip.Y)/2, x-0.5, y+1, Ink)
		d.line(x-1.2, y+1, x+0.2, y+1, Ink)
	}
}

// earth is a blade from the conductor to three bars that grow shorter: down on them when it is on, lifted when off.
func (d *pen) earth(on bool, x, y float64) {
	tip := Point{x + 0.9, y - 1.9}
	if on {
		tip = Point{x + 1, y}
	}
	d.line(x-half, y, x-1.4, y, Ink)
	d.line(x-1.4, y, tip.X, tip.Y, Ink)
	for i := range 3 {
		at, bar := x+1+float64(i), 2.1-0.7*float64(i)
		d.line(at, y-bar, at, y+bar, Ink)
	}
}

// fuse is a cartridge on the line; withdrawn it hangs above a gap.
func (d *pen) fuse(out bool, x, y float64) {
	if out {
		d.add(Circle{x - half + 0.4, y, 0.5, Solid}, Circle{x + half - 0.4, y, 0.5, Solid})
		d.rect(x-2, y-2.8, 4, 1.7, Hollow)
		d.line(x-2, y-1.95, x+2, y-1.95, Ink)
		return
	}
	d.rect(x-half, y-1.1, 2*half, 2.2, Hollow)
	d.line(x-half, y, x+half, y, Ink)
}

// blank is a figure-of-eight plate: the disc across the line is filled when the blank is in, a ring when it is out.
func (d *pen) blank(in bool, x, y float64) {
	onLine, aside := Hollow, Solid
	if in {
		onLine, aside = Solid, Hollow
	}
	d.line(x-half, y, x+half, y, Ink)
	d.add(Circle{x, y - 2.6, 1.2, aside}, Circle{x, y, 1.4, onLine})
}

// spool is a flanged piece of pipe; out, it leaves two blind flanges with a gap and lies above it.
func (d *pen) spool(out bool, x, y float64) {
	if !out {
		d.rect(x-half, y-1, 2*half, 2, Hollow)
		d.line(x-half, y-1.8, x-half, y+1.8, Ink)
		d.line(x+half, y-1.8, x+half, y+1.8, Ink)
		return
	}
	for _, fx := range []float64{x - half, x + half - 0.7} {
		d.rect(fx, y-1.8, 0.7, 3.6, Solid)
	}
	d.rect(x-1.8, y-3, 3.6, 1.5, Hollow)
}

// plug is a threaded stopper at the end of a line, filled when in.
func (d *pen) plug(in bool, x, y float64) {
	s := Hollow
	if in {
		s = Solid
	}
	d.poly(s, x-half, y-1.4, x+half-1, y-1.4, x+half-1, y-2, x+half, y-2, x+half, y+2, x+half-1, y+2, x+half-1, y+1.4,
		x-half, y+1.4)
}

// flag is where a source's line comes in: an arrow-shaped tab pointing along the line.
func (d *pen) flag(x, y float64) {
	d.poly(LiveFill, x, y-1.7, x+2.6, y-1.7, x+4.4, y, x+2.6, y+1.7, x, y+1.7)
}

// padlock marks a point that carries a lock.
func (d *pen) padlock(x, y float64) {
	d.path(Ink, x-0.85, y-0.7, x-0.85, y-1.7, x-0.5, y-2.2, x+0.5, y-2.2, x+0.85, y-1.7, x+0.85, y-0.7)
	d.rect(x-1.3, y-0.8, 2.6, 2, Solid)
}

// tag marks a point that can only carry a tag: an outlined label with its hole.
func (d *pen) tag(x, y float64) {
	d.poly(Hollow, x-1.5, y-0.5, x-0.6, y-1.6, x+1.5, y-1.6, x+1.5, y+1, x-0.6, y+1, x-1.5, y-0.1)
	d.add(Circle{x - 0.5, y - 0.3, 0.25, Solid})
}

// badge is the number of a step on a filled disc.
func (d *pen) badge(number string, x, y float64) {
	d.add(Circle{x, y, 1.9, Badge}, Text{X: x, Y: y + 0.9, Size: badgeSize(number), Words: number, Anchor: Middle,
		Style: Number})
}

func badgeSize(number string) float64 {
	if len(number) > 2 {
		return 1.9
	}
	return 2.5
}
