package web

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"strings"

	"stillwatch/isolation"
	"stillwatch/isolation/planner"
	"stillwatch/isolation/proof"
	"stillwatch/permits"
)

// plansKept is how many plans are kept that were computed and proved, so that showing one and requesting it does not
// compute it twice.
const plansKept = 64

// madePlan is a plan with its hash. An infeasible plan is not proved and can be shown only as what it is.
type madePlan struct {
	Plan   *isolation.Plan
	Proved proof.Proved
	Hash   string
}

// makePlan computes and proves the plan of a job as things stand now.
func (s *Server) makePlan(job string) (madePlan, error) {
	plant, rules := s.reg.Plant(), s.reg.Rules()
	if plant == nil || rules == nil {
		return madePlan{}, notThere("No plant file is in force, so no plan can be made.",
			"The chief engineer puts one in force on the plant page.")
	}
	if plant.Job(job) == nil {
		return madePlan{}, notThere("The plant file in force has no job "+shorten(job, 40)+".", "Choose one of the list.")
	}
	facts := permits.CircumstancesOf(s.reg.Ship(), s.reg.Held(), 0)
	key := strings.Join([]string{plant.SHA256, rules.SHA256, job, fmt.Sprint(facts)}, "\x00")
	return s.plans.get(key, func() (madePlan, error) { return provedPlan(plant, rules, job, facts) })
}

// provedPlan makes a plan and has it checked by the second algorithm. A plan that fails the check is an error.
func provedPlan(plant *isolation.Plant, rules *isolation.Rules, job string, c isolation.Circumstances) (madePlan,
	error) {
	plan, err := planner.Make(plant, rules, job, c)
	if err != nil {
		return madePlan{}, err
	}
	m := madePlan{Plan: &plan}
	text, err := json.Marshal(plan)
	if err != nil {
		return madePlan{}, fmt.Errorf("hash plan %s: %w", job, err)
	}
	sum := sha256.Sum256(text)
	m.Hash = hex.EncodeToString(sum[:])
	if !plan.Feasible {
		return m, nil
	}
	if m.Proved, err = proof.Prove(plant, rules, plan, c); err != nil {
		return madePlan{}, fmt.Errorf("plan %s does not hold: %w", job, err)
	}
	m.Plan = m.Proved.Plan()
	return m, nil
}
