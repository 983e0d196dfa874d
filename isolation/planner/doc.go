// Package planner computes how a job is isolated: the least set of points that cuts every source from what is opened
// (Make), the order of its steps, and what follows from it: what else loses its supply, which standby must run first,
// what one passing point would let through. Why explains one point of a plan, or why it is not in it.
//
// What counts, beyond the demand itself: a blank or a spool counts for the blank demand alone, and only where its line
// can be let down before its joint is broken (letdown.go). A drain between two points counts only if no source comes to
// it (deaddrain.go). A point behind what another permit holds counts only where the plan holds that too (guarded.go).
// The solver knows none of the last three, so a plan that had to be mended for them may show a gap to its bound.
//
// Nobody acts on what Make returns: package proof checks it first, and shares no code with this package.
package planner
