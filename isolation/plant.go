package isolation

// Plant is a ship's machinery as a graph, read from a plant file and checked. It is not changed after loading, so it
// may be read by many at once. Nodes, machines and jobs are found by their ids only where AddNode, AddMachine and
// AddJob put them in.
type Plant struct {
	Title    string
	Fluids   map[string]FluidSpec
	Nodes    []Node // in file order
	Links    []Link
	Machines []Machine
	Jobs     []Job
	SHA256   string   // of the file's bytes, lower-case hex: every plan names it
	Text     []byte   // the file as it was read
	Remarks  []string // what is legal in the file but should be looked at by a person, one sentence each

	node    map[NodeID]int
	machine map[string]int
	job     map[string]int
}

// AddNode puts a node at the end of Nodes; false, and nothing done, where the plant has one of its id.
func (p *Plant) AddNode(n Node) bool {
	if !index(&p.node, n.ID, len(p.Nodes)) {
		return false
	}
	p.Nodes = append(p.Nodes, n)
	return true
}

// AddMachine puts a machine at the end of Machines; false, and nothing done, where the plant has one of its id.
func (p *Plant) AddMachine(m Machine) bool {
	if !index(&p.machine, m.ID, len(p.Machines)) {
		return false
	}
	p.Machines = append(p.Machines, m)
	return true
}

// Deviating returns the job's deviation for a source from a demand that asks for more, or nil. Nobody enters or brings
// fire behind less than the rules ask for.
func (j *Job) Deviating(source NodeID, demand string) *Deviation {
	if j.Exposure == Enter || j.Exposure == HotWork {
		return nil
	}
	for i := range j.Deviations {
		if d := &j.Deviations[i]; d.Source == source && DemandRank(d.Demand) < DemandRank(demand) {
			return d
		}
	}
	return nil
}

// AddJob puts a job at the end of Jobs; false, and nothing done, where the plant has one of its id.
func (p *Plant) AddJob(j Job) bool {
	if !index(&p.job, j.ID, len(p.Jobs)) {
		return false
	}
	p.Jobs = append(p.Jobs, j)
	return true
}

// index notes the place of an id; false where the id has one.
func index[K comparable](places *map[K]int, id K, at int) bool {
	if *places == nil {
		*places = map[K]int{}
	}
	if _, twice := (*places)[id]; twice {
		return false
	}
	(*places)[id] = at
	return true
}

// Number returns the place of a node in Nodes, or -1 where the plant has none of that id.
func (p *Plant) Number(id NodeID) int {
	if i, ok := p.node[id]; ok {
		return i
	}
	return -1
}

// Node returns the node with this id, or nil.
func (p *Plant) Node(id NodeID) *Node {
	if i, ok := p.node[id]; ok {
		return &p.Nodes[i]
	}
	return nil
}

// Machine returns the machine with this id, or nil.
func (p *Plant) Machine(id string) *Machine {
	if i, ok := p.machine[id]; ok {
		return &p.Machines[i]
	}
	return nil
}

// Job returns the job with this id, or nil.
func (p *Plant) Job(id string) *Job {
	if i, ok := p.job[id]; ok {
		return &p.Jobs[i]
	}
	return nil
}

// Points returns the nodes that carry a label: everything that a person opens or shuts by hand, in file order.
func (p *Plant) Points() []*Node {
	var out []*Node
	for i := range p.Nodes {
		n := &p.Nodes[i]
		if n.Kind.IsMoved() {
			out = append(out, n)
		}
	}
	return out
}

// Link joins two nodes by a pipe or a cable. For isolation it carries flow or current either way, also where OneWay
// says that in service it goes from A to B alone: what keeps it from coming back (a non-return flap, the slope of the
// line) may leak. OneWay counts for supplies and for what drains. Only AirGap stops what would come back from B to A:
// what leaves A falls freely to B, and everybody can see the gap.
type Link struct {
	A, B     NodeID
	BoreMM   float64
	LengthM  float64
	InvertM  [2]float64 // level of the pipe's bottom at A and at B
	HasLevel bool       // InvertM was given
	OneWay   bool
	AirGap   bool

	Line, Column int
}

// FluidSpec is a fluid as the plant file gives it: kg/m³ at 15 °C, cSt at two temperatures, surface tension N/m.
type FluidSpec struct {
	Family    string  `yaml:"family"`
	Density15 float64 `yaml:"density_15"`
	Viscosity []struct {
		At  float64 `yaml:"at"`
		CSt float64 `yaml:"cst"`
	} `yaml:"viscosity"`
	Tension float64 `yaml:"tension"`
}

// Machine groups nodes that are one machine to the people aboard, with the energy that stays in it after it stops.
type Machine struct {
	ID         string
	Name       string
	Nodes      []NodeID
	Standby    string   // machine that must run first, or ""
	ShutAtRest []NodeID // points that are shut only when what turns in it stands still: a separator's sludge outlet
	StartsShut []NodeID // points that the starting routine opens: left shut when their locks come off
	Controls   []NodeID // switches put to off and tagged before anything is isolated
	Stored     []Stored

	Line, Column int
}

// Exposure is how far people go into what is opened.
type Exposure string

// The exposures, mildest first.
const (
	Outside Exposure = "outside"
	OpenUp  Exposure = "open"
	Enter   Exposure = "enter"
	HotWork Exposure = "hot work"
)

// Exposures returns every exposure, mildest first.
func Exposures() []Exposure { return []Exposure{Outside, OpenUp, Enter, HotWork} }

// LivePart is a part of a job's machine that keeps its current during the work, with the reason in words.
type LivePart struct {
	ID      NodeID
	Because string
}

// Deviation says that a job cuts a source by less than the rules ask for, because the ship has no more, with what is
// done instead. Two people answer for it on every permit.
type Deviation struct {
	Source   NodeID
	Demand   string // "single" or "double"
	Because  string
	Measures []string
}

// Hold says that a part of the work is watched for longer than ten minutes after it has run out, with the reason in
// words: what is thick comes late.
type Hold struct {
	ID      NodeID
	Minutes float64
	Because string
}

// Job names what will be opened on a machine. Opens is the work: every source must be cut from all of it.
type Job struct {
	ID          string
	Machine     string
	Title       string
	Opens       []NodeID
	KeptOff     []NodeID // not opened, and nothing may come to it all the same: what would move, heat or press
	Exposure    Exposure
	Hazards     []string // printed on the permit; the plan adds its own
	Precautions []string
	Protective  []string   // protective equipment
	Live        []LivePart // parts of the machine that may keep their current
	Deviations  []Deviation
	Holds       []Hold
	WorkKinds   []WorkKind // beside those that the exposure means
	LiveBecause string     // live work: why it cannot be done dead
	Gases       []GasLimit // that the space may hold, beside those that are always tested
	Adjoining   []string   // spaces beside hot work

	Line, Column int
}
