package isolation

import "encoding/json"

// Phase is a part of the isolation; all steps of one phase come before the next begins.
type Phase string

// The phases in which something is tagged, in their order. Warning, changing over and stopping come before (see
// Plan.Prepare), proving comes after (Plan.Prove).
const (
	PhaseStop    Phase = "stop"    // control switches put to off and tagged
	PhaseIsolate Phase = "isolate" // electrical first, then the others
	PhaseDrain   Phase = "drain"   // drains and vents opened and tagged open
	PhaseBlank   Phase = "blank"   // joints broken for blanks and spools, in lines that have been let down
)

// Step is one point brought into one position and tagged. Steps are numbered from 1 in the order of fitting; they
// come off in exactly the reverse.
type Step struct {
	N         int      `json:"n"`
	Phase     Phase    `json:"phase"`
	Point     NodeID   `json:"point"`
	Name      string   `json:"name"`
	Kind      Kind     `json:"kind"`
	Place     Place    `json:"place"`
	Position  Position `json:"position"`          // in which it is held
	Lock      bool     `json:"lock"`              // a lock goes on; false: a tag alone
	Measure   string   `json:"measure,omitempty"` // what more is done where no lock can go on
	Cuts      []NodeID `json:"cuts"`              // sources that this point keeps from the work
	Clearance Position `json:"clearance"`         // to which it goes back; a control (PhaseStop) is left off
	Why       string   `json:"why"`               // one sentence
}

// Isolates reports whether the step keeps something from the work: the others put a control to off or open a drain.
func (s Step) Isolates() bool { return s.Phase == PhaseIsolate || s.Phase == PhaseBlank }

// SourceCut says of one source which demand the rules make and whether the plan meets it.
type SourceCut struct {
	ID      NodeID `json:"id"`
	Name    string `json:"name"`
	Energy  Energy `json:"energy"`
	Demand  string `json:"demand"`  // "single", "double" or "blank"
	Because string `json:"because"` // the rule's own words and source
	Met     bool   `json:"met"`
}

// Pass says what would reach the work if one point passed, as a path in words.
type Pass struct {
	Point  NodeID   `json:"point"`
	Source NodeID   `json:"source"`
	Path   []NodeID `json:"path"`
	Words  string   `json:"words"`
}

// Loss is a consumer outside the work that loses its supply while the plan is on, or a machine outside the work that
// does: then ID is the first of its nodes to lose one.
type Loss struct {
	ID      NodeID `json:"id"`
	Name    string `json:"name"`
	Machine string `json:"machine,omitempty"`
	Source  NodeID `json:"source"`
}

// Section is one liquid-filled part of the isolated envelope that must be drained before it is opened. Volumes are
// litres, times seconds.
type Section struct {
	ID       string   `json:"id"`
	Name     string   `json:"name"`
	Nodes    []NodeID `json:"nodes"`
	Fluid    string   `json:"fluid"`
	TempC    float64  `json:"temp_c"`
	TrappedL float64  `json:"trapped_l"`
	OutL     float64  `json:"out_l"`    // expected to come out
	KeptL    float64  `json:"kept_l"`   // cannot come out: pockets and film
	SpreadL  float64  `json:"spread_l"` // uncertainty of OutL, plus or minus
	Pockets  []Pocket `json:"pockets,omitempty"`
	Drains   []NodeID `json:"drains"`
	Vents    []NodeID `json:"vents"`
	DrainS   float64  `json:"drain_s"`
	Provable bool     `json:"provable"` // an opening of the plan can prove it empty
	Why      string   `json:"why,omitempty"`
	Curve    []Level  `json:"curve,omitempty"`
	Suspects []NodeID `json:"suspects,omitempty"` // closed points that could pass into it
	Basis    *Basis   `json:"basis,omitempty"`    // what the figures were computed from
}

// Pocket is liquid that stays in a low place.
type Pocket struct {
	At     NodeID  `json:"at"`
	Name   string  `json:"name"`
	Litres float64 `json:"litres"`
}

// Level is one point of a curve: seconds since the drain was opened, litres that have come out.
type Level struct {
	S float64 `json:"s"`
	L float64 `json:"l"`
}

// StoredCheck is one stored energy of the machine with what the program expects of it and what must be read.
type StoredCheck struct {
	ID       string  `json:"id"` // "rotation", "heat-2": unique in the plan
	Stored   Stored  `json:"stored"`
	Name     string  `json:"name"`
	Quantity string  `json:"quantity"` // what is read, such as "shaft speed"
	Unit     string  `json:"unit"`     // of the reading and the limit: "rpm", "°C", "V", "bar", or "" for yes/no
	Now      float64 `json:"now"`      // figure when the machine stops
	Limit    float64 `json:"limit"`    // a reading at or below opens the gate
	WaitS    float64 `json:"wait_s"`   // predicted time until the limit; a waiting time, never a proof
	Source   string  `json:"source"`   // where the limit comes from
	Words    string  `json:"words"`
}

// DeadTest is one electrical part that must be proved dead after its supply is cut.
type DeadTest struct {
	ID   string  `json:"id"`
	Node NodeID  `json:"node"`
	Name string  `json:"name"`
	Volt float64 `json:"volt"`
}

// Plan is a computed isolation of one job. Nothing shows a Plan to anybody but through Prove, which checks it by a
// second algorithm.
type Plan struct {
	Job         string        `json:"job"`
	Machine     string        `json:"machine"`
	MachineName string        `json:"machine_name"`
	Title       string        `json:"title"`
	Exposure    Exposure      `json:"exposure"`
	Opens       []NodeID      `json:"opens"`
	PlantSHA256 string        `json:"plant_sha256"`
	RulesSHA256 string        `json:"rules_sha256"`
	Feasible    bool          `json:"feasible"`
	Locks       int           `json:"locks"`       // steps that carry a lock
	Cost        int64         `json:"cost"`        // isolating points used
	LowerBound  int64         `json:"lower_bound"` // proven: no plan has fewer
	Prepare     []string      `json:"prepare"`     // warn, change over, stop: in this order, in words
	Steps       []Step        `json:"steps"`
	Proofs      []string      `json:"proofs"` // what is proved before the work, in words
	Sources     []SourceCut   `json:"sources"`
	Sections    []Section     `json:"sections"`
	Stored      []StoredCheck `json:"stored"`
	DeadTests   []DeadTest    `json:"dead_tests"`
	Lost        []NodeID      `json:"lost"`
	Losses      []Loss        `json:"losses"`
	// machine that must run first; "" where the plan itself keeps it from running
	Standby string `json:"standby,omitempty"`
	// which standby cannot run while the plan is on, and why, in words
	StandbyCut  string   `json:"standby_cut,omitempty"`
	Passes      []Pass   `json:"passes"`
	Uncut       []NodeID `json:"uncut"` // infeasible: the path that cannot be cut
	Words       string   `json:"words"` // one sentence: what was found
	WalkM       float64  `json:"walk_m"`
	ListWalkM   float64  `json:"list_walk_m"` // the same in list order
	Hazards     []string `json:"hazards"`
	Precautions []string `json:"precautions"`
	Protective  []string `json:"protective"`
}

// DrainReading is what a technician records of one section: litres that have come out in all since its drain was
// opened, seconds of the hold after the flow had stopped, litres that came in that hold, then the pressure (bar gauge)
// and temperature (°C) at the section.
type DrainReading struct {
	OutL     float64 `json:"out_l"`
	HoldS    float64 `json:"hold_s"`
	HoldInL  float64 `json:"hold_in_l"`
	GaugeBar float64 `json:"gauge_bar"`
	TempC    float64 `json:"temp_c"`
}

// Finding is a verdict on a reading. OK opens the gate; Words say why or why not, for a tired person. Result is
// "drained", "not drained", "passing", "within limit" or "above limit".
type Finding struct {
	OK       bool     `json:"ok"`
	Result   string   `json:"result"`
	Words    string   `json:"words"`
	Likely   []string `json:"likely,omitempty"`   // likely pockets, in words
	Suspects []NodeID `json:"suspects,omitempty"` // points that could be passing, likeliest first
	Class    string   `json:"class,omitempty"`    // ISO 5208 rate that the passing would be
}

// ProvedPlan is a plan that the second algorithm has agreed with. Only Prove makes one; the zero value is no plan.
type ProvedPlan struct{ plan Plan }

// Plan returns the proved plan; it is to be read only.
func (p ProvedPlan) Plan() *Plan { return &p.plan }

// IsZero reports whether there is no plan.
func (p ProvedPlan) IsZero() bool { return p.plan.Job == "" }

// MarshalJSON writes the plan for the log.
func (p ProvedPlan) MarshalJSON() ([]byte, error) { return json.Marshal(p.plan) }

// UnmarshalJSON reads back a plan that was proved when it was written. It exists for the register, which reads only
// entries whose hash stands in the tree; authorising proves the plan again all the same.
func (p *ProvedPlan) UnmarshalJSON(text []byte) error { return json.Unmarshal(text, &p.plan) }
