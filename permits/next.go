package permits

import (
	"slices"
	"strings"
	"time"

	"stillwatch/isolation"
)

// Next is one thing that a permit waits for: who, and what, in words.
type Next struct {
	Who   string    // "officer of the watch"
	Roles []Role    // who could do it
	What  string    // "Fit lock 3: Separator 1 oil inlet (S1-V3), deck 2, frame 31, port."
	Kind  Kind      // the act that does it
	At    Target    // the part of the permit that it is about
	Since time.Time // since when it is waited for; zero where that does not matter
}

// unless says, in place of what is to be done, what stands in the way of it, if something does.
func (n Next) unless(err error) Next {
	if no := asRefusal(err); no != nil {
		n.What = strings.TrimSpace(no.What + " " + no.Opens)
	}
	return n
}

// IsFor reports whether a person could do it.
func (n Next) IsFor(who Person) bool { return who.Has(n.Roles...) }

// CanNow reports whether the person of the setting can do now what a permit waits for: whoever fitted a lock may have
// the role to look at it, and still not be the one.
func CanNow(s Setting, p Permit, n Next) bool {
	if n.Kind == KindCheckLock || n.Kind == KindCheckRestored {
		return len(Looks(s, p))+len(p.LooksOf(s.By.ID)) > 0
	}
	return Foresee(s, p, n.Kind, n.At) == nil
}

// WhatNext returns what a permit waits for, most urgent first. A permit that is over waits for nothing.
func WhatNext(s Setting, p Permit) []Next {
	if next := p.nextInEmergency(s); len(next) > 0 && p.Has(KindAccount) {
		return append(next, p.nextWatch(s)...)
	}
	if points := p.PassingPoints(s.Ship); len(points) > 0 && !p.Has(KindRemoveLock) {
		return p.nextPassing(points)
	}
	out := append(p.nextWatch(s), p.nextShift(s)...)
	if p.IsOverdue(s.At) && p.Has(KindExtend) {
		return append(out, p.nextRunOut()...)
	}
	if p.Has(KindAuthorise) {
		out = append(out, Next{Who: string(Officer), Roles: KindAuthorise.Roles(), Kind: KindAuthorise,
			What: "Look at the plan and authorise it."})
	}
	if p.under != 0 && p.Has(KindAccept) {
		return append(out, p.nextUnder(s))
	}
	if p.Has(KindCountersign) && p.countersigned.IsZero() && p.NeedsCountersign(s) {
		out = append(out, Next{Who: string(Master), Roles: KindCountersign.Roles(), Kind: KindCountersign,
			What: "Countersign the authorisation: the rules ask for it before anything is isolated."})
	} else if p.Has(KindAnswerUnproved) && p.NeedsAnswer() {
		out = append(out, Next{Who: string(ChiefEngineer), Roles: KindAnswerUnproved.Roles(), Kind: KindAnswerUnproved,
			What: "Answer for what the plan does not prove: " + p.unprovedWords()})
	} else {
		out = append(out, p.nextLocks(s)...)
	}
	if p.Has(KindResume) {
		out = append(out, p.nextStopped(s))
	}
	if p.Has(KindProve) {
		out = append(out, p.nextProof(s))
	}
	if p.Has(KindHandBack) {
		out = append(out, p.nextWork(s))
	}
	if p.Has(KindEndTest) {
		out = append(out, p.nextTest(s))
	}
	if p.Has(KindRemoveLock) {
		out = append(out, p.nextRestore(s))
	}
	return out
}

// waitsFor says in a sentence what the permit waits for first.
func (p Permit) waitsFor(s Setting) string {
	for _, n := range WhatNext(s, p) {
		return "The permit waits for the " + n.Who + ". " + n.What
	}
	return ""
}

// nextPassing is what a permit waits for of which a point leaks: people come out, then a repair or an end.
func (p Permit) nextPassing(points []isolation.NodeID) []Next {
	list := listOf(points)
	var out []Next
	switch {
	case p.Has(KindHandBack):
		out = append(out, Next{Who: "people at work", Roles: anybody, Kind: KindSuspend,
			What: "Stop the work: " + list + " leaks. Nobody goes on or signs on."})
	case len(p.SignedOn()) > 0:
		out = append(out, Next{Who: "people at work", Roles: anybody, Kind: KindSignOff,
			What: "Come out and sign off: " + list + " leaks."})
	}
	kind := KindSignOff
	if p.Has(KindCancel) && len(p.SignedOn()) == 0 {
		kind = KindCancel
	}
	return append(out, Next{Who: string(ChiefEngineer), Roles: []Role{ChiefEngineer}, Kind: kind,
		What: "Have " + list + " repaired and the repair recorded, or cancel this permit: a new plan will do without."})
}

// nextLocks is what is to be fitted and what is to be looked at.
func (p Permit) nextLocks(s Setting) []Next {
	var out []Next
	now := s.At
	if first := p.FirstReadings(now); len(first) > 0 {
		l, _ := p.NextFit()
		c := first[0]
		out = append(out, Next{Who: string(Technician), Roles: KindRecordStored.Roles(), Kind: KindRecordStored,
			At: Target{Check: c.Check.ID}, What: "Before step " + itoa(l.Step.N) + " (" + string(l.Step.Point) + "): " +
				openStored(c, now) + "; " + p.storedWait(c).earliest(now) + "." + moreAfter(len(first)-1)})
	} else if tests := p.FirstTests(now); len(tests) > 0 {
		l, _ := p.NextFit()
		out = append(out, Next{Who: string(Technician), Roles: KindRecordDead.Roles(), Kind: KindRecordDead,
			At: Target{Test: tests[0].Test.ID}, What: "Before step " + itoa(l.Step.N) + " (" + string(l.Step.Point) + "): " +
				openDead(tests[0], now) + "." + moreAfter(len(tests)-1)})
	} else if l, ok := p.NextFit(); ok && p.Has(KindFitLock) {
		out = append(out, Next{Who: string(Technician), Roles: KindFitLock.Roles(), Kind: KindFitLock,
			At: Target{Step: l.Step.N}, What: l.order("Fit")}.unless(FitLock{Tag: l.Tag}.noTestThere(s, p)))
	}
	return append(out, p.nextLooks()...)
}

// nextLooks is what hangs and waits for a second person's look.
func (p Permit) nextLooks() []Next {
	var out []Next
	if list := p.Unchecked(); len(list) > 0 && p.Has(KindCheckLock) {
		out = append(out, Next{Who: "second person", Roles: anybody, Kind: KindCheckLock, At: Target{Step: list[0].Step.N},
			What: list[0].order("Look at") + moreAfter(len(list)-1)})
	}
	return out
}

// Unchecked returns the locks that hang and that no second person has looked at.
func (p Permit) Unchecked() []Lock {
	return slices.DeleteFunc(p.Locks(), func(l Lock) bool { return !l.IsOn() || l.IsChecked() || l.Wrong != "" })
}

// order says what to do at a lock: "Fit lock 3: Separator 1 oil inlet (S1-V3), deck 2, frame 31, port."
func (l Lock) order(verb string) string {
	return verb + " " + l.Thing() + " " + itoa(l.Step.N) + ": " + l.Step.Name + " (" + string(l.Step.Point) + "), " +
		l.Step.Place.String() + "."
}

// orderOff is order for what comes off: on a point with several locks it says which it is, and which stay.
func (l Lock) orderOff(s Setting, p Permit, verb string) string {
	if l.Padlock == "" {
		return l.order(verb)
	}
	said := l.order(verb) + " It is number " + string(l.Padlock) + " of " + s.name(l.Owner) + "."
	for _, h := range s.Held.At(l.Step.Point, p.id) {
		if h.On && h.Padlock != "" {
			said += " Number " + string(h.Padlock) + " of " + s.name(h.Owner) + " stays (permit " + itoa(int(h.Permit)) + ")."
		}
	}
	return said
}

// Thing returns what hangs at the step: "lock", or "tag" where no lock goes on.
func (l Lock) Thing() string {
	if l.Step.Lock {
		return "lock"
	}
	return "tag"
}

// nextProof is the first reading that is missing, then the signature under the proof, then the acceptance.
func (p Permit) nextProof(s Setting) Next {
	open := p.Unproved(s.At)
	old, leaked := p.readBeforeLeak(s)
	switch on := len(p.SignedOn()); {
	case on > 0:
		return Next{Who: "people at work", Roles: anybody, Kind: KindSignOff,
			What: "Come out and sign off: the isolation was lost and " + people(on) + " still signed on."}
	case len(open) > 0:
		kind, at := p.firstRecord(s.At)
		if kind == KindConsentDeviation {
			if stale := freshAir(s, p, ""); stale != nil {
				return Next{Who: string(Technician), Roles: KindRecordAir.Roles(), Kind: KindRecordAir,
					At: Target{Level: p.air[0].Level}}.unless(stale)
			}
			return Next{Who: string(Officer), Roles: kind.Roles(), Kind: kind, At: at,
				What: "Read the deviation that the chief engineer accepted, and sign it, or let the drain be done: " +
					open[0] + "."}
		}
		if d := p.drainIndex(at.Section); kind == KindRecordDrain && p.onlyAccepted(s, p.drains[d]) {
			return Next{Who: string(ChiefEngineer), Roles: KindAcceptDeviation.Roles(), Kind: KindAcceptDeviation, At: at,
				What: "Look, and accept a deviation in writing: " + open[0] + ". This drain proves nothing by itself."}
		}
		return Next{Who: string(Technician), Roles: KindProve.Roles(), Kind: kind, At: at,
			What: "Prove it: " + open[0] + "." + moreAfter(len(open)-1)}
	case leaked:
		no := asRefusal(p.readSinceLeak(s, ""))
		return Next{Who: string(Technician), Roles: old.kind.Roles(), Kind: old.kind, At: old.at,
			What: no.What + " " + no.Opens}
	case p.proved.IsZero():
		return Next{Who: string(Technician), Roles: KindProve.Roles(), Kind: KindProve,
			What: "Sign the proof: everything is recorded."}
	case p.issued.IsZero():
		return Next{Who: string(Officer), Roles: KindIssue.Roles(), Kind: KindIssue,
			What: "See that the measures are in place, and issue the permit."}
	}
	return Next{Who: "person in charge of the work", Roles: KindAccept.Roles(), Kind: KindAccept,
		What: "Accept the permit. Work begins after that, not before."}
}

// onlyAccepted reports whether a section was recorded, and no further record can prove it: its drain proves nothing.
func (p Permit) onlyAccepted(s Setting, d DrainState) bool {
	return !d.Recorded.IsZero() && !d.Stale && !d.Finding.OK && !d.Accepted && !d.Section.Provable &&
		!isOld(d.Recorded, s.At) && d.Finding.Result != "passing" && p.mayStandUndrained(s, d) == nil
}

// firstRecord returns the act that records the first thing which keeps the proof open.
func (p Permit) firstRecord(now time.Time) (Kind, Target) {
	for _, d := range p.drains {
		if d.Accepted && p.needsConsent() && d.Consented.IsZero() && !d.Stale {
			return KindConsentDeviation, Target{Section: d.Section.ID}
		}
		if p.openDrain(d, now) != "" {
			return KindRecordDrain, Target{Section: d.Section.ID}
		}
	}
	for _, c := range p.stored {
		if c.Check.Stored.Kind == isolation.KindMeasure && openStored(c, now) != "" {
			return KindAnswerMeasures, Target{Check: c.Check.ID}
		}
		if openStored(c, now) != "" {
			return KindRecordStored, Target{Check: c.Check.ID}
		}
	}
	for _, d := range p.dead {
		if openDead(d, now) != "" {
			return KindRecordDead, Target{Test: d.Test.ID}
		}
	}
	for _, a := range p.air {
		if openAir(a, now) != "" {
			return KindRecordAir, Target{Level: a.Level}
		}
	}
	return KindRecordStart, Target{}
}

// nextWork is what a live permit waits for. When everybody has signed off it is what the hand back waits for.
func (p Permit) nextWork(s Setting) Next {
	n := Next{Who: "people at work", Roles: anybody}
	on := len(p.SignedOn())
	for _, post := range p.Posts() {
		if _, stands := p.AtPost(post); !stands && (on > 0 || len(p.crew) == 0) {
			return Next{Who: string(post), Roles: anybody, Kind: KindTakePost, At: Target{Post: post},
				What: "Take the post and sign: " + string(post) + ". Nobody works before."}
		}
	}
	switch {
	case on > 0:
		n.Kind, n.What = KindSignOff, "Work is on; "+people(on)+" signed on. When it ends: sign off, then hand back."
	case len(p.crew) == 0:
		n.Kind, n.What = KindSignOn, "Everybody who works signs on before touching anything."
	case p.detectorsBack("") != nil:
		n = p.nextPutBack()
		n.What = "Everybody has signed off. " + n.What
	case len(p.standing()) > 0:
		n.Who, n.Roles, n.Kind, n.At = "who stands by", anybody, KindLeavePost, Target{Post: p.standing()[0]}
		n.What = "Everybody has signed off. Stay at the post as long as it asks for; then sign that you leave."
	case p.postsLeft(s, "") != nil:
		n.Who, n.Roles, n.Kind, n.At = string(isolation.FireWatch), anybody, KindTakePost, Target{Post: isolation.FireWatch}
		n = n.unless(p.postsLeft(s, ""))
	default:
		n.Who, n.Roles, n.Kind = string(Technician), KindHandBack.Roles(), KindHandBack
		n.What = "Everybody has signed off. Hand back when the work is done, or sign on again."
		n = n.unless(p.noSubBusy(s, ""))
	}
	return n
}

// nextStopped is what a permit waits for whose work was stopped.
func (p Permit) nextStopped(s Setting) Next {
	if !p.change.IsZero() {
		return p.nextChange(s)
	}
	n := Next{Who: string(Officer), Roles: KindResume.Roles(), Kind: KindResume, Since: p.suspended.At}
	stopped := "The work was stopped: " + AsSentence(p.stopped)
	if on := len(p.SignedOn()); on > 0 {
		n.Who, n.Roles, n.Kind = "people at work", anybody, KindSignOff
		n.What = stopped + " Come out and sign off: " + people(on) + " still signed on."
		return n
	}
	for _, own := range p.OwnLocks() {
		n.Who, n.Roles, n.Kind, n.At = "people at work", anybody, KindTakeOwnLock, Target{Person: own.Person}
		return n.unless(p.boxIsFree(s, ""))
	}
	n.What = stopped + " When the reason is gone let it go on, each lock looked at again; or cancel it."
	if p.under != 0 {
		n.What = stopped + " When the reason is gone and permit " + itoa(int(p.under)) +
			" is live, let it go on; or cancel it."
	}
	return n
}

// nextPutBack is the first detector that is out of action; the zero Next if none is.
func (p Permit) nextPutBack() Next {
	for _, x := range p.inhibited {
		if x.Back.IsZero() {
			return Next{Who: string(Officer), Roles: KindPutBack.Roles(), Kind: KindPutBack, At: Target{Step: x.N},
				What: "Put " + x.What + " back in action, and see it at the panel."}
		}
	}
	return Next{}
}

// nextRestore is the lock that comes off next, or the closing.
func (p Permit) nextRestore(s Setting) Next {
	if n := p.nextPutBack(); n.Kind != "" {
		return n
	}
	added, due, _ := p.NextAdded()
	unseen := p.Unseen()
	if due && (added.Before > 0 || len(unseen) == 0) {
		if no := p.HeldBack(s, added); no != nil {
			return Next{Who: string(ChiefEngineer), Roles: KindLeaveOut.Roles(), Kind: KindLeaveOut,
				At: Target{Step: added.N}, What: no.What + " Leave it out: " + added.sentence()}
		}
		return Next{Who: string(Technician), Roles: KindRestoreStep.Roles(), Kind: KindRestoreStep,
			At: Target{Step: added.N}, What: p.AddedWords(s, added)}
	}
	if l, on := p.NextRemove(); on {
		return Next{Who: string(Technician), Roles: KindRemoveLock.Roles(), Kind: KindRemoveLock,
			At: Target{Step: l.Step.N}, What: l.orderOff(s, p, "Take off")}
	}
	if len(unseen) > 0 {
		return Next{Who: "second person", Roles: anybody, Kind: KindCheckRestored, At: Target{Step: unseen[0].Step.N},
			What: "Look at step " + unseen[0].inWords() + ": it was left " + unseen[0].Step.Kind.Word(unseen[0].Left) + "." +
				moreAfter(len(unseen)-1)}
	}
	if p.under != 0 {
		return Next{Who: string(ChiefEngineer), Roles: KindClose.Roles(), Kind: KindClose, What: "The work is handed back. " +
			"Close the permit; permit " + itoa(int(p.under)) + " has the locks."}.unless(Close{}.gate(s, p))
	}
	return Next{Who: string(ChiefEngineer), Roles: KindClose.Roles(), Kind: KindClose,
		What: "Every lock is off, every point was seen and " + p.trialWords() + " Close the permit."}.
		unless(Close{}.gate(s, p))
}

// trialWords says what became of what stands between the locks, when all of it is past.
func (p Permit) trialWords() string {
	out := slices.DeleteFunc(p.Added(), func(a AddedStep) bool { return a.LeftOut == "" })
	switch len(out) {
	case 0:
		return "the trial is done."
	case 1:
		return "this was left out: " + AsSentence(out[0].Do)
	}
	return itoa(len(out)) + " things were left out, the last of them: " + AsSentence(out[len(out)-1].Do)
}

// Alarm is one danger on an open permit that everybody must see first: what is wrong, who is in it, what to do at once.
type Alarm struct {
	Permit PermitID
	What   string // "Isolation lost."
	Who    string // "2 people are signed on: Bao, Tove."; "" if nobody is
	Do     string // "Get them out."
}

// Words returns the alarm in one text, for paper.
func (a Alarm) Words() string { return strings.Join(strings.Fields(a.What+" "+a.Who+" "+a.Do), " ") }

// Alarms returns the dangers of one permit: points that leak, people at work while it is not live, and people at work
// when its authorisation has run out.
func Alarms(s Setting, p Permit) []Alarm {
	out := p.passingAlarms(s)
	who := p.whoIsOn(s)
	if a, ran := p.runOutAlarm(s.At, who); ran {
		out = append(out, a)
	}
	if a, alone := p.aloneAlarm(s); alone {
		out = append(out, a)
	}
	if a, over := p.airAlarm(s.At, who); over {
		out = append(out, a)
	}
	wrong := p.wrongWords(s)
	switch {
	case wrong != "" && who == "" && p.Has(KindResume):
		out = append(out, Alarm{p.id, wrong, "", "Nobody relies on it before it is fitted anew and looked at."})
	case who == "" || p.state == Live:
	case wrong != "":
		out = append(out, Alarm{p.id, "The work is stopped. " + wrong, who, "Get them out, then each signs off."})
	case p.Has(KindResume):
		out = append(out, Alarm{p.id, "The work is stopped.", who, "Get them out, then each signs off."})
	case slices.ContainsFunc(p.air, func(a AirState) bool { return !a.Recorded.IsZero() && !a.Finding.OK }):
		out = append(out, Alarm{p.id, "The air is not safe.", who, "Get them out, then each signs off."})
	default:
		out = append(out, Alarm{p.id, "Isolation lost.", who, "Get them out, then each signs off."})
	}
	return out
}

// passingAlarms returns one alarm for every point of the permit that is recorded as passing, with what was found.
func (p Permit) passingAlarms(s Setting) []Alarm {
	if p.state.IsOver() || p.Has(KindRemoveLock) {
		return nil // nobody is at work any more, and what hangs comes off whether it isolates or not
	}
	var out []Alarm
	who := p.whoIsOn(s)
	for _, point := range p.PassingPoints(s.Ship) {
		a := Alarm{Permit: p.id, What: string(point) + " is recorded as leaking: it does not isolate (" +
			strings.TrimRight(strings.TrimSpace(s.Ship.Passing[point]), ".") + ").", Who: who}
		switch {
		case who != "":
			a.Do = "Get them out and stop the work."
		case p.state == Live:
			a.Do = "Stop the work: nobody signs on."
		default:
			a.Do = "Nothing goes on until a repair is recorded, or another permit is planned without that point."
		}
		out = append(out, a)
	}
	return out
}

// wrongWords says which locks were found wrong and are not fitted anew yet: what was found, by whom and when; "" for
// none. Nobody waits for what comes off.
func (p Permit) wrongWords(s Setting) string {
	if p.state.IsOver() || p.Has(KindRemoveLock) {
		return ""
	}
	var out []string
	for _, l := range p.locks {
		if l.IsWrong() {
			out = append(out, "FOUND WRONG: "+string(l.Step.Point)+" (step "+itoa(l.Step.N)+"): "+
				strings.TrimRight(strings.TrimSpace(l.Wrong), ".")+". Found by "+s.name(l.WrongBy.By)+" at "+
				l.WrongBy.At.Format("15:04 MST")+".")
		}
	}
	return strings.Join(out, " ")
}

// whoIsOn says who is signed on, by name; "" if nobody is.
func (p Permit) whoIsOn(s Setting) string {
	on := p.SignedOn()
	if len(on) == 0 {
		return ""
	}
	names := make([]string, len(on))
	for i, id := range on {
		names[i] = s.name(id)
	}
	return people(len(on)) + " signed on: " + strings.Join(names, ", ") + "."
}

func people(n int) string {
	if n == 1 {
		return "1 person is"
	}
	return itoa(n) + " people are"
}

func moreAfter(n int) string {
	if n <= 0 {
		return ""
	}
	return " " + itoa(n) + " more after it."
}

func listOf(ids []isolation.NodeID) string {
	words := make([]string, len(ids))
	for i, id := range ids {
		words[i] = string(id)
	}
	return strings.Join(words, ", ")
}

// AsSentence ends somebody's words with a full stop.
func AsSentence(words string) string {
	words = strings.TrimSpace(words)
	if words == "" || slices.Contains([]byte(".!?"), words[len(words)-1]) {
		return words
	}
	return words + "."
}
