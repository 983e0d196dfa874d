package plantfile

import (
	"math"
	"sort"

	"github.com/goccy/go-yaml/ast"

	"stillwatch/isolation"
)

// checkLink holds a link against the nodes it joins, after all nodes are read.
func (l *loader) checkLink(e *entry, k isolation.Link, hasLength bool) {
	if k.HasLevel && hasLength {
		if fall := math.Abs(k.InvertM[0] - k.InvertM[1]); fall > k.LengthM*1.001+0.01 {
			e.refuse("invert_m", "a pipe of %v m cannot rise or fall %.4g m; length_m is along the pipe", k.LengthM, fall)
		}
	}
	l.later = append(l.later, func() {
		a, b := l.plant.Node(k.A), l.plant.Node(k.B)
		if a == nil {
			e.refuse("a", "a names %q, which is not a node%s", shorten(string(k.A)), l.nodeOffer(string(k.A)))
		}
		if b == nil {
			e.refuse("b", "b names %q, which is not a node%s", shorten(string(k.B)), l.nodeOffer(string(k.B)))
		}
		if a == nil || b == nil {
			return
		}
		if a == b {
			e.refuse("b", "it joins %s to itself", k.A)
			return
		}
		l.checkCable(e, a, b)
		for i, n := range []*isolation.Node{a, b} {
			if k.HasLevel {
				l.checkReach(e, k.InvertM[i], n)
			}
		}
	})
}

// checkCable refuses what only a pipe has on a link that ends at something electrical.
func (l *loader) checkCable(e *entry, a, b *isolation.Node) {
	for _, n := range []*isolation.Node{a, b} {
		if !n.Kind.IsElectrical() && !(n.Kind == isolation.Source && n.Energy.Nature() == isolation.Current) {
			continue
		}
		for _, key := range []string{"bore_mm", "invert_m"} {
			if p, stated := e.keys[key]; stated {
				l.refuse(p.Line, p.Column, "%s: %s is electrical, so the link is a cable, and a cable has no %s", e.what, n.ID, key)
			}
		}
		return
	}
}

// checkReach refuses a pipe that would end outside the vessel it ends at.
func (l *loader) checkReach(e *entry, invert float64, n *isolation.Node) {
	if n.Kind != isolation.Vessel || !n.HasElevation {
		return
	}
	const slack = 0.02 // m: the figures are read off drawings
	if invert < n.ElevationM-slack {
		e.refuse("invert_m", "the pipe's end at %v m lies below the bottom of %s, %v m", invert, n.ID, n.ElevationM)
	}
	if n.TopM > n.ElevationM && invert > n.TopM+slack {
		e.refuse("invert_m", "the pipe's end at %v m lies above the top of %s, %v m", invert, n.ID, n.TopM)
	}
}

// checkFluid refuses a fluid that the table of fluids lacks.
func (l *loader) checkFluid(e *entry, name string) {
	if _, ok := l.plant.Fluids[name]; ok {
		return
	}
	known := make([]string, 0, len(l.plant.Fluids))
	for f := range l.plant.Fluids {
		known = append(known, f)
	}
	sort.Strings(known)
	e.refuse("fluid", "%q is not in the table of fluids%s", shorten(name), offer(name, known))
}

// checkSupply refuses a supply that does not exist, that is the valve itself, or that nobody can take away.
func (l *loader) checkSupply(e *entry, id, supply isolation.NodeID) {
	l.later = append(l.later, func() {
		switch n := l.plant.Node(supply); {
		case n == nil:
			e.refuse("supply", "supply names %q, which is not a node%s", shorten(string(supply)), l.nodeOffer(string(supply)))
		case supply == id:
			e.refuse("supply", "it names itself as its supply")
		case !n.Kind.IsPoint():
			e.refuse("supply", "%s is %s; the supply is the point that takes the air or power away", supply,
				isolation.WithArticle(string(n.Kind)))
		}
	})
}

// beside reads the id of a node that belongs to a vessel. After all is read it checks that it exists, and asks why it
// may not be that; "" for nothing.
func (l *loader) beside(e *entry, key string, why func(*isolation.Node) string) isolation.NodeID {
	s := e.text(key)
	if s == "" {
		return ""
	}
	l.later = append(l.later, func() {
		if n := l.plant.Node(isolation.NodeID(s)); n == nil {
			e.refuse(key, "%s names %q, which is not a node%s", key, shorten(s), l.nodeOffer(s))
		} else if fault := why(n); fault != "" {
			e.refuse(key, "%s is %s; %s", s, isolation.WithArticle(string(n.Kind)), fault)
		}
	})
	return isolation.NodeID(s)
}

// notHeater says why nothing is heated by a node.
func notHeater(n *isolation.Node) string {
	if n.Kind == isolation.Vessel || n.Kind == isolation.Junction || n.Kind == isolation.Consumer {
		return ""
	}
	return "what heats is the other side of the heater, or an electrical consumer"
}

// notDrive says why a node drives no pump.
func notDrive(n *isolation.Node) string {
	if n.Kind == isolation.Consumer {
		return ""
	}
	return "what drives a pump is a consumer: its motor"
}

// notKeptOff says why a node cannot be kept off: what is moved by hand stands as the plan says, and a source cannot be
// kept from itself.
func notKeptOff(n *isolation.Node) string {
	if n.Kind.IsMoved() || n.Kind == isolation.Source {
		return "it keeps off " + string(n.ID) + ", which is " + isolation.WithArticle(string(n.Kind)) +
			"; what is kept off is a consumer, a vessel or a junction"
	}
	return ""
}

// notPoint says why a node cannot be left shut for the starting routine: nobody opens it by hand.
func notPoint(n *isolation.Node) string {
	if n.Kind.IsPoint() && !n.Kind.IsElectrical() {
		return ""
	}
	return string(n.ID) + " is " + isolation.WithArticle(string(n.Kind)) + "; what the starting routine opens is a valve"
}

// notControl says why a node cannot be a control: nobody can put it to off.
func notControl(n *isolation.Node) string {
	if n.Kind.IsPoint() {
		return ""
	}
	return string(
		n.ID,
	) + " is " + isolation.WithArticle(
		string(n.Kind),
	) + "; a control is something that a person puts to off"
}

// checkStandby refuses a standby that does not exist or is the machine itself. Two machines may stand by for each
// other.
func (l *loader) checkStandby(e *entry, m isolation.Machine) {
	l.later = append(l.later, func() {
		switch {
		case m.Standby == m.ID:
			e.refuse("standby", "it stands by for itself")
		case l.plant.Machine(m.Standby) == nil:
			e.refuse("standby", "standby names %q, which is not a machine%s", shorten(m.Standby),
				offer(m.Standby, l.machineIDs()))
		}
	})
}

func (l *loader) checkJobMachine(e *entry, id string) {
	l.later = append(l.later, func() {
		if l.plant.Machine(id) == nil {
			e.refuse("machine", "machine names %q, which is not a machine%s", shorten(id), offer(id, l.machineIDs()))
		}
	})
}

func (l *loader) machineIDs() []string {
	if l.full() {
		return nil
	}
	var out []string
	for _, m := range l.plant.Machines {
		out = append(out, m.ID)
	}
	return out
}

// checkOpens refuses a job that opens nothing.
func (l *loader) checkOpens(e *entry) {
	v, stated := e.values["opens"]
	switch list, is := v.(*ast.SequenceNode); {
	case !stated:
		e.refuse("", "it opens nothing; name the nodes that will be opened in opens")
	case is && len(list.Values) == 0:
		e.refuse("opens", "it opens nothing; name the nodes that will be opened")
	}
}

// notOpened says why a node cannot be opened by a job.
func notOpened(n *isolation.Node) string {
	if n.Kind == isolation.Source {
		return "it opens the source " + string(n.ID) + ", and a source cannot be cut from itself"
	}
	return ""
}
