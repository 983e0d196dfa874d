package proof

import (
	"fmt"
	"math"
	"slices"

	"stillwatch/isolation"
)

// highest is how far above the work, in metres, a line may rise aboard; see mostAboard.
const highest = 60

// silentFigures checks that a plan says of every source which the rules might have cut by more, if the plant file told
// all its figures, that it does not know: the rules are asked again with what is left out as high as can be.
func (v *prover) silentFigures() error {
	for i := range v.plant.Nodes {
		s := int32(i)
		if v.plant.Nodes[i].Kind != isolation.Source {
			continue
		}
		n, on, ruled := v.presses(s), v.work, v.atWork
		if !v.reaches(s) {
			on = v.keptFrom(s)
			n, ruled = v.pressesOn(s, on), v.beside
		}
		if !slices.Contains(on, true) {
			continue
		}
		bore, wide := 0.0, 0.0
		if v.bored() {
			bore = v.newBores(on, 0).of(s)
			wide = bore
			if n.Energy.Flows() {
				wide = v.newBores(on, untold).of(s)
			}
		}
		now, err := ruled(n, bore)
		if err != nil {
			return err
		}
		most, err := ruled(v.mostAboard(s, n, on), wide)
		if err != nil || isolation.DemandRank(most.Demand) <= isolation.DemandRank(now.Demand) {
			continue
		}
		if !v.saysUnproved(isolation.UnprovedFigure, n.ID) {
			return fmt.Errorf("the plant file does not tell all figures of %s by which the rules judge it, and the plan does "+
				"not say so", n.ID)
		}
	}
	return nil
}

// beside returns the rule by which a source is cut from what nobody opens.
func (v *prover) beside(n *isolation.Node, bore float64) (isolation.DemandRule, error) {
	return v.rules.Demand(n, isolation.Outside, bore)
}

// untold stands for a bore that the plant file leaves out, mm.
const untold = 1e6

// mostAboard returns a source with each figure that the plant file leaves out as high as it can be on a ship.
func (v *prover) mostAboard(source int32, presses *isolation.Node, on []bool) *isolation.Node {
	n, own := *presses, &v.plant.Nodes[source]
	if own.Volt == 0 && isCurrent(own) {
		n.Volt = math.Inf(1)
	}
	if !own.Energy.Flows() {
		return &n
	}
	if own.TempC == 0 && !own.HasTemp || own.Energy.Nature() == isolation.Liquid && v.warmedUnknown(source, on) {
		n.TempC, n.HasTemp = math.Inf(1), true
	}
	if _, known := v.levelOf(source); !known && own.Energy.Nature() == isolation.Liquid {
		weight := 1000.0
		if f, has := v.plant.Fluids[own.Fluid]; has && f.Density15 > 0 {
			weight = f.Density15
		}
		n.GaugeBar += highest * weight * 9.81 / 1e5
	}
	if own.GaugeBar == 0 && !own.HasGauge || own.Energy.Nature() == isolation.Liquid && v.raisedUnknown(source, on) {
		n.GaugeBar = math.Inf(1)
	}
	return &n
}

// raisedUnknown reports whether a source passes, before it comes to what is marked, a driven pump that may run and of
// which the plant file does not tell how much pressure it adds.
func (v *prover) raisedUnknown(source int32, on []bool) bool {
	for i := range v.plant.Nodes {
		n := &v.plant.Nodes[i]
		d := v.number(n.Drive)
		if d < 0 || n.LiftsBar > 0 || v.work[i] || v.work[d] {
			continue
		}
		kept := slices.ContainsFunc(v.plan.Kept, func(h isolation.Kept) bool { return h.ID == n.Drive })
		if !(kept && v.stopped(d)) && v.crossed(source, int32(i), on) {
			return true
		}
	}
	return false
}

// keptFrom marks what the plan says is kept off from a source.
func (v *prover) keptFrom(source int32) []bool {
	on := make([]bool, len(v.plant.Nodes))
	for _, h := range v.plan.Kept {
		if i := v.number(h.ID); i >= 0 && slices.Contains(h.Sources, v.plant.Nodes[source].ID) {
			on[i] = true
		}
	}
	return on
}

// saysUnproved reports whether the plan names something of a node as not proved, in words.
func (v *prover) saysUnproved(kind string, id isolation.NodeID) bool {
	return slices.ContainsFunc(v.plan.Unproved, func(u isolation.Unproved) bool {
		return u.Kind == kind && u.Node == id && u.Words != ""
	})
}

// bareHandC is what bare metal may have where hands work at it for ten minutes: ISO 13732-1, from memory.
const bareHandC = 48

// heatAsked checks that of every machine which is opened, and to which something hot comes, a plan asks how warm it is,
// or says that it does not.
func (v *prover) heatAsked() error {
	hot := false
	for s := range v.asked {
		n := v.presses(s)
		heats := slices.Contains([]isolation.Energy{"steam", "hot-water", "thermal-oil"}, n.Energy)
		hot = hot || (n.Energy.Nature() == isolation.Liquid || heats) && n.HasTemp && n.TempC > bareHandC ||
			heats && !n.HasTemp
	}
	if !hot || v.job.Exposure == isolation.Outside {
		return nil
	}
	told := map[string]bool{}
	for _, c := range v.plan.Stored {
		told[c.Machine] = told[c.Machine] || c.Stored.Kind == "heat"
	}
	for _, u := range v.plan.Unproved {
		if u.Kind == isolation.UnprovedHeat && u.Words != "" {
			told[v.machineAt(u.Node)] = true
		}
	}
	for i := range v.plant.Nodes {
		n := &v.plant.Nodes[i]
		if v.work[i] && n.Kind != isolation.Consumer && !n.Kind.IsElectrical() && !told[v.machineAt(n.ID)] {
			return fmt.Errorf("something hot comes to %s, and the plan neither asks how warm it is nor says that it does not",
				n.ID)
		}
	}
	return nil
}

// machineAt returns the machine of which a node is a part, by default the job's.
func (v *prover) machineAt(id isolation.NodeID) string {
	for _, m := range v.plant.Machines {
		if slices.Contains(m.Nodes, id) {
			return m.ID
		}
	}
	return v.job.Machine
}
