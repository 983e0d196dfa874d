package planner

import (
	"slices"

	"stillwatch/isolation"
	"stillwatch/isolation/cut"
	"stillwatch/isolation/graph"
)

// supply is a part of the plant outside the work with a source that feeds it in the normal line-up: a consumer, or a
// vessel or junction of a machine that is not worked on.
type supply struct{ source, consumer int32 }

// toll is what a set of points takes from others. Of two sets the one that takes less from the standby is better, and
// of equals the one that takes a supply from fewer others.
type toll struct{ standby, others int }

func (t toll) less(u toll) bool {
	return t.standby < u.standby || t.standby == u.standby && t.others < u.others
}

// normalSupplies lists what lives on what outside the work, part by part of each source in file order.
func (k *task) normalSupplies() []supply {
	if k.fed == nil {
		none := make([]bool, len(k.Plant.Nodes))
		k.fed = k.ownSupplies(k.suppliesWith(none), k.suppliesWith(k.InZone))
	}
	return k.fed
}

// ownSupplies leaves of all supplies of machines' parts those that come past the work. What comes to a part only
// through what is opened counts only where nothing of that nature comes to it otherwise: else every source that could
// push backwards through the opened machine would pass for something that its neighbours live on. Consumers keep all.
func (k *task) ownSupplies(all, past []supply) []supply {
	type need struct {
		part   int32
		nature isolation.Nature
	}
	own, fed := map[supply]bool{}, map[need]bool{}
	of := func(s supply) need { return need{s.consumer, k.At(s.source).Energy.Nature()} }
	for _, s := range past {
		own[s], fed[of(s)] = true, true
	}
	return slices.DeleteFunc(all, func(s supply) bool {
		return k.At(s.consumer).Kind != isolation.Consumer && !own[s] && fed[of(s)]
	})
}

// suppliesWith lists the supplies of the normal line-up that are left with these points shut.
func (k *task) suppliesWith(shut []bool) []supply {
	part := k.machineParts()
	return k.suppliesIn(shut, k.normallyShut, func(c int32, e isolation.Energy) bool {
		return !k.InZone[c] && (k.At(c).Kind == isolation.Consumer || part[c]) && k.livesOn(c, e)
	})
}

// machineParts marks the nodes of the machines that are not worked on.
func (k *task) machineParts() []bool {
	if k.apart == nil {
		k.apart = make([]bool, len(k.Plant.Nodes))
		for i := range k.Plant.Machines {
			if m := &k.Plant.Machines[i]; !k.touched(m) {
				for _, n := range k.Numbers(m.Nodes) {
					k.apart[n] = true
				}
			}
		}
	}
	return k.apart
}

// livesOn reports whether a part of the plant uses an energy that comes to it: a consumer its own, a vessel or junction
// any, and nothing else.
func (k *task) livesOn(c int32, e isolation.Energy) bool {
	n := k.At(c)
	return n.Kind == isolation.Vessel || n.Kind == isolation.Junction || k.uses(n, e)
}

// suppliesIn lists what each source still feeds in a line-up with these points shut, of what counts.
func (k *task) suppliesIn(shut []bool, stands func(int32) bool, counts func(int32, isolation.Energy) bool) []supply {
	out := []supply{}
	for s := range k.Plant.Nodes {
		n := &k.Plant.Nodes[s]
		if n.Kind != isolation.Source {
			continue
		}
		reach := graph.Flood(k.feedsOf(n.Energy.Nature()), []int32{int32(s)}, func(i int32) bool {
			return shut[i] || stands(i) || k.At(i).Kind == isolation.Source && i != int32(s)
		})
		for c := range k.Plant.Nodes {
			if reach[c] && counts(int32(c), n.Energy) {
				out = append(out, supply{int32(s), int32(c)})
			}
		}
	}
	return out
}

// gone lists the supplies of before that are not left.
func gone(before, left []supply) []supply {
	still := map[supply]bool{}
	for _, s := range left {
		still[s] = true
	}
	var out []supply
	for _, s := range before {
		if !still[s] {
			out = append(out, s)
		}
	}
	return out
}

// lostWith lists the supplies that are gone with these points shut.
func (k *task) lostWith(shut []bool) []supply {
	return gone(k.normalSupplies(), k.suppliesWith(shut))
}

// tollIn counts what a set takes from others, by the losses that addLosses put to the solver.
func (k *task) tollIn(lost []int) toll {
	standby := len(parts(k.standbyNeeds()))
	var t toll
	for _, i := range lost {
		if i < standby {
			t.standby++
		} else {
			t.others++
		}
	}
	return t
}

// addLosses says to the solver what others live on: first the parts of the standbys, then whatever belongs neither to
// the work nor to its machine, which stands still anyway. One part of a standby outweighs all others, and one of those
// all points: services come before locks.
func (k *task) addLosses(p *cut.Problem) {
	others := slices.DeleteFunc(slices.Clone(k.normalSupplies()), func(s supply) bool {
		m := k.machineOf(k.At(s.consumer).ID)
		return m != nil && m == k.Machine
	})
	weight := int64(1)
	for _, c := range p.Cost {
		weight += c
	}
	heavier := weight * int64(len(parts(others))+1)
	if heavier > cut.MaxCost/int64(len(parts(k.standbyNeeds()))+1) {
		return // a plant beyond the solver's figures: the least set stands
	}
	nets := map[isolation.Nature]int{}
	add := func(weight int64, all []supply, stands func(int32) bool) {
		clear(nets)
		for _, list := range parts(all) {
			l := cut.Loss{Weight: weight}
			for _, s := range list {
				nature := k.At(s.source).Energy.Nature()
				if _, has := nets[nature]; !has {
					nets[nature] = len(p.Nets)
					p.Nets = append(p.Nets, k.net(nature, stands))
				}
				l.Services = append(l.Services, cut.Service{Net: nets[nature], From: s.source, To: s.consumer})
			}
			p.Losses = append(p.Losses, l)
		}
	}
	add(heavier, k.standbyNeeds(), func(i int32) bool { return k.linedUp()[i] })
	add(weight, others, k.normallyShut)
}

// net lists the ways of a supply in a line-up: it goes on through nothing that stands shut, nor through another source.
func (k *task) net(nature isolation.Nature, stands func(int32) bool) [][2]int32 {
	var out [][2]int32
	for i, next := range k.feedsOf(nature) {
		if stands(int32(i)) {
			continue
		}
		for _, j := range next {
			if k.At(j).Kind != isolation.Source {
				out = append(out, [2]int32{int32(i), j})
			}
		}
	}
	return out
}

// parts groups supplies by what lives on them, in the order in which they come.
func parts(all []supply) [][]supply {
	at := map[int32]int{}
	var out [][]supply
	for _, s := range all {
		i, has := at[s.consumer]
		if !has {
			i = len(out)
			at[s.consumer] = i
			out = append(out, nil)
		}
		out[i] = append(out[i], s)
	}
	return out
}
