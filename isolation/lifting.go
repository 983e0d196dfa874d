package isolation

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
