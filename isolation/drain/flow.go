package drain

import "math"

// flow is a leg at one level of the surfaces, with all that does not change while
// the speed u is sought.
type flow struct {
	up       int // the leg it runs into, −1: the drain
	lossK    float64
	slender  float64 // wetted length over hydraulic diameter
	kinetic  float64 // velocity head for u = 1
	laminar  float64 // friction head for u = 1 in laminar flow
	reynolds float64 // Reynolds number for u = 1
	head     float64 // head there is above its crest, 0: it passes none
	used     float64 // head used up to its end on the worst path, at the speed tried
	widest   int     // the leg into it that uses most head
	friction *cautious
}

// trickle is the depth over a crest, as a share of the bore, below which the flow
// is no longer reduced. The exact equations never finish: a pool takes for ever to
// come down to its weir, and would hold every other leg back with it. So the last
// trickle is taken as quicker than it is; the litres recorded show if it was not.
const trickle = 0.25

// at puts the leg at level z. Where the surface has come down to its higher end
// the flow fills only part of the bore there, down to the trickle.
func (f *flow) at(g *leg, z, nu float64) {
	a, dh, length := g.bore*g.bore*(math.Pi/4), g.bore, g.length
	f.head = 0
	if y := z - g.high; y > 0 {
		f.head = max(y, trickle*g.bore)
		if f.head < g.bore {
			cos := 1 - 2*f.head/g.bore
			th := math.Acos(cos)
			a = g.bore * g.bore / 4 * (th - cos*math.Sqrt(1-cos*cos))
			dh = 4 * a / (g.bore * th)
		}
	} else if g.high > g.low {
		length *= max(0, (z-g.low)/(g.high-g.low))
	}
	perU := g.flowArea / a
	f.kinetic, f.reynolds, f.slender = perU*perU/(2*Gravity), perU*dh/nu, length/dh
	f.laminar = 64 / f.reynolds * f.slender * f.kinetic
}

// loss is the head lost along a flow and the head that it carries as kinetic energy, m, at speed u, and the
// regime it is in: the laws of cautious, with the division of the laminar one done.
func (f *flow) loss(u float64) (lost, carried float64, regime uint64) {
	velocity := f.kinetic * u * u
	re := f.reynolds * u
	alpha, profile := 1.0, uint64(0) // a jet from a hole has one velocity throughout
	if f.slender > 0 {
		alpha, profile = kinetic(re)
	}
	if re < f.friction.laminarRe {
		return velocity*f.lossK + f.laminar*u, alpha * velocity, profile << 2
	}
	factor, regime := f.friction.factor(re)
	return velocity * (f.lossK + factor*f.slender), alpha * velocity, profile<<2 + regime
}

// speed is u at level z in m/s for the surface that spread has put in place.
func (r *run) speed(z, total float64) float64 {
	r.active = r.active[:0]
	for i := len(r.legs) - 1; i >= 0; i-- {
		if g := &r.legs[i]; g.flowArea > 0 {
			r.flows[i].at(g, z, r.nu)
			r.active = append(r.active, i)
		}
	}
	r.exit.flowArea = total
	r.out.at(&r.exit, math.Inf(1), r.nu)
	r.out.head = math.Max(z-r.mouth, 1e-9)
	x, slope := logSecant(func(x float64) float64 { return math.Log(r.demand(math.Exp(x))) }, r.guess(z), r.slope)
	r.before, r.beforeZ, r.last, r.lastZ, r.slope = r.last, r.lastZ, x, z, slope
	return math.Exp(x)
}

// guess is log u at z on the line through the last two levels, unless that leads
// far.
func (r *run) guess(z float64) float64 {
	step := z - r.lastZ
	if run := r.lastZ - r.beforeZ; math.Abs(step) < 2*math.Abs(run) {
		if d := step / run * (r.last - r.before); math.Abs(d) < 0.3 {
			return r.last + d
		}
	}
	return r.last
}

// demand is the head asked for over the head there is, at the worst place, when
// the surfaces fall at u. It leaves in form a hash of which place is worst, by
// which ways, in which regimes: where that changes, u has a kink.
func (r *run) demand(u float64) float64 {
	worst, used, place := 0.0, 0.0, -1
	form := uint64(0)
	flows := r.flows
	for _, i := range r.active {
		flows[i].used, flows[i].widest = 0, -1
	}
	for _, i := range r.active {
		f := &flows[i]
		lost, kinetic, regime := f.loss(u)
		form = form*1099511628211 + uint64(f.widest+1)<<4 + regime
		h := f.used + lost
		if f.head > 0 && h+kinetic > worst*f.head {
			worst, place = (h+kinetic)/f.head, i
		}
		if f.up < 0 {
			used = max(used, h)
		} else if up := &flows[f.up]; h > up.used {
			up.used, up.widest = h, i
		}
	}
	lost, kinetic, regime := r.out.loss(u)
	if d := (used + lost + kinetic) / r.out.head; d > worst {
		worst, place = d, -2
	}
	r.form = form*1099511628211 + uint64(place+2)<<4 + regime
	return worst
}
