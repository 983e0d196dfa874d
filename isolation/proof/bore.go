package proof

import "slices"

// bores answers by which bore in mm the rules judge a source: the largest of all links that lie on any simple way from
// it to the work, because a rule about wide lines must not be escaped through the narrow end of one. Links without a
// bore count as 0, and one-way links are taken both ways: that can only widen the answer.
//
// A link lies on a simple way exactly where its two ends can be joined to the source and to the work by two ways that
// share no node. Such a pair is two units of flow through nodes that carry one each (Menger 1927; Ford and Fulkerson
// 1956; from memory), so two searches decide it. Links are tried from the widest down, and the first that lies on a way
// is the answer.
type bores struct {
	ends   [][2]int32 // of every link; the work is drawn together to the vertex behind the last node
	bore   []float64
	beside [][]int32 // neighbours, whatever the direction of the link
	order  []int32   // links, the widest first, those without a bore left out
	before []int32   // on the first way: the vertex before each, start for its first, off for what is not on it
	came   []int32   // see reach
}

const (
	start = -1
	off   = -2
)

// newBores draws what is marked together and sorts the links; a pipe without a bore counts as so many mm. O(nodes +
// links · log links).
func (v *prover) newBores(opened []bool, without float64) *bores {
	work := int32(len(opened))
	b := &bores{beside: make([][]int32, work+1), before: make([]int32, work+1), came: make([]int32, 2*work+2)}
	for e, l := range v.plant.Links {
		ends := v.ends[e]
		for i := range ends {
			if opened[ends[i]] {
				ends[i] = work
			}
		}
		bore := l.BoreMM
		if bore == 0 && !v.plant.Nodes[v.ends[e][0]].Kind.IsElectrical() && !v.plant.Nodes[v.ends[e][1]].Kind.IsElectrical() {
			bore = without
		}
		b.ends, b.bore = append(b.ends, ends), append(b.bore, bore)
		if ends[0] == ends[1] {
			continue
		}
		b.beside[ends[0]] = append(b.beside[ends[0]], ends[1])
		b.beside[ends[1]] = append(b.beside[ends[1]], ends[0])
		if bore > 0 {
			b.order = append(b.order, int32(e))
		}
	}
	slices.SortStableFunc(b.order, func(x, y int32) int {
		switch {
		case b.bore[x] > b.bore[y]:
			return -1
		case b.bore[x] < b.bore[y]:
			return 1
		}
		return 0
	})
	return b
}

// of returns the bore for a source; 0 where no way leads from it to the work.
func (b *bores) of(source int32) float64 {
	for _, e := range b.order {
		if b.onSimpleWay(e, source) {
			return b.bore[e]
		}
	}
	return 0
}

// onSimpleWay reports whether a link lies on some simple way from a source to the work. O(nodes + links).
func (b *bores) onSimpleWay(e, source int32) bool {
	work := int32(len(b.beside) - 1)
	for i := range b.before {
		b.before[i] = off
	}
	from, to := b.ends[e], [2]int32{source, work}
	end := b.reach(from[:], to[:])
	if end < 0 {
		return false
	}
	at := end
	for b.came[2*at] != start { // the first way crosses nothing yet, so it was reached from outside everywhere
		b.before[at] = b.came[2*at] / 2
		at = b.before[at]
	}
	b.before[at] = start
	return b.reach([]int32{from[0] + from[1] - at}, []int32{source + work - end}) >= 0
}

// reach looks for a way from one of two vertices to one of two, and returns the vertex at its end, or -1. A vertex of
// the way found before may not be crossed; but a new way that comes to it may push the old one off the stretch before
// it: then it goes back along that stretch and leaves it at any vertex. State 2i is "come to i from outside", 2i+1
// "come to i back along the old way"; came holds the state before each.
func (b *bores) reach(from, to []int32) int32 {
	for i := range b.came {
		b.came[i] = off
	}
	var queue []int32
	look := func(state, before int32) {
		if b.came[state] == off {
			b.came[state] = before
			queue = append(queue, state)
		}
	}
	for _, i := range from {
		look(2*i, start)
	}
	for len(queue) > 0 {
		state := queue[0]
		queue = queue[1:]
		i, back := state/2, state%2 == 1
		onOld := b.before[i] != off
		if !onOld && slices.Contains(to, i) {
			return i
		}
		if onOld && b.before[i] >= 0 {
			look(2*b.before[i]+1, state)
		}
		if onOld && !back {
			continue
		}
		for _, j := range b.beside[i] {
			look(2*j, state)
		}
	}
	return -1
}
