package isolation

// Plant is a ship's machinery as a graph, read from a plant file and checked. It is not changed after loading, so it
// may be read by many at once.
type Plant struct {
	Title    string
	Fluids   map[string]FluidSpec
	Nodes    []Node // in file order
	Links    []Link
	Machines []Machine
	Jobs     []Job
	SHA256   string // of the file's bytes, lower-case hex: every plan names it
	Text     []byte // the file as it was read

	node    map[NodeID]int
	machine map[string]int
	job     map[string]int
	notes   []string
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
		if n.Kind.IsPoint() || n.Kind == Opening || n.Kind == AutomaticValve {
			out = append(out, n)
		}
	}
	return out
}

// Link joins two nodes by a pipe or a cable. It carries flow or current either way unless OneWay: then only from A to
// B, because nothing can physically come back (an air gap, a free fall into a tank). A non-return valve is not such a
// thing: it is a check-valve node, and isolation never relies on it.
type Link struct {
	A, B     NodeID
	BoreMM   float64
	LengthM  float64
	InvertM  [2]float64 // level of the pipe's bottom at A and at B
	HasLevel bool       // InvertM was given
	OneWay   bool

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
	ID       string
	Name     string
	Nodes    []NodeID
	Standby  string   // machine that must run first, or ""
	Controls []NodeID // switches put to off and tagged before anything is isolated
	Stored   []Stored

	Line, Column int
}

// Stored is one energy that remains in a machine when its sources are cut. Kind tells which fields count:
// rotation (SpeedRPM, CoastDownS), heat (TempC, MassKg, AreaM2), charge (Volt, ResistanceOhm, CapacitanceUF),
// gas (GaugeBar, VolumeL), spring and weight (Restraint in words), liquid (VolumeL, GaugeBar).
type Stored struct {
	Kind          string  `yaml:"kind" json:"kind"`
	Name          string  `yaml:"name" json:"name,omitempty"`
	SpeedRPM      float64 `yaml:"speed_rpm" json:"speed_rpm,omitempty"`
	CoastDownS    float64 `yaml:"coast_down_s" json:"coast_down_s,omitempty"`
	TempC         float64 `yaml:"temp_c" json:"temp_c,omitempty"`
	MassKg        float64 `yaml:"mass_kg" json:"mass_kg,omitempty"`
	AreaM2        float64 `yaml:"area_m2" json:"area_m2,omitempty"`
	Volt          float64 `yaml:"volt" json:"volt,omitempty"`
	ResistanceOhm float64 `yaml:"resistance_ohm" json:"resistance_ohm,omitempty"`
	CapacitanceUF float64 `yaml:"capacitance_uf" json:"capacitance_uf,omitempty"`
	GaugeBar      float64 `yaml:"gauge_bar" json:"gauge_bar,omitempty"`
	VolumeL       float64 `yaml:"volume_l" json:"volume_l,omitempty"`
	Restraint     string  `yaml:"restraint" json:"restraint,omitempty"`
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

// Job names what will be opened on a machine. Opens is the work: every source must be cut from all of it.
type Job struct {
	ID          string
	Machine     string
	Title       string
	Opens       []NodeID
	Exposure    Exposure
	Hazards     []string // printed on the permit; the plan adds its own
	Precautions []string
	Protective  []string // protective equipment

	Line, Column int
}
