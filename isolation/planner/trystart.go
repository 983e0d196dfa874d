package planner

import (
	"slices"

	"stillwatch/isolation"
)

// sayTryStart says whether a start attempt belongs to the proof: only where nothing of the machine keeps its current,
// but for what the job names as live. Else the attempt would move what nobody has cut.
func (k *task) sayTryStart(plan *isolation.Plan, shut []bool) {
	if k.Machine != nil {
		fed := k.fedElectrically(shut)
		for _, i := range k.Numbers(k.Machine.Nodes) {
			if k.At(i).Kind == isolation.Consumer && fed[i] && k.live(i) == "" {
				return
			}
		}
	}
	stops := len(plan.Steps) > 0 && plan.Steps[0].Phase == isolation.PhaseStop
	plan.TryStart = stops || len(plan.DeadTests) > 0
}

// live returns why a part may keep its current, in the job's own words; "" of one that the job does not name.
func (k *task) live(i int32) string {
	n := slices.IndexFunc(k.job.Live, func(l isolation.LivePart) bool { return l.ID == k.At(i).ID })
	if n < 0 {
		return ""
	}
	return k.job.Live[n].Because
}
