package isolation

import "slices"

// Phase is a part of the isolation; all steps of one phase come before the next begins.
type Phase string

// The phases in which something is tagged, in their order. Warning, changing over and stopping come before (see
// Plan.Prepare), proving comes after (Plan.Prove).
const (
	PhaseStop    Phase = "stop"    // control switches put to off and tagged
	PhaseIsolate Phase = "isolate" // electrical first, then the others
	PhaseEarth   Phase = "earth"   // what is isolated and seen dead is earthed
	PhaseDrain   Phase = "drain"   // drains and vents opened and tagged open
	PhaseBlank   Phase = "blank"   // joints broken for blanks and spools, in lines that have been let down
)

// Rank returns the place of the phase in their order, from 1; 0 for a word that is no phase.
func (p Phase) Rank() int {
	return 1 + slices.Index([]Phase{PhaseStop, PhaseIsolate, PhaseEarth, PhaseDrain, PhaseBlank}, p)
}

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
	// ids of what must be read and within its limits before this step: of Plan.Stored and Plan.DeadTests
	First []string `json:"first,omitempty"`
}

// Isolates reports whether the step keeps something from the work: the others put a control to off or open a drain.
func (s Step) Isolates() bool { return s.Phase == PhaseIsolate || s.Phase == PhaseBlank }

// SourceCut says of one source which demand the rules make and whether the plan meets it.
type SourceCut struct {
	ID     NodeID `json:"id"`
	Name   string `json:"name"`
	Energy Energy `json:"energy"`
	// the pressure by which it is judged: its own and that of pumps that may run on the way, bar gauge
	GaugeBar float64 `json:"gauge_bar,omitempty"`
	Demand   string  `json:"demand"`  // "single", "double" or "blank"
	Because  string  `json:"because"` // the rule's own words and source
	Met      bool    `json:"met"`
}

// Pass says what would reach the work if one point passed, as a path in words.
type Pass struct {
	Point  NodeID   `json:"point"`
	Source NodeID   `json:"source"`
	Path   []NodeID `json:"path"`
	Words  string   `json:"words"`
}

// Kept is a part that nobody opens and to which nothing from some sources may come while the plan is on.
type Kept struct {
	ID      NodeID   `json:"id"`
	Name    string   `json:"name"`
	Sources []NodeID `json:"sources"`
	Why     string   `json:"why"` // one sentence
	// the rules ask for more than one point even where nothing is opened, so it is cut as if it were
	AsOpened bool `json:"as_opened,omitempty"`
}

// Loss is a consumer outside the work that loses its supply while the plan is on, or a machine outside the work that
// does: then ID is the first of its nodes to lose one.
type Loss struct {
	ID      NodeID `json:"id"`
	Name    string `json:"name"`
	Machine string `json:"machine,omitempty"`
	Source  NodeID `json:"source"`
}

// DeadTest is one electrical part that must be proved dead after its supply is cut.
type DeadTest struct {
	ID   string  `json:"id"`
	Node NodeID  `json:"node"`
	Name string  `json:"name"`
	Volt float64 `json:"volt"`
}

// Restoring is one act on the way back: either the lock or tag of a step comes off, or something is done between two of
// them because the physics asks for it.
type Restoring struct {
	Step int         `json:"step,omitempty"` // number of the step whose lock or tag comes off; 0 for what stands between
	Kind RestoreKind `json:"kind,omitempty"` // of what stands between, where a gate must know it
	For  int         `json:"for,omitempty"`  // step whose way back asks for what stands between; 0: the whole isolation
	Do   string      `json:"do"`             // the order, in words
	Why  string      `json:"why,omitempty"`  // the reason of what stands between
}

// RestoreKind names what stands between two locks on the way back, where a gate must know it; "" for all else.
type RestoreKind string

// The kinds of what stands between the locks.
const (
	RestoreCount  RestoreKind = "count"  // people, tools and parts counted out: the hand-back
	RestoreEarths RestoreKind = "earths" // no earth is left on
	RestoreTell   RestoreKind = "tell"   // people clear and told, before the first energy comes back
	RestoreClose  RestoreKind = "close"  // the report to whoever closes
)

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
	LowerBound  int64         `json:"lower_bound"` // proved by Bound: no plan has fewer
	Bound       *Bound        `json:"bound,omitempty"`
	SearchBound int64         `json:"search_bound"` // the search's own: not proved where it is more than LowerBound
	PlainCost   int64         `json:"plain_cost"`   // points of the least plan, whatever it takes from others
	Prepare     []string      `json:"prepare"`      // warn, change over, stop: in this order, in words
	Steps       []Step        `json:"steps"`
	Proofs      []string      `json:"proofs"` // what is proved before the work, in words
	Sources     []SourceCut   `json:"sources"`
	Sections    []Section     `json:"sections"`
	Stored      []StoredCheck `json:"stored"`
	DeadTests   []DeadTest    `json:"dead_tests"`
	Unproved    []Unproved    `json:"unproved"`
	Kept        []Kept        `json:"kept,omitempty"` // what is not opened, and kept off all the same
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
	// false: a start attempt would move what this plan does not cut, or there is nothing to start
	TryStart bool `json:"try_start"`
	// the locks in exactly the reverse order, with what is done between them
	Restore    []Restoring `json:"restore"`
	Protective []string    `json:"protective"`
	// what the work is beside the opening, and how the air is tested for it
	Kinds []WorkKind `json:"kinds,omitempty"`
	Air   *AirTest   `json:"air,omitempty"`
	// in place of which plan of the same permit it stands; nil for a first plan
	Change *Change `json:"change,omitempty"`
}

// WorkRows returns the rows of the kinds of work that the plan is for.
func (p *Plan) WorkRows() []WorkRow {
	var out []WorkRow
	for _, k := range p.Kinds {
		if r, ok := k.Row(); ok {
			out = append(out, r)
		}
	}
	return out
}
