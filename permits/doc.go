// Package permits knows what a permit is and which act may follow which: the states, the gates, and the sentences with
// which an act is refused. It is pure: no clock, no database, no network; time and the ship's facts are arguments.
//
// Decide says whether an act may happen and what entry of the log it makes; Apply says what an entry makes of a
// permit. Nothing else changes a permit. DecideShip and ApplyShip do the same for what concerns the whole ship: people,
// the plant file in force, labels, points that pass.
//
// Begin with way.go, which is the whole way of a permit in one table, then with one act, for instance fitlock.go.
package permits
