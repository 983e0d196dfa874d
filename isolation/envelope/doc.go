// Package envelope knows what is still joined to the work once the points of a plan are shut: which drains and vents
// empty it and what comes out of them, which energies stay in the machine, and what a reading of either says. It turns
// the plant into the bare numbers that drain and energy reckon with, and their figures back into words of the plan.
//
// It does not choose points (planner does) and proves nothing about them (proof does).
//
// Begin with Work.DrawOff, JudgeSection and JudgeStored.
package envelope
