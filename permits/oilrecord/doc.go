// Package oilrecord knows how what was drained under a permit is accounted for: how much of which fluid went into which
// tank, and what of it the Oil Record Book asks about. It reads entries of the log and writes nothing: the book is the
// officer's.
//
// Begin with Totals, which adds up a permit's records, then with Drafts, which offers an entry for each tank.
package oilrecord
