// Package sat finds values for yes-or-no variables that satisfy a list of
// clauses at the least cost, and proves that none cost less.
//
// It knows variables by number, and nothing of what they stand for.
//
// Begin with [Solver.AddClause] and [Solver.Solve], which is conflict-driven
// clause learning; [Minimise] puts costs on literals and raises a proven bound
// core by core. Both are deterministic: they read no clock, and a limit counts
// conflicts.
//
// A SAT library would do as well if one gave back which assumptions failed,
// and could be stopped after a number of conflicts; none was found that is
// well kept and does both.
package sat
