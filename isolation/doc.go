// Package isolation knows the plant and computes how a job on it is isolated.
//
// It reads a plant file (Read), finds the least set of points that cuts every source from the work (Make), checks it
// by a second algorithm (Prove), orders the steps, and says what follows from them. It knows no people, no permits, no
// clock and no database, so that a plan can be computed again years later from the same two files.
//
// What counts, beyond the demand itself: a blank or a spool counts for the blank demand alone, and only where its line
// can be let down before its joint is broken (letdown.go). A drain between two points counts only if no source comes to
// it (deaddrain.go). A point behind what another permit holds counts only where the plan holds that too (guarded.go).
// The solver knows none of the last three, so a plan that had to be mended for them may show a gap to its bound.
//
// Begin with Plant, Plan and Make.
package isolation
