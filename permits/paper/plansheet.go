package paper

import (
	"fmt"
	"io"
	"strings"
	"time"
)

// PlanSheet is an isolation plan as it is carried to the machine. A plan that can't
// be made has Uncut and no Steps; the sheet then says so and shows no order of work.
type PlanSheet struct {
	Stamp
	JobID, JobTitle        string
	Machine                string
	Exposure               string       // "open", "enter", "hot work", "outside"
	Opens                  []string     // what will be opened
	Permit                 string       // permit's number if there is one already
	Changes                []PlanChange // the plans in whose place this one stands, the last first; none of a first plan
	PlantName, PlantSHA256 string       // plant file and its hash, hexadecimal
	RulesName              string       // rules file that made the demands; may be empty
	Sources                []PlanSource
	Before                 []PlanTask // warn, change over, stop: in this order
	Steps                  []PlanStep
	Proofs                 []PlanTask // after the last lock: drain, try to start, prove dead, …
	Sections               []PlanSection
	Stored                 []PlanStored
	KeptOff                []string // what is not opened, and kept off all the same
	Unproved               []string // what the plan does not prove, and who answers for it
	Restore                []PlanTask
	Lost                   []string // what else loses its supply
	Standby                []string // what must run first
	Passing                []PlanPassing
	Shared                 []string // other open permits that hold a point of this plan
	// Locks, Cost and LowerBound are those of the solver; LowerBound is the maximum
	// flow, below which no plan can cost.
	Locks, Cost, LowerBound int
	// Checked says in a sentence that the independent check held; must not be empty
	// when there are steps, as an unproved plan is never shown.
	Checked string
	// Uncut are the paths that can't be cut, each as a list of names from source to work.
	Uncut [][]string
	// Diagram is drawn on a page of its own if not nil.
	Diagram *Drawing
}

// PlanChange is a plan in whose place another stands, because work was added while its locks hung.
type PlanChange struct {
	Number int // of the plan that was replaced
	By     string
	At     time.Time // who authorised the one in its place, and when
	Words  []string  // in what that one is another
}

// PlanSource is one source of energy with what the rules demand of it.
type PlanSource struct {
	ID, Name string
	Energy   string // "fuel", "steam", "electrical"
	State    string // "HFO, 0.6 bar, 75 °C" or "440 V"
	Demand   string // "single", "double", "blank"
	Because  string // the rule's reason and source
	Met      bool
}

// PlanTask is something to do before the first lock or after the last.
type PlanTask struct {
	Phase string // "warn", "change over", "stop", "drain", "prove"
	Text  string
}

// PlanStep is one point to be put into its position, in the order of fitting.
type PlanStep struct {
	N           int
	Phase       string // "electrical", "isolate", "drain and vent"
	Point, Name string
	Held        Position
	Lock        bool   // false: tag only
	Measure     string // further measure where no lock can be fitted
	Place       Place
	Clearance   Position
	Cuts        []string // sources that this point cuts
	First       []string // what is read, and right, before this step
}

// PlanSection is one isolated section to be drained.
type PlanSection struct {
	Name, Fluid   string
	TempC         float64
	OutL, SpreadL float64 // expected to come out, and by how much that may be wrong, litres
	KeptL         float64 // stays in pockets, litres
	Drain, Vent   string  // points opened; an empty vent is printed as "none"
	Time          time.Duration
	TimeUnknown   bool // no time can be given; Why says it
	Provable      bool // false: this drain proves nothing
	Why           string
	Pockets       []string
}

// PlanStored is one stored energy that must be below its limit before work.
type PlanStored struct {
	Name, Kind    string
	Figure, Limit string // with units
	Wait          time.Duration
	WaitUnknown   bool   // no waiting time can be given: only a reading tells
	Read          string // what must be measured or seen
	Source        string // where the limit comes from
}

// PlanPassing says what reaches the work if one point passed.
type PlanPassing struct {
	Point   string
	Reaches string // "HFO from the settling tank, 0.6 bar, 75 °C"
}

// WritePlan writes the plan sheet as PDF. Refuses (ErrIncomplete) a plan with neither
// steps nor uncut paths, with both, with steps and no independent check or a source
// whose demand is not met, or with a step that has no point, position or clearance position. Nothing is written on
// error.
func WritePlan(w io.Writer, s PlanSheet) error {
	if err := s.check(); err != nil {
		return err
	}
	return produce(w, s.Stamp, func(p *sheet) error {
		ref := s.JobID
		if s.Permit != "" {
			ref = "permit " + s.Permit
		}
		if len(s.Changes) > 0 {
			ref += fmt.Sprintf(", plan %d", s.Changes[0].Number+1)
		}
		kind := "ISOLATION PLAN"
		if len(s.Uncut) > 0 {
			kind = "NO ISOLATION PLAN"
		}
		p.begin(kind, ref)
		p.planHead(s)
		if len(s.Uncut) > 0 {
			p.planUncut(s)
			p.planSources(s)
			return nil
		}
		p.planChanges(s.Changes)
		p.planSources(s)
		p.planUnproved(s)
		p.planOrder(s)
		p.planSections(s)
		p.planStored(s)
		p.planRestore(s)
		p.planConsequences(s)
		if s.Diagram != nil {
			p.newPage()
			p.heading("Diagram: "+s.Diagram.Title, 20)
			p.drawing(s.Diagram, leftMM, p.y+1, bodyW, bodyBottom-p.y-2)
		}
		return nil
	})
}

// check refuses a plan that must not be carried to a machine.
func (s PlanSheet) check() error {
	switch {
	case len(s.Steps) == 0 && len(s.Uncut) == 0:
		return fmt.Errorf("%w: plan %s has no steps and no path that can't be cut", ErrIncomplete, s.JobID)
	case len(s.Steps) > 0 && len(s.Uncut) > 0:
		return fmt.Errorf("%w: plan %s has steps although a path can't be cut", ErrIncomplete, s.JobID)
	case len(s.Steps) > 0 && strings.TrimSpace(s.Checked) == "":
		return fmt.Errorf("%w: plan %s was not checked independently", ErrIncomplete, s.JobID)
	}
	for _, src := range s.Sources {
		if len(s.Steps) > 0 && !src.Met {
			return fmt.Errorf("%w: plan %s has steps although the demand of %s is not met", ErrIncomplete, s.JobID, src.ID)
		}
	}
	for i, st := range s.Steps {
		if st.Point == "" || !st.Held.IsSet() || !st.Clearance.IsSet() {
			return fmt.Errorf("%w: step %d of plan %s lacks point, position or clearance position", ErrIncomplete, i+1, s.JobID)
		}
	}
	if s.Diagram != nil {
		return s.Diagram.check()
	}
	return nil
}
