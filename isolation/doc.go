// Package isolation knows the plant and computes how a job on it is isolated.
//
// It reads a plant file (Read), finds the least set of points that cuts every source from the work (Make), checks it
// by a second algorithm (Prove), orders the steps, and says what follows from them. It knows no people, no permits, no
// clock and no database, so that a plan can be computed again years later from the same two files.
//
// Begin with Plant, Plan and Make.
package isolation
