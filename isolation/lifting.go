package isolation

import "slices"

// Lifting is what comes off a plan for a while so that one thing can run, and what comes where then.
type Lifting struct {
	Run   NodeID   `json:"run"`             // the consumer that is to run
	Steps []int    `json:"steps"`           // that come off, the highest first
	Comes []Coming `json:"comes,omitempty"` // to what is opened or kept off, but for Run
}

// Coming is a source that comes to a part while some locks are off.
type Coming struct {
	Source NodeID `json:"source"`
	Node   NodeID `json:"node"`
}

// Runs lists what a plan cuts and what could be run to test it: the consumers that it tests dead, in its order.
func (p *Plan) Runs(plant *Plant) []NodeID {
	var out []NodeID
	for _, t := range p.DeadTests {
		if n := plant.Node(t.Node); n != nil && n.Kind == Consumer {
			out = append(out, n.ID)
		}
	}
	return out
}

// RunsDry returns the vessels in which run would turn with nothing to pump: those that it drives, or that stand in one
// machine with it, and that the plan opens or drains.
func (p *Plan) RunsDry(plant *Plant, run NodeID) []NodeID {
	var out []NodeID
	for i := range plant.Nodes {
		n := &plant.Nodes[i]
		if n.Kind != Vessel || n.Drive != run && !plant.inOneMachine(n.ID, run) {
			continue
		}
		if slices.Contains(p.Opens, n.ID) ||
			slices.ContainsFunc(p.Sections, func(s Section) bool { return slices.Contains(s.Nodes, n.ID) }) {
			out = append(out, n.ID)
		}
	}
	return out
}

func (p *Plant) inOneMachine(a, b NodeID) bool {
	return slices.ContainsFunc(p.Machines, func(m Machine) bool {
		return slices.Contains(m.Nodes, a) && slices.Contains(m.Nodes, b)
	})
}
