package screens

import (
	"slices"
	"strconv"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// PlanPage is the plan of a permit, to be read before it is authorised and while it is fitted.
type PlanPage struct {
	Frame
	Plan   planView
	ID     permits.PermitID
	State  permits.State
	Work   string
	Former []FormerPlan // plans in whose place this one stands
}

// planView is a plan as the pages show it.
type planView struct {
	*isolation.Plan
	JobPath   string
	Groups    []phaseGroup
	Uncut     []uncutNode
	Conflicts []isolation.Conflict
	Diagrams  []diagramView
	Standby   string
	Bound     string // the sentence about the lower bound
	Walk      string // how far the steps lie apart, in words
	Other     bool   // the plan was computed from another plant file than the one in force: there is no diagram
	Brief     bool   // the page has more to show below the plan: what is not needed at once is folded
	Why       *WhyAnswer
	HrefOf    func(isolation.NodeID) string // address of the page that says why a point is in the plan, or is not
}

// phaseGroup is the steps of one phase.
type phaseGroup struct {
	Phase isolation.Phase
	Title string
	Steps []isolation.Step
}

// uncutNode is one node on the way that cannot be cut.
type uncutNode struct {
	ID   isolation.NodeID
	Name string
	Kind isolation.Kind
}

var phaseTitles = map[isolation.Phase]string{
	isolation.PhaseStop:    "Stop: controls to off",
	isolation.PhaseIsolate: "Isolate: electrical first, then the rest",
	isolation.PhaseEarth:   "Earth: only what was proved dead",
	isolation.PhaseDrain:   "Drain and vent: opened and tagged open",
	isolation.PhaseBlank:   "Blank off: joints broken only after the line is drained and vented",
}

// PlanViewOf makes the view. plant may be nil or another one than the plan's: then names are left out.
func PlanViewOf(plan *isolation.Plan, plant *isolation.Plant, held permits.Held, own permits.PermitID) planView {
	v := planView{Plan: plan, Standby: plan.Standby}
	for i, st := range plan.Steps {
		first := plan.Change != nil && i == plan.Change.Hang // that does not hang since the plan before
		if n := len(v.Groups); n == 0 || v.Groups[n-1].Phase != st.Phase || first {
			v.Groups = append(v.Groups, phaseGroup{Phase: st.Phase, Title: groupTitle(plan, i)})
		}
		g := &v.Groups[len(v.Groups)-1]
		g.Steps = append(g.Steps, st)
	}
	v.Bound, v.Walk = boundWords(plan), WalkWords(plan)
	if plant != nil && plant.SHA256 == plan.PlantSHA256 {
		if m := plant.Machine(plan.Standby); m != nil {
			v.Standby = m.Name
		}
		v.Diagrams = diagramsOf(plant, plan)
	}
	v.Other = v.Diagrams == nil
	for _, id := range plan.Uncut {
		u := uncutNode{ID: id}
		if plant != nil && plant.Node(id) != nil {
			u.Name, u.Kind = plant.Node(id).Name, plant.Node(id).Kind
		}
		v.Uncut = append(v.Uncut, u)
	}
	v.Conflicts = isolation.Conflicts(*plan, HeldByOthers(held, own))
	return v
}

// groupTitle is the title of the steps of one phase from a place on, with whether they hang since the plan before.
func groupTitle(plan *isolation.Plan, at int) string {
	title := phaseTitles[plan.Steps[at].Phase]
	switch {
	case plan.Change == nil:
		return title
	case at < plan.Change.Hang:
		return "Hangs since the plan before. " + title
	}
	return "New. " + title
}

// boundWords says what the lower bound means where the plan's own words do not: a plan that reaches it says so itself.
func boundWords(plan *isolation.Plan) string {
	if plan.Cost == plan.LowerBound || plan.Change != nil {
		return ""
	}
	used, least := strconv.FormatInt(plan.Cost, 10), strconv.FormatInt(plan.LowerBound, 10)
	return "This plan uses " + used + " isolating points. At least " + least +
		" are needed; whether a plan between the two exists is not known."
}

// WalkWords says how far the steps lie apart. Nothing between them means that they lie in one place, or that the plant
// file gives no places.
func WalkWords(plan *isolation.Plan) string {
	switch {
	case len(plan.Steps) == 0:
		return "–"
	case slices.ContainsFunc(plan.Steps, func(st isolation.Step) bool { return st.Place.IsZero() }) && plan.WalkM == 0:
		return "not known"
	case plan.WalkM < 1:
		return "all in one place"
	}
	walk, list := FigureTo(plan.WalkM, 0)+" m", FigureTo(plan.ListWalkM, 0)+" m"
	if plan.ListWalkM > 0 && walk != list {
		walk += " (" + list + " in list order)"
	}
	return walk
}

// HeldByOthers returns what other permits than own hold.
func HeldByOthers(held permits.Held, own permits.PermitID) []isolation.Held {
	var out []isolation.Held
	for h := range held.All() {
		if h.Permit != own {
			out = append(out, isolation.Held{Point: h.Point, Position: h.Position,
				Permit: strconv.FormatInt(int64(h.Permit), 10)})
		}
	}
	return out
}

// WhyAnswer is the form that asks why a point is in a plan, or why it is not, and the answer. Each answer is computed
// by making the plan again with that point forbidden, or free.
type WhyAnswer struct {
	Action string // of the form, which is sent by GET
	Job    string // hidden field of the form; "": the address says it
	Point  isolation.NodeID
	Words  string
	Fault  bool // there is no answer; Words say why
	Points []*isolation.Node
}

// WhyHref returns the address at which the plan says why a point is in it; "" where nothing can say.
func (v planView) WhyHref(point isolation.NodeID) string {
	if v.HrefOf == nil {
		return ""
	}
	return v.HrefOf(point)
}
