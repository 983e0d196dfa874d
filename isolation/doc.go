// Package isolation has the nouns of a plant and of its isolation: nodes, links, machines, jobs, rules, energies, and
// the plan with its parts. One table says what is known of each kind of node and how its positions are called
// (kind.go). It knows no people, no permits, no clock and no file.
//
// Package plantfile reads a Plant and Rules from their files, planner makes a Plan, proof checks it by another way,
// envelope foretells what must be drained and judges what was read.
//
// Begin with Plant, Rules and Plan.
package isolation
