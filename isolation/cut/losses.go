package cut

import (
	"fmt"
	"slices"

	"stillwatch/isolation/sat"
)

// Service is a supply that others live on: it stands while flow from From
// reaches To along the net's ways and through no chosen vertex.
type Service struct {
	// Net is the number of the net in [Problem.Nets].
	Net      int
	From, To int32
}

// Loss is what others lose if any of the services no longer stands. A service
// that doesn't stand with nothing chosen can't be lost.
type Loss struct {
	// Weight is what the loss counts for against the cost of points, at least 1.
	Weight   int64
	Services []Service
}

// checkLosses refuses losses and nets that speak of no such plant.
func (p *Problem) checkLosses() error {
	for i, net := range p.Nets {
		if err := checkPairs(fmt.Sprintf("net %d: way", i), p.N, net); err != nil {
			return err
		}
	}
	sum := int64(0)
	for i, l := range p.Losses {
		if l.Weight < 1 || l.Weight > MaxCost-sum {
			return fmt.Errorf("weight of loss %d is %d, want 1 to %d in all", i, l.Weight, MaxCost)
		}
		sum += l.Weight
		for _, s := range l.Services {
			if s.Net < 0 || s.Net >= len(p.Nets) || uint32(s.From) >= uint32(p.N) || uint32(s.To) >= uint32(p.N) {
				return fmt.Errorf("loss %d has a service from %d to %d in net %d, which isn't there", i, s.From, s.To, s.Net)
			}
		}
	}
	return nil
}

// supply is a cache of what services reach, for one set of closed points at a
// time: many begin at the same source. It knows which services stand with some points closed, see with.
type supply struct {
	losses  []Loss // without services that never stand
	onward  []lists
	back    []lists
	closed  []bool
	reached map[root]*reached
}

// root is where services of one net begin.
type root struct {
	net  int
	from int32
}

// reached is what comes from a root with some points closed.
type reached struct {
	seen  []bool
	stale bool // other points are closed now
}

// newSupply finds out which services stand with nothing closed.
func newSupply(p *Problem) *supply {
	u := &supply{reached: map[root]*reached{}}
	for _, net := range p.Nets {
		u.onward = append(u.onward, newLists(p.N, nil, turned(net)))
		u.back = append(u.back, newLists(p.N, nil, net))
	}
	u.with(make([]bool, p.N))
	for _, l := range p.Losses {
		l.Services = slices.DeleteFunc(slices.Clone(l.Services), func(s Service) bool { return !u.reach(s)[s.To] })
		u.losses = append(u.losses, l)
	}
	return u
}

// with asks from now on with these points closed.
func (u *supply) with(closed []bool) {
	u.closed = closed
	for _, r := range u.reached {
		r.stale = true
	}
}

// reach marks what comes from where a service begins.
func (u *supply) reach(s Service) []bool {
	at := root{s.Net, s.From}
	r := u.reached[at]
	if r == nil {
		r = &reached{seen: make([]bool, len(u.closed)), stale: true}
		u.reached[at] = r
	}
	if r.stale {
		r.stale = false
		clear(r.seen)
		u.onward[s.Net].flood([]int32{s.From}, r.seen, func(v int32) bool { return u.closed[v] })
	}
	return r.seen
}

// lost lists the losses that a set of closed points brings, by number.
func (u *supply) lost(closed []bool) []int {
	u.with(closed)
	out := []int{}
	for i, l := range u.losses {
		if slices.ContainsFunc(l.Services, func(s Service) bool { return !u.reach(s)[s.To] }) {
			out = append(out, i)
		}
	}
	return out
}

// Lost lists the losses of p that a set of points brings, by number, ascending.
// p must be one that [Solve] accepts.
func Lost(p Problem, chosen []int32) []int {
	closed := make([]bool, p.N)
	for _, v := range chosen {
		closed[v] = true
	}
	return newSupply(&p).lost(closed)
}

// Unless a loss is taken, one of the closed points that part its service has to
// stay open: those that the service comes to first, or those nearest to where it
// should arrive. The shorter list says more.

// parting lists closed points of which one must be open for the service to
// stand; nil if it stands.
func (u *supply) parting(s Service) []int32 {
	from := u.reach(s)
	if from[s.To] {
		return nil
	}
	to := make([]bool, len(u.closed))
	u.back[s.Net].flood([]int32{s.To}, to, func(v int32) bool { return u.closed[v] })
	var first, last []int32
	for v, is := range u.closed {
		if !is {
			continue
		}
		if int32(v) == s.From || slices.ContainsFunc(u.back[s.Net].of(int32(v)), func(w int32) bool { return from[w] }) {
			first = append(first, int32(v))
		}
		if int32(v) == s.To || slices.ContainsFunc(u.onward[s.Net].of(int32(v)), func(w int32) bool { return to[w] }) {
			last = append(last, int32(v))
		}
	}
	if len(last) < len(first) {
		return last
	}
	return first
}

// lazyLosses returns which services don't stand though their loss isn't taken.
func (e *encoding) lazyLosses(value func(v int) bool) [][]sat.Lit {
	if len(e.taken) == 0 {
		return nil
	}
	e.supply.with(e.j.closed)
	var out [][]sat.Lit
	for i, l := range e.supply.losses {
		if value(int(e.taken[i] >> 1)) {
			continue
		}
		for _, s := range l.Services {
			points := e.supply.parting(s)
			if points == nil {
				continue
			}
			c := []sat.Lit{e.taken[i]}
			for _, v := range points {
				c = append(c, e.x[^e.k.at[v]].Not())
			}
			out = append(out, c)
		}
	}
	return out
}
