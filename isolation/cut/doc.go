// Package cut finds the cheapest set of points to close, so that every path
// from a source of energy to the work meets its demand, and proves that none
// is cheaper.
//
// It knows a graph of numbered vertices, some of which can be closed at a
// cost, and three demands: one closed point, two in series (with an opening
// between them where asked), or a blank behind a valve. It must not know what
// a valve, a permit or a person is; the caller numbers the plant and reads
// the numbers back.
//
// Begin with [Solve] for the answer, [Verify] for the independent check of
// any set, and [Certificate.Check] for the bound. [Network] answers many
// questions about one plant; [SolveServices] puts lost consumers before cost.
//
// One plain question is one minimum cut in as many copies of the graph as
// there are layers. Demands that a plain cut can't express (an opening
// between two points, blanks mixed with other demands on one line, services
// before cost) are solved by branch and bound over such cuts.
package cut
