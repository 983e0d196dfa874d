// Package metrics measures a running register for whoever watches it from outside: what is done and refused, how long
// answers take, how much is open, whether the disk and the backups are well. It gives Prometheus its figures.
//
// It must not know people, permits' texts or tags' codes: a label is always one of a short list that the program itself
// holds (kinds of acts, gates, routes, states). It changes nothing and is in the way of nothing; acts are counted from
// the log after they were kept.
//
// Begin with New, then follow.go, which counts, and ship.go, which reads what is open.
package metrics
