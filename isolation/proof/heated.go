package proof

import (
	"slices"

	"stillwatch/isolation"
)

// warmest returns the temperature up to which a source is heated before it comes to what is marked, by a heater that
// may be hot while the plan is on and through which it passes in service; false where there is none. Which heater that
// is says its own temperature, or where the plant file is silent the hottest source that can come to its other side.
func (v *prover) warmest(source int32, on []bool) (celsius float64, heated bool) {
	for _, h := range v.hotPlaces() {
		if h.told && (!heated || h.celsius > celsius) && v.crossed(source, h.at, on) {
			celsius, heated = h.celsius, true
		}
	}
	return celsius, heated
}

// warmedUnknown reports whether a source passes, before it comes to what is marked, a heater of which the plant file
// does not tell how hot it makes it at most: an electric one that is silent, or one of a hot source that is.
func (v *prover) warmedUnknown(source int32, on []bool) bool {
	return slices.ContainsFunc(v.hotPlaces(), func(h hotPlace) bool { return h.silent && v.crossed(source, h.at, on) })
}

// hotPlace is a heater that may be hot, and how hot it makes what passes it as far as the plant file tells.
type hotPlace struct {
	at      int32
	celsius float64
	told    bool // a temperature is
	silent  bool // one is not, of something that heats it
}

// hotPlaces lists the heaters that may be hot, found once.
func (v *prover) hotPlaces() []hotPlace {
	if v.hot == nil {
		v.hot = []hotPlace{}
		for i := range v.plant.Nodes {
			if h, is := v.hotAt(int32(i)); is {
				v.hot = append(v.hot, h)
			}
		}
	}
	return v.hot
}

// hotAt looks at one heater. One whose other side is opened is cold, and one that the plan keeps off if nothing hot
// comes to it past the points.
func (v *prover) hotAt(at int32) (h hotPlace, is bool) {
	n := &v.plant.Nodes[at]
	h.at = at
	side := v.number(n.HeatedBy)
	if side < 0 || v.work[at] || v.work[side] || v.isKeptCold(side) || !v.mayBeHot(side) {
		return h, false
	}
	if n.HasTemp {
		h.celsius, h.told = n.TempC, true
		return h, true
	}
	for s, comes := range v.spread(v.before, []int32{side}, func(int32) bool { return false }) {
		from := &v.plant.Nodes[s]
		if !comes || from.Kind != isolation.Source || !v.heats(&v.plant.Nodes[side])(from) {
			continue
		}
		if isCurrent(from) || !from.HasTemp {
			h.silent = true
		} else if !h.told || from.TempC > h.celsius {
			h.celsius, h.told = from.TempC, true
		}
	}
	return h, true
}

// mayBeHot reports whether something hot comes to a node in service, or current to an element.
func (v *prover) mayBeHot(side int32) bool {
	if v.plant.Nodes[side].Kind == isolation.Consumer && v.supplied(v.shutInService)[side] {
		return true
	}
	var hot []int32
	for i := range v.plant.Nodes {
		if n := &v.plant.Nodes[i]; n.Kind == isolation.Source && !isCurrent(n) && v.heats(&v.plant.Nodes[side])(n) {
			hot = append(hot, int32(i))
		}
	}
	return v.spread(v.flowing(), hot, v.shutInService)[side]
}

// isKeptCold reports whether a plan says that it keeps a heater's other side off, and does.
func (v *prover) isKeptCold(side int32) bool {
	said := false
	for _, k := range v.plan.Kept {
		said = said || v.number(k.ID) == side
	}
	if !said {
		return false
	}
	for s, comes := range v.pressedBy(side) {
		from := &v.plant.Nodes[s]
		if comes && from.Kind == isolation.Source && v.heats(&v.plant.Nodes[side])(from) {
			return false
		}
	}
	return true
}

// goesRound reports whether pipes lead round from a node back to it, in service, through no source and not through the
// work. Which way the liquid runs is not asked.
func (v *prover) goesRound(mid int32) bool {
	pipes, _ := v.pipework()
	still := func(i int32) bool {
		return v.work[i] || v.shutInService(i) || v.plant.Nodes[i].Kind == isolation.Source
	}
	for _, first := range pipes[mid] {
		if still(first) {
			continue
		}
		round := v.spread(pipes, []int32{first}, func(i int32) bool { return i == mid || still(i) })
		if slices.ContainsFunc(pipes[mid], func(i int32) bool { return i != first && round[i] }) {
			return true
		}
	}
	return false
}

// crossed reports whether a liquid passes a node on its way from a source to what is marked, as it runs in service: it
// comes to the node and goes on from it, and no other node lies on every way of both kinds, unless it goes round there.
// Whatever does lies on the two ways that are found first.
func (v *prover) crossed(source, mid int32, on []bool) bool {
	const none = -1
	isMid, isOn := func(i int32) bool { return i == mid }, func(i int32) bool { return on[i] }
	at := v.runDown(source, source, none, isMid)
	if at < 0 {
		return false
	}
	var way []int32
	for at = v.search.came[at]; at != source; at = v.search.came[at] {
		way = append(way, at)
	}
	at = v.runDown(mid, source, none, isOn)
	if at < 0 {
		return false
	}
	if v.edition >= 6 && v.goesRound(mid) {
		return true
	}
	both := map[int32]bool{}
	for ; at != mid; at = v.search.came[at] {
		both[at] = slices.Contains(way, at)
	}
	for u, is := range both {
		if is && v.runDown(source, source, u, isMid) < 0 && v.runDown(mid, source, u, isOn) < 0 {
			return false
		}
	}
	return true
}

// runDown lets a liquid run in service from a node, past no other source and not over one node, to the first that is
// looked for, and returns that, or -1. search.came then leads back.
func (v *prover) runDown(from, source, without int32, is func(int32) bool) int32 {
	came := v.search.came
	for i := range came {
		came[i] = -1
	}
	came[from] = from
	list := append(v.search.list[:0], from)
	for head := 0; head < len(list); head++ {
		at := list[head]
		if is(at) {
			return at
		}
		if at == without || v.work[at] || v.shutInService(at) ||
			at != from && (at == source || v.plant.Nodes[at].Kind == isolation.Source) {
			continue
		}
		for _, to := range v.flowing()[at] {
			if came[to] < 0 {
				came[to] = at
				list = append(list, to)
			}
		}
	}
	return -1
}
