// Package proved makes plans that may be shown: each is computed by planner and then held against the plant by proof,
// which shares nothing with it. It is the one place where the two meet.
package proved

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"

	"stillwatch/isolation"
	"stillwatch/isolation/planner"
	"stillwatch/isolation/proof"
)

// Plan is a plan with its hash. An infeasible plan is not proved and can be shown only as what it is.
type Plan struct {
	Plan   *isolation.Plan
	Proved proof.Proved
	Hash   string // SHA-256 of the plan's JSON, hex
}

// Make computes the plan of a job and has it checked. A plan that fails the check is an error.
func Make(plant *isolation.Plant, rules *isolation.Rules, job string, c isolation.Circumstances) (Plan, error) {
	plan, err := planner.Make(plant, rules, job, c)
	if err != nil {
		return Plan{}, err
	}
	return hold(plant, rules, plan, c)
}

// Change computes the plan of a job to which work is added, in place of the plan before, whose steps all hang, and has
// it checked.
func Change(plant *isolation.Plant, rules *isolation.Rules, before *isolation.Plan, a isolation.Added,
	c isolation.Circumstances) (Plan, error) {
	plan, err := planner.Change(plant, rules, before, a, c)
	if err != nil {
		return Plan{}, err
	}
	c.Hang = before.Steps
	return hold(plant, rules, plan, c)
}

// hold has a plan checked and hashes it.
func hold(plant *isolation.Plant, rules *isolation.Rules, plan isolation.Plan,
	c isolation.Circumstances) (Plan, error) {
	m := Plan{Plan: &plan}
	text, err := json.Marshal(plan)
	if err != nil {
		return Plan{}, fmt.Errorf("hash plan %s: %w", plan.Job, err)
	}
	sum := sha256.Sum256(text)
	m.Hash = hex.EncodeToString(sum[:])
	if !plan.Feasible {
		return m, nil
	}
	if m.Proved, err = proof.Prove(plant, rules, plan, c); err != nil {
		return Plan{}, fmt.Errorf("plan %s does not hold: %w", plan.Job, err)
	}
	m.Plan = m.Proved.Plan()
	return m, nil
}

// Lift computes which locks of a plan come off so that one consumer can run for a test, and has that checked.
func Lift(plant *isolation.Plant, plan *isolation.Plan, run isolation.NodeID) (isolation.Lifting, error) {
	l, err := planner.Lift(plant, plan, run)
	if err != nil {
		return isolation.Lifting{}, err
	}
	if err := proof.Lifted(plant, plan, l); err != nil {
		return isolation.Lifting{}, fmt.Errorf("what would come off for %s does not hold: %w", run, err)
	}
	return l, nil
}
