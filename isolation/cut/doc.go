// Package cut finds the cheapest set of points to close, so that every path
// from a source of energy to the work meets its demand, and proves that none
// is cheaper.
//
// It knows a graph of numbered vertices, some of which can be closed at a
// cost, and what may be demanded: one closed point, two in series, two with a
// bled part between them, or a blank behind a valve; besides, what points need
// of others, and what others lose. It must not know what a valve, a permit or a
// person is; the caller numbers the plant and reads the numbers back.
//
// Begin with [Solve] for the answer and [Verify] to check any set. [Network]
// answers many questions about one plant.
//
// One plain question is one minimum cut in as many copies of the graph as
// there are layers (network.go, question.go, flow.go, closest.go), with a
// maximum flow as its certificate (certificate.go). What a plain cut can't
// express is judged afterwards (judge.go), and where the cut falls short the
// question is put in clauses (skeleton.go, search.go, losses.go) and minimised
// by package sat. [Bound] tells what the flow proves from what only the search
// does.
package cut
