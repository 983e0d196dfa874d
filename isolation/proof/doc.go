// Package proof checks a plan by a second way before anybody sees it. It reads the plant's links into a view of its
// own, asks the rules again and counts the closed points on every way from a source to the work. It may not import
// planner, envelope or graph: a fault there must not be able to hide itself here.
//
// Begin with Prove. Proved is a plan that was checked; no other package can make one that is not the zero value.
package proof
