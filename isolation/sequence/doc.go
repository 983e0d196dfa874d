// Package sequence knows in which order a round is walked: blocks one after the other, inside a block what must come
// first before what must come after, and inside what that leaves free the shortest way.
//
// It knows places as metres only; it must not know what stands there, who walks or why a block comes first.
//
// Begin with Stop, Order and Reverse.
package sequence
