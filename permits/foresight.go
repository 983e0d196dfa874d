package permits

import (
	"encoding/json"
	"slices"
	"strings"
	"time"

	"stillwatch/isolation"
)

// Target is the part of a permit that an act is about. Only the field that the kind of act asks for counts: Step for
// locks, Section for drains, Check for stored energies, Test for dead tests, Person for an absent owner,
// Level for the air, Post for standing by; Step counts for what is put back too.
type Target struct {
	Step    int
	Section string
	Check   string
	Test    string
	Person  PersonID
	Level   string
	Post    isolation.Post
}

// Foresee returns the very refusal that Decide would return for every act of this kind about this part of the permit,
// whatever is filled into its form; nil if the form can be filled in so that the act happens. s.By is the person who
// asks; a signature is taken as still to come. It is the one answer to "may this happen now?" for pages, papers and
// the board. TestWhatIsForetoldIsWhatIsDecided holds it to Decide.
func Foresee(s Setting, p Permit, kind Kind, at Target) *Refusal {
	s.Signed = Signature{}
	place, err := mayFollow(s, p, kind)
	if err != nil {
		return asRefusal(err)
	}
	if err := maySign(s, kind, place.Gate); err != nil {
		return asRefusal(err)
	}
	a, ok := bare(p, kind, at)
	if !ok {
		return &Refusal{Kind: NotFound, Gate: string(kind), What: "No permit knows the act " + string(kind) + "."}
	}
	return asRefusal(s.Judge.open(s, p, a))
}

// bare returns the act of a kind about a part of a permit, with nothing else filled in.
func bare(p Permit, kind Kind, at Target) (PermitAct, bool) {
	r, ok := actOf(kind)
	if !ok {
		return nil, false
	}
	zero, err := r.decode(json.RawMessage("{}"))
	a, isPermit := zero.(PermitAct)
	if err != nil || !isPermit {
		return nil, false
	}
	if t, is := a.(aimed); is {
		a = t.aim(p, at)
	}
	return a, true
}

// asRefusal returns the refusal that a gate's error is. A gate has no other errors.
func asRefusal(err error) *Refusal {
	if err == nil {
		return nil
	}
	return err.(*Refusal)
}

// Has reports whether the way has a place for an act of this kind where the permit stands, whoever asks and whatever
// its gate says.
func (p Permit) Has(kind Kind) bool {
	_, ok := find(p.state, kind)
	return ok
}

// Offers reports whether a page shows a form for this act to the person who asks. What is not signed the person must be
// able to do; what is signed may be signed on the same device by anybody aboard, but not on a visitor's.
func Offers(s Setting, p Permit, kind Kind, at Target) bool {
	if !s.By.IsCompetent() {
		return false
	}
	if Foresee(s, p, kind, at) == nil {
		return true
	}
	if !kind.IsSigned() || !p.Has(kind) {
		return false
	}
	for _, s.By = range s.Ship.People {
		if s.By.Has(kind.Roles()...) && Foresee(s, p, kind, at) == nil {
			return true
		}
	}
	return false
}

// Use is what a scanned lock tag is good for at a moment.
type Use string

// The uses of a tag.
const (
	UseFit    Use = "fit"
	UseCheck  Use = "check"
	UseRemove Use = "remove"
	UseLift   Use = "lift"  // it comes off for a test run
	UseOpen   Use = "open"  // it comes off at once, in an emergency
	UseSee    Use = "see"   // the lock is off: a second person looks at the point
	UseDrain  Use = "drain" // the section at this drain is recorded here
	UseWait   Use = "wait"  // nothing is done at this tag now
	UseOver   Use = "over"  // the permit is over: the tag does nothing any more
)

// Kind returns the act that a use leads to; "" where it leads to none.
func (u Use) Kind() Kind {
	switch u {
	case UseFit:
		return KindFitLock
	case UseCheck:
		return KindCheckLock
	case UseRemove:
		return KindRemoveLock
	case UseLift:
		return KindLiftLock
	case UseOpen:
		return KindOpenAtOnce
	case UseSee:
		return KindCheckRestored
	case UseDrain:
		return KindRecordDrain
	}
	return ""
}

// TagUse says what one tag of a permit is good for now, for the person of the setting.
type TagUse struct {
	Lock    Lock
	Use     Use
	No      *Refusal // why this person cannot do it, or why nothing is done here; nil: the form is offered
	Section *DrainState
	Leave   isolation.Position // in which the point must be left, when it comes off
	Because string             // why it is left otherwise than in its clearance position
}

// UseOfTag returns what the tag of step n (from 1) is good for now.
func UseOfTag(s Setting, p Permit, n int) TagUse {
	l, _ := p.Lock(n)
	u := TagUse{Lock: l, Use: UseWait}
	next, fitting := p.NextFit()
	switch {
	case p.state.IsOver():
		u.Use = UseOver
		u.No = refuse("tag", "The tag does nothing any more. If it still hangs, take it to the chief engineer.",
			"This tag belongs to permit %d, which is %s.", p.id, p.state)
	case p.Has(KindOpenAtOnce) && slices.Contains(p.opening.Steps, n) && l.IsOn():
		u = useOf(s, p, l, UseOpen)
	case p.Has(KindFitLock) && fitting && next.Step.N == n:
		u = useOf(s, p, l, UseFit)
	case p.Has(KindFitLock) && !l.IsOn():
		u.No = refuse("fit lock", nextInWords("first", next), "It is not this tag's turn.")
	case p.Has(KindLiftLock) && slices.Contains(p.test.Steps, n) && l.IsOn():
		u = useOf(s, p, l, UseLift)
	case p.Has(KindRemoveLock) && l.IsOn():
		u = useOf(s, p, l, UseRemove)
	case p.Has(KindCheckRestored) && !l.Off().IsZero() && l.Seen.IsZero():
		if u = useOf(s, p, l, UseSee); p.looked(s, l) != nil {
			u.Use, u.No = UseWait, p.looked(s, l)
		}
	case !l.Off().IsZero():
		u.No = refuse("tag", p.waitsFor(s), "It is off. The point was left %s.", l.Step.Kind.Word(l.Left))
	case p.Has(KindCheckLock) && l.IsOn() && !l.IsChecked() && l.Wrong == "":
		if u = useOf(s, p, l, UseCheck); p.looked(s, l) != nil {
			u.Use, u.No = UseWait, p.looked(s, l)
		}
	default:
		u.hanging(s, p)
	}
	return u
}

// useOf is one use of a lock's tag with what its gate says to whoever asks.
func useOf(s Setting, p Permit, l Lock, use Use) TagUse {
	u := TagUse{Lock: l, Use: use}
	if !Offers(s, p, use.Kind(), Target{Step: l.Step.N}) {
		u.No = Foresee(s, p, use.Kind(), Target{Step: l.Step.N})
	}
	if use == UseLift {
		u.Leave = l.Step.Clearance
	}
	if use == UseRemove || use == UseOpen {
		u.Leave, u.Because = p.LeaveAt(s.Held, l)
	}
	return u
}

// hanging is a tag that hangs while nothing is fitted, checked or taken off at its point.
func (u *TagUse) hanging(s Setting, p Permit) {
	if p.Has(KindRecordDrain) {
		for _, d := range p.drains {
			if slices.Contains(d.Section.Drains, u.Lock.Step.Point) {
				u.Use, u.Section = UseDrain, &d
				u.No = Foresee(s, p, KindRecordDrain, Target{Section: d.Section.ID})
				return
			}
		}
	}
	passing := p.PassingPoints(s.Ship)
	switch {
	case u.Lock.IsWrong():
		u.No = refuse("tag", p.waitsFor(s), "FOUND WRONG: %s It is not held: do not rely on it.", AsSentence(u.Lock.Wrong))
	case slices.Contains(passing, u.Lock.Step.Point):
		u.No = refuse("tag", "Do what the alarm says. A repair is recorded on the point's page.",
			"It hangs, but %s leaks: it does not isolate.", u.Lock.Step.Point)
	case len(passing) > 0 || len(p.SignedOn()) > 0 && p.state != Live:
		u.No = refuse("tag", "Do what the alarm says.", "It hangs. Nothing is done at it now.")
	default:
		u.No = refuse("tag", p.waitsFor(s), "It hangs as it should. There is nothing to do here now.")
	}
}

// Walk returns what is opened at once, fitted, lifted for a test run, or taken off next, in the order of the walk: the
// first is to be done now, each later one as it will stand when those before it are done. Empty when none of it is
// done.
func Walk(s Setting, p Permit) []TagUse {
	for _, w := range []struct {
		use  Use
		kind Kind
	}{{UseOpen, KindOpenAtOnce}, {UseFit, KindFitLock}, {UseLift, KindLiftLock}, {UseRemove, KindRemoveLock}} {
		next, more := p.nextFor(w.use)
		if !more || !p.Has(w.kind) {
			continue
		}
		var out []TagUse
		for q := p.clone(); more; next, more = q.nextFor(w.use) {
			out = append(out, useOf(s, q, next, w.use))
			l := &q.locks[next.Step.N-1]
			if w.use == UseFit {
				l.Fitted, l.Removed, l.Wrong = Mark{s.By.ID, s.At}, Mark{}, ""
			} else {
				l.Removed = Mark{s.By.ID, s.At}
			}
		}
		return out
	}
	return nil
}

// nextFor returns the lock that is next to be fitted, lifted or taken off.
func (p Permit) nextFor(use Use) (Lock, bool) {
	switch use {
	case UseFit:
		return p.NextFit()
	case UseLift:
		return p.NextLift()
	case UseOpen:
		return p.NextOpening()
	}
	return p.NextRemove()
}

// Item is one thing that stands between a permit and its work, or its end.
type Item struct {
	Name  string // such as "Locks fitted"
	Done  int
	Total int
	Open  []string // what is missing, in words
}

// IsDone reports whether nothing of it is missing.
func (i Item) IsDone() bool { return i.Done >= i.Total }

// InTheWay returns what must be done before the work begins, or before the permit ends, each once, in its order. Empty
// for a permit that is over.
func InTheWay(s Setting, p Permit) []Item {
	switch {
	case p.state.IsOver():
		return nil
	case p.Has(KindRemoveLock):
		return p.toRestore(s)
	}
	fitted, checked := Item{Name: "Locks and tags fitted"}, Item{Name: "Seen by a second person"}
	for _, l := range p.locks {
		fitted.count(l.IsOn() && l.Wrong == "", l.inWords())
		checked.count(l.IsChecked(), l.inWords())
	}
	items := []Item{{Name: "Isolation authorised", Done: min(1, len(string(p.authorised.By))), Total: 1}, fitted, checked}
	items = append(items, p.readingItems(s.At)...)
	proof := Item{Name: "Proof signed, permit issued and accepted", Total: 3}
	for _, m := range []Mark{p.proved, p.issued, p.accepted} {
		if !m.IsZero() {
			proof.Done++
		}
	}
	return append(items, proof)
}

// readingItems are the groups of what is recorded for the proof.
func (p Permit) readingItems(now time.Time) []Item {
	drains, stored, dead := Item{Name: "Sections drained"}, Item{Name: "Stored energy at rest"}, Item{Name: "Tested dead"}
	for _, d := range p.drains {
		drains.count(p.openDrain(d, now) == "", p.openDrain(d, now))
	}
	for _, c := range p.stored {
		stored.count(openStored(c, now) == "", openStored(c, now))
	}
	for _, d := range p.dead {
		dead.count(openDead(d, now) == "", openDead(d, now))
	}
	if p.NeedsStart() {
		dead.count(p.start.OK, startMissing)
	}
	air := Item{Name: "Air tested"}
	for _, a := range p.air {
		air.count(openAir(a, now) == "", openAir(a, now))
	}
	return slices.DeleteFunc([]Item{drains, stored, dead, air}, func(i Item) bool { return i.Total == 0 })
}

// toRestore is what must come off, and what must be done before the permit ends.
func (p Permit) toRestore(s Setting) []Item {
	off, seen := Item{Name: "Locks and tags off"}, Item{Name: "Points seen by a second person"}
	on := Item{Name: "People signed off"}
	for _, l := range p.locks {
		if !l.Fitted.IsZero() || !l.Off().IsZero() {
			off.count(!l.IsOn(), l.inWords())
			seen.count(!l.Seen.IsZero(), l.inWords())
		}
	}
	between := Item{Name: "Done, or left out, between the locks"}
	for _, a := range p.Added() {
		between.count(!a.Done.IsZero(), strings.TrimSuffix(a.Do, "."))
	}
	for _, a := range p.crew {
		on.count(!a.Off.IsZero(), s.name(a.Person))
	}
	back := Item{Name: "Detectors back in action"}
	for _, x := range p.inhibited {
		back.count(!x.Back.IsZero(), x.What)
	}
	return slices.DeleteFunc([]Item{off, between, seen, on, back}, func(i Item) bool { return i.Total == 0 })
}

func (i *Item) count(done bool, missing string) {
	i.Total++
	if done {
		i.Done++
	} else {
		i.Open = append(i.Open, missing)
	}
}

func (l Lock) inWords() string {
	return itoa(l.Step.N) + " " + l.Step.Name + " (" + string(l.Step.Point) + ")"
}
