package proof

import (
	"fmt"

	"stillwatch/isolation"
)

// searchRoom is memory, enough for all nodes, that one search of a prover leaves to the next: a plant has many sources.
type searchRoom struct {
	seen        []bool
	best        []int   // see leastMet
	came        []int32 // see wayBack
	list, later []int32 // what is still to be looked at
	places      []int32 // see fed
}

// links reads the plant's links in node numbers, once for the whole proof. It shares nothing with package graph, by
// which the planner sees them. A name that leads to another node than its own, and a link to a node that the plant
// lacks, are errors: Read refuses such a file, and what cannot be walked cannot be proved. O(nodes + links).
func (v *prover) links() error {
	n := len(v.plant.Nodes)
	v.numbers = make(map[isolation.NodeID]int32, n)
	for i := range v.plant.Nodes {
		id := v.plant.Nodes[i].ID
		if _, twice := v.numbers[id]; twice || v.plant.Node(id) != &v.plant.Nodes[i] {
			return fmt.Errorf("the name %s does not lead to its own node of the plant", id)
		}
		v.numbers[id] = int32(i)
	}
	v.ends = make([][2]int32, len(v.plant.Links))
	leave, come := make([]int32, n), make([]int32, n) // how many links lead away from a node, and how many to it
	for i, l := range v.plant.Links {
		a, b := v.number(l.A), v.number(l.B)
		if a < 0 || b < 0 {
			return fmt.Errorf("a link joins %s and %s, and the plant does not have both", l.A, l.B)
		}
		v.ends[i] = [2]int32{a, b}
		leave[a]++
		come[b]++
		if !l.AirGap {
			leave[b]++
			come[a]++
		}
	}
	v.next, v.before, v.drips = listsFor(leave), listsFor(come), listsFor(come)
	into, away := make([]bool, n), make([]bool, n)
	for _, e := range v.ends {
		away[e[0]], into[e[1]] = true, true
	}
	onward := func(i int32) bool { return v.plant.Nodes[i].Kind == isolation.CheckValve && into[i] && away[i] }
	for i, l := range v.plant.Links {
		a, b := v.ends[i][0], v.ends[i][1]
		v.next[a], v.before[b] = append(v.next[a], b), append(v.before[b], a)
		if !l.AirGap {
			v.next[b], v.before[a] = append(v.next[b], a), append(v.before[a], b)
		}
		v.drips[b] = append(v.drips[b], a)
		if !l.AirGap && !l.OneWay && !onward(a) && !onward(b) {
			v.drips[a] = append(v.drips[a], b)
		}
	}
	v.search = searchRoom{make([]bool, n), make([]int, n), make([]int32, n), make([]int32, 0, n), make([]int32, 0, n),
		make([]int32, 2*n)}
	return nil
}

// listsFor makes empty lists, list i with room for as many as counts[i] says, all cut from one piece of memory.
func listsFor(counts []int32) [][]int32 {
	total := int32(0)
	for _, c := range counts {
		total += c
	}
	lists, rest := make([][]int32, len(counts)), make([]int32, total)
	for i, c := range counts {
		lists[i], rest = rest[:0:c], rest[c:]
	}
	return lists
}

// number returns the index of the node that bears a name, or -1 where the plant has none.
func (v *prover) number(id isolation.NodeID) int32 {
	if i, ok := v.numbers[id]; ok {
		return i
	}
	return -1
}

// isWork reports whether a name is of something that is opened.
func (v *prover) isWork(id isolation.NodeID) bool {
	i := v.number(id)
	return i >= 0 && v.work[i]
}

// shutAt returns the step that isolates at the node of a name, or nil.
func (v *prover) shutAt(id isolation.NodeID) *isolation.Step {
	if i := v.number(id); i >= 0 {
		return v.shut[i]
	}
	return nil
}

// spread marks the nodes in from and what can be come to from them along the lists, without crossing a node that bars.
func (v *prover) spread(along [][]int32, from []int32, bars func(int32) bool) []bool {
	seen := make([]bool, len(along))
	list := v.search.list[:0]
	for _, i := range from {
		seen[i] = true
		list = append(list, i)
	}
	for len(list) > 0 {
		at := list[len(list)-1]
		list = list[:len(list)-1]
		for _, to := range along[at] {
			if !seen[to] && !bars(to) {
				seen[to] = true
				list = append(list, to)
			}
		}
	}
	return seen
}

// reaches reports whether a source can come to the work at all when nothing is shut.
func (v *prover) reaches(source int32) bool {
	seen := v.search.seen
	clear(seen)
	seen[source] = true
	list := append(v.search.list[:0], source)
	for len(list) > 0 {
		at := list[len(list)-1]
		list = list[:len(list)-1]
		if v.work[at] {
			return true
		}
		for _, to := range v.next[at] {
			if !seen[to] {
				seen[to] = true
				list = append(list, to)
			}
		}
	}
	return false
}
