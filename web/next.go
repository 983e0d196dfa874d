package web

import (
	"slices"
	"strconv"
	"time"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// next is what a permit waits for: who, and what, in words. It foretells the gates for the reader; the gates themselves
// stand in package permits.
type next struct {
	Who   string         // "officer of the watch"
	Roles []permits.Role // who could do it
	What  string         // "Fit lock 3: Separator 1 oil inlet (S1-V3), deck 2, frame 31, port."
	Form  string         // name of the form on the permit's page that does it; "" where a tag is scanned
}

var (
	officers    = []permits.Role{permits.Officer}
	technicians = []permits.Role{permits.Technician}
	chiefs      = []permits.Role{permits.ChiefEngineer}
	masters     = []permits.Role{permits.Master}
	crew        = []permits.Role{permits.Officer, permits.Technician, permits.Crew, permits.ChiefEngineer, permits.Master}
)

// nextOf returns what a permit waits for by the rules in force and what is recorded of its points, most urgent first. A
// permit that is over waits for nothing.
func nextOf(p permits.Permit, now time.Time, aboard facts) []next {
	if points := p.PassingPoints(aboard.ship); len(points) > 0 && !permits.CanFollow(p.State(), permits.KindRemoveLock) {
		return nextPassing(p, points)
	}
	var out []next
	if p.IsOverdue(now) && permits.CanFollow(p.State(), permits.KindExtend) {
		out = append(out, next{string(permits.Officer), officers,
			"Extend the authorisation, which has run out, or have the work stopped.", "extend"})
	}
	if permits.CanFollow(p.State(), permits.KindAuthorise) {
		out = append(out, next{string(permits.Officer), officers, "Look at the plan and authorise it.", "authorise"})
	}
	if awaitsMaster(p, aboard.rules) {
		out = append(out, next{string(permits.Master), masters,
			"Countersign the authorisation: the rules ask for it before anything is isolated.", "countersign"})
	} else {
		out = append(out, nextLocks(p)...)
	}
	if permits.CanFollow(p.State(), permits.KindResume) {
		out = append(out, nextStopped(p))
	}
	if permits.CanFollow(p.State(), permits.KindProve) {
		out = append(out, nextProof(p))
	}
	if permits.CanFollow(p.State(), permits.KindHandBack) {
		out = append(out, nextWork(p))
	}
	if permits.CanFollow(p.State(), permits.KindRemoveLock) {
		out = append(out, nextRestore(p))
	}
	if len(out) == 0 && !p.State().IsOver() {
		out = append(out, next{string(permits.Officer), officers, "It is " + p.State().String() +
			": the work stays stopped until it goes on.", ""})
	}
	return out
}

// nextPassing is what a permit waits for of which a point passes: people come out, then a repair or an end.
func nextPassing(p permits.Permit, points []isolation.NodeID) []next {
	var out []next
	switch {
	case permits.CanFollow(p.State(), permits.KindHandBack):
		out = append(out, next{"people at work", crew, "Stop the work: " + nodeList(points) +
			" passes. Nobody goes on or signs on.", "suspend"})
	case len(p.SignedOn()) > 0:
		out = append(out, next{"people at work", crew, "Come out and sign off: " + nodeList(points) + " passes.", "sign-off"})
	}
	return append(out, next{string(permits.ChiefEngineer), chiefs, "Have " + nodeList(points) +
		" repaired and the repair recorded, or cancel this permit: a new plan will do without.",
		choose(permits.CanFollow(p.State(), permits.KindCancel) && len(p.SignedOn()) == 0, "cancel", "sign-off")})
}

// nextLocks is what is to be fitted and what is to be checked.
func nextLocks(p permits.Permit) []next {
	var out []next
	if permits.CanFollow(p.State(), permits.KindFitLock) {
		if l, ok := p.NextFit(); ok {
			out = append(out, next{string(permits.Technician), technicians, stepWords("Fit", l), ""})
		}
	}
	if permits.CanFollow(p.State(), permits.KindCheckLock) {
		if n := len(unchecked(p)); n > 0 {
			first := unchecked(p)[0]
			what := stepWords("Look at", first)
			if n > 1 {
				what += " " + strconv.Itoa(n-1) + " more after it."
			}
			out = append(out, next{"second person", crew, what, ""})
		}
	}
	return out
}

// unchecked returns the locks that hang and that no second person has looked at.
func unchecked(p permits.Permit) []permits.Lock {
	return slices.DeleteFunc(p.Locks(), func(l permits.Lock) bool { return !l.IsOn() || l.IsChecked() || l.Wrong != "" })
}

func stepWords(verb string, l permits.Lock) string {
	return verb + " " + lockOrTag(l) + " " + strconv.Itoa(l.Step.N) + ": " + l.Step.Name + " (" + string(l.Step.Point) +
		"), " + l.Step.Place.String() + "."
}

func lockOrTag(l permits.Lock) string {
	if l.Step.Lock {
		return "lock"
	}
	return "tag"
}

// nextProof is the first reading that is missing, then the signature under the proof, then the acceptance.
func nextProof(p permits.Permit) next {
	open := p.Unproved()
	switch on := len(p.SignedOn()); {
	case on > 0:
		return next{"people at work", crew, "Come out and sign off: the isolation was lost and " +
			plural(on, "person is", "people are") + " still signed on.", "sign-off"}
	case len(open) > 0:
		return next{string(permits.Technician), technicians, "Prove it: " + open[0] + "." + moreWords(len(open)-1),
			firstRecord(p)}
	case p.Proved().IsZero():
		return next{string(permits.Technician), technicians, "Sign the proof: everything is recorded.", "prove"}
	}
	return next{"person in charge of the work", technicians, "Accept the permit. Work begins after that, not before.",
		"accept"}
}

func moreWords(n int) string {
	if n <= 0 {
		return ""
	}
	return " " + strconv.Itoa(n) + " more after it."
}

// firstRecord names the form of the first thing that keeps the proof open.
func firstRecord(p permits.Permit) string {
	for _, d := range p.Drains() {
		if d.Recorded.IsZero() || d.Stale || !d.Finding.OK && !d.Accepted {
			return "drain:" + d.Section.ID
		}
	}
	for _, r := range p.Stored() {
		if r.Recorded.IsZero() || r.Stale || !r.Finding.OK {
			return "reading:" + r.Check.ID
		}
	}
	for _, d := range p.Dead() {
		if !d.OK {
			return "dead:" + d.Test.ID
		}
	}
	return "start"
}

// nextWork is what a live permit waits for.
func nextWork(p permits.Permit) next {
	if n := len(p.SignedOn()); n > 0 {
		return next{"people at work", technicians, "Work is on; " + plural(n, "person is", "people are") +
			" signed on. When it ends: sign off, then hand back.", "sign-off"}
	}
	if len(p.Crew()) == 0 {
		return next{"people at work", technicians, "Everybody who works signs on before touching anything.", "sign-on"}
	}
	return next{string(permits.Technician), technicians,
		"Everybody has signed off. Hand back when the work is done, or sign on again.", "hand-back"}
}

// nextStopped is what a permit waits for whose work was stopped.
func nextStopped(p permits.Permit) next {
	by, why := p.Suspended()
	stopped := "The work was stopped at " + stampWords(by.At) + ": " + sentence(why)
	if n := len(p.SignedOn()); n > 0 {
		return next{"people at work", crew, stopped + " Come out and sign off: " + plural(n, "person is", "people are") +
			" still signed on.", "sign-off"}
	}
	return next{string(permits.Officer), officers, stopped +
		" When the reason is gone let it go on, to be proved anew; or cancel it.", "resume"}
}

// nextRestore is the lock that comes off next, or the closing.
func nextRestore(p permits.Permit) next {
	if l, on := p.NextRemove(); on {
		return next{string(permits.Technician), technicians, stepWords("Take off", l), ""}
	}
	return next{string(permits.ChiefEngineer), chiefs, "Every lock is off. Close the permit.", "close"}
}

// nextViews is nextOf with what a reader could do marked.
func nextViews(p permits.Permit, now time.Time, who permits.Person, aboard facts) []nextView {
	var out []nextView
	for _, n := range nextOf(p, now, aboard) {
		out = append(out, nextView{n, n.isFor(who)})
	}
	return out
}

// isFor reports whether a person could do this.
func (n next) isFor(who permits.Person) bool { return who.Has(n.Roles...) }
