package drain

import "math"

// solid is a piece that holds liquid: how much lies below a level, and how wide
// its surface is there (the derivative). Volumes are exact for straight pipes.
type solid interface {
	below(levelM float64) float64   // m³
	surface(levelM float64) float64 // m²
	span() (low, high float64)      // levels between which it fills
	full() float64                  // m³
}

// SegmentArea returns the area in m² of a circle of diameter d filled to depth h;
// h is clamped to 0…d.
func SegmentArea(d, h float64) float64 {
	r := d / 2
	if h <= 0 || d <= 0 {
		return 0
	}
	if h >= d {
		return math.Pi * r * r
	}
	cos := 1 - h/r
	return r * r * (math.Acos(cos) - cos*math.Sqrt(1-cos*cos))
}

// segmentIntegral is ∫0^h SegmentArea(d, x) dx, also beyond the crown:
// R³(sin θ − sin³θ/3 − θ cos θ) with cos θ = 1 − h/R (own integration).
func segmentIntegral(d, h float64) float64 {
	r := d / 2
	switch {
	case h <= 0:
		return 0
	case h >= d:
		return math.Pi * r * r * (h - r)
	case h < 1e-3*d: // two terms of the series; the closed form cancels here
		return 8.0 / 15 * math.Sqrt(d) * math.Pow(h, 2.5) * (1 - 3.0/14*h/d)
	}
	th := math.Acos(1 - h/r)
	sin, cos := math.Sincos(th)
	return r * r * r * (sin - sin*sin*sin/3 - th*cos)
}

// pipeSolid is a straight pipe between two inverts. Its sections stand square to
// its axis, so in a pipe with a slope the bore takes up bore·cos of height.
type pipeSolid struct {
	bore, length, low, rise float64 // rise ≥ 0
	cos                     float64
}

func newPipeSolid(bore, length, a, b float64) pipeSolid {
	p := pipeSolid{bore: bore, length: length, low: math.Min(a, b), rise: math.Abs(a - b)}
	if length > 0 {
		s := math.Min(1, p.rise/length)
		p.cos = math.Max(math.Sqrt(1-s*s), 1e-3)
	}
	if p.rise < 1e-6*bore {
		p.rise = 0
	}
	return p
}

func (p pipeSolid) full() float64 { return area(p.bore) * p.length }

func (p pipeSolid) span() (float64, float64) {
	return p.low, p.low + p.rise + p.bore*p.cos
}

func (p pipeSolid) below(z float64) float64 {
	h := z - p.low
	if h <= 0 || p.length == 0 {
		return 0
	}
	if h >= p.rise+p.bore*p.cos {
		return p.full()
	}
	if p.rise == 0 {
		return p.length * SegmentArea(p.bore, h/p.cos)
	}
	c := p.cos
	return p.length / p.rise * c * (segmentIntegral(p.bore, h/c) - segmentIntegral(p.bore, (h-p.rise)/c))
}

func (p pipeSolid) surface(z float64) float64 {
	h := z - p.low
	if h <= 0 || p.length == 0 || h >= p.rise+p.bore*p.cos {
		return 0
	}
	if p.rise == 0 {
		x := h / p.cos
		return p.length * 2 * math.Sqrt(math.Max(0, x*(p.bore-x))) / p.cos
	}
	return p.length / p.rise * (SegmentArea(p.bore, h/p.cos) - SegmentArea(p.bore, (h-p.rise)/p.cos))
}

// vesselSolid is a vessel standing on its bottom.
type vesselSolid struct {
	shape                  Shape
	volume, bottom, height float64
}

func newVesselSolid(v Vessel, bottom float64) vesselSolid {
	h := v.HeightM
	if h == 0 {
		h = math.Cbrt(v.VolumeM3)
	}
	return vesselSolid{v.Shape, v.VolumeM3, bottom, h}
}

func (v vesselSolid) full() float64            { return v.volume }
func (v vesselSolid) span() (float64, float64) { return v.bottom, v.bottom + v.height }

func (v vesselSolid) below(z float64) float64 {
	x := math.Min(1, math.Max(0, (z-v.bottom)/v.height))
	switch v.shape {
	case LyingCylinder:
		return v.volume * SegmentArea(1, x) * 4 / math.Pi
	case Sphere:
		return v.volume * x * x * (3 - 2*x)
	}
	return v.volume * x
}

func (v vesselSolid) surface(z float64) float64 {
	x := (z - v.bottom) / v.height
	if x <= 0 || x >= 1 {
		return 0
	}
	mean := v.volume / v.height
	switch v.shape {
	case LyingCylinder:
		return mean * 2 * math.Sqrt(x*(1-x)) * 4 / math.Pi
	case Sphere:
		return mean * 6 * x * (1 - x)
	}
	return mean
}
