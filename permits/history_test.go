package permits

import (
	"errors"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"stillwatch/isolation"
)

// The crew of the random histories: two people share each role, and two have roles on both sides.
var (
	otto    = Person{ID: "otto", Name: "Otto", Roles: []Role{Officer}}
	second  = Person{ID: "second", Name: "Second", Roles: []Role{ChiefEngineer}}
	both    = Person{ID: "both", Name: "Both", Roles: []Role{Officer, Technician}}
	fitCrew = Person{ID: "ola", Name: "Ola", Roles: []Role{Crew, Technician}}
)

var everybody = []Person{olga, otto, tomas, ines, karim, chief, vera, both, fitCrew, second, mara}

// TestNoHistoryBreaksTheRules lets many people do random things, right and wrong, to three permits of one machine and
// to permits under them, by a clock that is moved to and fro and through emergencies, and looks after each act at what
// must never be.
func TestNoHistoryBreaksTheRules(t *testing.T) {
	seen, kinds, declared := map[State]int{}, map[Kind]bool{}, map[Kind]bool{}
	missing := func() (out []string) { // what no history has held yet
		for _, s := range States() {
			if seen[s] == 0 {
				out = append(out, s.String())
			}
		}
		for _, kind := range permitKinds() {
			if !kinds[kind] {
				out = append(out, string(kind))
			}
		}
		for _, kind := range []Kind{KindDeclareEmergency, KindEndEmergency, KindRequest, KindRecordPassing,
			KindRecordRepair, KindHearRelease} {
			if !declared[kind] {
				out = append(out, string(kind))
			}
		}
		return out
	}
	for range 20 { // mostly once; a short run has fewer histories and goes round more often
		rapid.Check(t, func(t *rapid.T) { randomHistory(t, seen, kinds, declared) })
		if len(missing()) == 0 {
			return
		}
	}
	t.Errorf("no random history held %q: the test looks at too little", missing())
}

// randomHistory lets the crew do random things and counts the states that were reached.
func randomHistory(t *rapid.T, seen map[State]int, kinds, declared map[Kind]bool) {
	r := newRig(t)
	for _, p := range everybody {
		r.ship.People[p.ID] = p
	}
	permits := PermitID(rapid.IntRange(1, 3).Draw(t, "permits"))
	plan, plain, space := r.plan(), true, false
	if rapid.Bool().Draw(t, "energies that stay, and a part that keeps its current") {
		plan, plain = r.rich(), false
	}
	switch rapid.IntRange(0, 4).Draw(t, "a tank that is entered and welded, or a pump whose job grows") {
	case 0:
		plan, plain, space = r.space("T1-coat"), false, true
	case 1:
		plan = r.growing()
	}
	for range permits {
		r.must(0, tomas, Request{Plan: plan, Work: "Shaft seal"})
	}
	switch {
	case plain:
		beginFar(t, r, plan)
	case space:
		beginInside(t, r)
	}
	for range rapid.IntRange(40, 200).Draw(t, "acts") {
		moveClock(t, r)
		befall(t, r, declared)
		id := PermitID(rapid.IntRange(1, len(r.permits)).Draw(t, "permit"))
		before := r.permits[id]
		a := drawAct(t, r, id)
		who := drawPerson(t, r.permits[id], a)
		entries := len(r.entries)
		err := r.try(id, who, a)
		var no *Refusal
		if err != nil && !errors.As(err, &no) {
			t.Fatalf("%s = %v, want a refusal or nothing", a.Kind(), err)
		}
		if err != nil && (no.What == "" || no.Gate == "") {
			t.Fatalf("%s was refused without a word: %+v", a.Kind(), no)
		}
		if len(r.entries) > entries && slices.Contains(onward, a.Kind()) && r.behind > clockBehind {
			t.Fatalf("%s went through by a clock that was %s behind", a.Kind(), r.behind)
		}
		checkInvariants(t, before, r.permits[id], a)
		checkWork(t, r, id)
		checkTogether(t, r)
		if len(r.entries)%6 == 0 {
			checkNext(t, r, id)
		}
		seen[r.permits[id].State()]++
	}
	for _, e := range r.entries {
		kinds[e.Kind] = true
	}
	for id := range r.permits {
		checkHistory(t, r, id)
		checkLifted(t, r, id)
	}
	checkShip(t, r)
}

// moveClock puts the server's clock back now and then, and right again.
func moveClock(t *rapid.T, r *rig) {
	switch rapid.IntRange(0, 39).Draw(t, "clock") {
	case 0:
		r.behind = time.Duration(rapid.IntRange(1, 600).Draw(t, "minutes behind")) * time.Minute
	case 1, 2, 3, 4:
		r.behind = 0
	case 5, 6:
		if err := r.putClockRight(chief); (err == nil) != (r.behind == 0) && err == nil {
			t.Fatalf("the clock was put right and stands %s behind", r.behind)
		}
	}
}

// drawPerson draws mostly somebody who may do the act, and often somebody who may not.
func drawPerson(t *rapid.T, p Permit, a PermitAct) Person {
	if rapid.IntRange(0, 9).Draw(t, "right or wrong person") < 3 {
		return rapid.SampledFrom(everybody).Draw(t, "who")
	}
	switch a := a.(type) {
	case Extend, Resume, Issue, OfferWatch, Account, SanctionTest:
		if id := p.InHand(); id != "" {
			return personOf(id)
		}
	case TakeWatch:
		if o, ok := p.Offered(); ok {
			return personOf(o.To)
		}
	case UseBox, AskTest:
		if by := p.Accepted().By; by != "" {
			return personOf(by)
		}
	case TakeOwnLock:
		return personOf(a.Person)
	case OpenAtOnce:
		if o, ok := p.Opening(); ok {
			return personOf(o.By)
		}
	case AuthoriseChange, DropChange:
		if id := p.InHand(); id != "" {
			return personOf(id)
		}
	case Authorise, Cancel, OrderOpening, CountOut:
		return rapid.SampledFrom([]Person{olga, otto}).Draw(t, "officer")
	case CheckLock, CheckRestored, Look, SignLooks:
		return karim
	case SignOff:
		if on := p.SignedOn(); len(on) > 0 {
			return personOf(on[0])
		}
	case Accept:
		return ines
	case Countersign:
		return mara
	case SignOn:
		if len(p.SignedOn()) > 0 {
			return ines
		}
	case TakePost:
		if a.Post == isolation.Attendant {
			return karim
		}
		return second
	case LeavePost:
		if x, stands := p.AtPost(a.Post); stands {
			return personOf(x.By)
		}
	case GoIn, ComeOut:
		return karim
	case Inhibit, PutBack, ConsentDeviation:
		return olga
	case HandBack:
		if by := p.Accepted().By; by != "" {
			return personOf(by)
		}
	case AcceptDeviation, AnswerUnproved, ReleaseOwner, LeaveOut, Close:
		return chief
	case TakeWork:
		for _, x := range p.Shifts() {
			return personOf(x.To)
		}
	case RemoveLock:
		if l, ok := p.LockByTag(a.Tag); ok {
			return personOf(l.Owner)
		}
	case LiftLock:
		if l, ok := p.LockByTag(a.Tag); ok {
			return personOf(l.Owner)
		}
	}
	return tomas
}

func personOf(id PersonID) Person {
	return everybody[max(0, slices.IndexFunc(everybody, func(p Person) bool { return p.ID == id }))]
}

// drawAct draws mostly the act that comes next, so that histories get far, and often a wrong one.
func drawAct(t *rapid.T, r *rig, id PermitID) PermitAct {
	p := r.permits[id]
	if rapid.IntRange(0, 9).Draw(t, "right or wrong") < 8 {
		if a := nextAct(r, p); a != nil {
			return a
		}
	}
	return anyAct(t, r, p)
}

func nextAct(r *rig, p Permit) PermitAct {
	if on := p.SignedOn(); len(on) > 0 && p.State() != Live {
		if !r.ship.Emergency.IsZero() && len(r.entries)%2 == 0 {
			return CountOut{Person: on[0], Where: "station 2"}
		}
		return SignOff{}
	}
	if own := p.OwnLocks(); len(own) > 0 && p.State() != Live {
		return TakeOwnLock{Person: own[0].Person}
	}
	if !p.Emergency().IsZero() {
		return nextInFire(r, p)
	}
	if a := nextChange(r, p); a != nil {
		return a
	}
	switch p.State() {
	case Draft:
		return Authorise{Hours: p.MostHours(r.setting(olga, Extend{})), Tags: r.tags(p.ID()), Unproved: true}
	case Authorised, Isolating:
		if p.Under() != 0 {
			return Accept{ToolsOut: max(2, p.ToolsOut())}
		}
		if p.Has(KindAnswerUnproved) && p.NeedsAnswer() {
			return AnswerUnproved{}
		}
		if p.NeedsCountersign(r.setting(mara, Countersign{})) && p.Countersigned().IsZero() {
			return Countersign{}
		}
		for _, c := range p.FirstReadings(r.at) {
			return RecordStored{Check: c.Check.ID, Value: c.Check.Limit, Words: "read twice"}
		}
		for _, d := range p.FirstTests(r.at) {
			return RecordDead{Test: d.Test.ID, ProvedBefore: true, Dead: true, ProvedAfter: true, Words: "tested again"}
		}
		if _, ok := p.NextFit(); ok {
			return r.fit(p.ID())
		}
		return nextLook(r, p)
	case Proving:
		return nextProof(r, p)
	case Live:
		if a := nextInSpace(r, p); a != nil {
			return a
		}
		return nextAtWork(r, p)
	case Suspended:
		if _, changing := p.Changing(); changing && len(r.entries)%5 == 0 {
			return DropChange{Words: "not needed after all"}
		} else if changing {
			return r.authorises(p.ID())
		}
		if len(r.entries)%2 == 0 {
			return Resume{Short: true, Near: true, Untouched: true}
		}
		return Resume{}
	case Testing:
		return nextOfTest(p)
	case HandedBack, Restoring:
		added, due, _ := p.NextAdded()
		if due && (added.Before > 0 || len(p.Unseen()) == 0) {
			if len(r.entries)%7 == 0 {
				return LeaveOut{N: added.N, Words: "nothing was opened there"}
			}
			return RestoreStep{N: added.N}
		}
		if _, ok := p.NextRemove(); ok {
			return r.remove(p.ID())
		}
		for _, l := range p.Unseen() {
			return CheckRestored{N: l.Step.N}
		}
		return Close{Positions: true, Told: true}
	}
	return nil
}

// nextOfTest goes on with a test run.
func nextOfTest(p Permit) PermitAct {
	test, _ := p.Testing()
	l, more := p.NextLift()
	switch {
	case test.Sanctioned.IsZero():
		return SanctionTest{}
	case more:
		return LiftLock{Tag: l.Tag, Position: l.Step.Clearance}
	case test.Recorded.IsZero():
		return RecordTest{Words: "it runs the right way"}
	}
	return EndTest{Stopped: true}
}

// nextInSpace goes on with work at which somebody stands by: posts, detectors, people in and out.
func nextInSpace(r *rig, p Permit) PermitAct {
	if len(p.Posts()) == 0 {
		return nil
	}
	_, attended := p.AtPost(isolation.Attendant)
	_, watched := p.AtPost(isolation.FireWatch)
	in, on, was := len(p.Inside()), len(p.SignedOn()), len(p.crew)
	fresh := freshAir(r.setting(tomas, GoIn{}), p, "go in") == nil
	switch {
	case was == 0 && !attended:
		return TakePost{Post: isolation.Attendant}
	case was == 0 && !watched:
		return TakePost{Post: isolation.FireWatch}
	case was == 0 && len(p.inhibited) == 0:
		return Inhibit{What: "Detector 3", Means: "the fire watch looks"}
	case was < 2:
		return SignOn{}
	case len(p.entrants) == 0 && on > 1 && !fresh:
		for _, a := range p.Air() {
			if openAir(a, time.Time{}) != "" || r.at.Sub(a.Recorded.At) > 20*time.Minute {
				return r.air(p.ID(), a.Level)
			}
		}
	case len(p.entrants) == 0 && on > 1:
		return GoIn{People: p.SignedOn(), Meters: true}
	case in > 0:
		return ComeOut{People: p.Inside()}
	case on > 0:
		return SignOff{}
	}
	for _, x := range p.inhibited {
		if x.Back.IsZero() {
			return PutBack{N: x.N, Tried: true}
		}
	}
	if attended {
		return LeavePost{Post: isolation.Attendant}
	}
	if watched {
		return LeavePost{Post: isolation.FireWatch, Quiet: true}
	}
	return nil
}

func nextProof(r *rig, p Permit) PermitAct {
	for _, a := range p.Air() {
		if openAir(a, r.at) != "" {
			return r.air(p.ID(), a.Level)
		}
	}
	for _, d := range p.Drains() {
		if a := nextDrain(r, d); a != nil {
			return a
		}
	}
	for _, c := range p.Stored() {
		if openStored(c, time.Time{}) != "" && c.Check.Stored.Kind == isolation.KindMeasure {
			return AnswerMeasures{Checks: []string{c.Check.ID}}
		}
		if openStored(c, time.Time{}) != "" {
			return RecordStored{Check: c.Check.ID, Value: c.Check.Limit, Words: "read twice"}
		}
	}
	for _, d := range p.Dead() {
		if !d.OK {
			return RecordDead{Test: d.Test.ID, ProvedBefore: true, Dead: true, ProvedAfter: true, Words: "tested again"}
		}
	}
	switch {
	case !p.Start().OK:
		return RecordStart{Still: true, ControlsOff: true}
	case p.Proved().IsZero():
		return Prove{}
	case p.Issued().IsZero():
		return Issue{}
	}
	return Accept{ToolsOut: max(3, p.ToolsOut())}
}

// nextDrain records a section, now and then with half of what should come out: then somebody looks and accepts that,
// and where people go in another officer consents. It is nil when the section needs nothing.
func nextDrain(r *rig, d DrainState) PermitAct {
	turn := len(r.entries) % 4
	switch {
	case d.Recorded.IsZero() && turn == 0:
		a := drained(d.Section)
		a.Reading.OutL /= 2
		return a
	case d.Stale || d.Recorded.IsZero() || !d.Finding.OK && !d.Accepted && turn == 0:
		return drained(d.Section)
	case !d.Finding.OK && !d.Accepted:
		return AcceptDeviation{Section: d.Section.ID, Words: "seen to be dry by two of us"}
	case d.Accepted && d.Consented.IsZero() && turn > 1:
		return ConsentDeviation{Section: d.Section.ID}
	}
	return nil
}

func anyAct(t *rapid.T, r *rig, p Permit) PermitAct {
	n := rapid.IntRange(0, len(p.Locks())+1).Draw(t, "n")
	l, _ := p.Lock(n)
	yes := rapid.Bool().Draw(t, "yes")
	position := rapid.SampledFrom([]isolation.Position{isolation.Open, isolation.Closed}).Draw(t, "position")
	wrong := ""
	if !yes {
		wrong = "stands in the wrong position"
	}
	section := ""
	if d := p.Drains(); len(d) > 0 {
		section = d[0].Section.ID
	}
	return rapid.SampledFrom([]PermitAct{
		Authorise{Hours: 24, Tags: r.tags(p.ID()), Unproved: yes}, Extend{Hours: 24}, Extend{Hours: 1e-6}, Prove{},
		Issue{}, AnswerUnproved{}, Accept{}, SignOn{},
		SignOff{}, FitLock{Tag: l.Tag, Position: position, Padlock: "X1"}, r.fit(p.ID()), CheckLock{N: n}, CheckLock{N: n},
		Look{N: n}, Look{N: n}, Look{N: n}, signsLooks(p, karim.ID), signsLooks(p, karim.ID), signsLooks(p, tomas.ID),
		FindWrong{N: n, Words: "gone"}, SightTag{N: n, Point: l.Step.Point, Seen: AsFound, Tag: l.Tag},
		SightTag{N: n, Point: l.Step.Point, Seen: rapid.SampledFrom(Sights()).Draw(t, "sight")},
		RemoveLock{Tag: l.Tag, Position: position},
		HandBack{ToolsBack: 3, GuardsBack: yes}, CheckRestored{N: n, Wrong: wrong}, Close{Positions: true, Told: yes},
		Cancel{Words: "not needed any more"}, Cancel{Words: "not needed", ToolsBack: 3, GuardsBack: yes},
		Request{Plan: p.plan, Work: "again"}, RecordStart{Still: yes, ControlsOff: true},
		RecordDrain{Section: section, Reading: isolation.DrainReading{OutL: 1, HoldS: 600, HoldInL: 3}, Words: "tried again"},
		Suspend{Words: "general alarm"}, Resume{}, RestoreStep{N: n}, RestoreStep{N: n},
		LeaveOut{N: n, Words: "nothing was opened at all"},
		r.released(tomas), ReleaseOwner{Owner: tomas.ID},
		AcceptDeviation{Section: section, Words: "seen to be dry by two of us"},
		OfferWatch{To: rapid.SampledFrom(everybody).Draw(t, "oncoming").ID}, TakeWatch{}, TakeWatch{},
		OfferWork{To: rapid.SampledFrom([]PersonID{tomas.ID, ines.ID, both.ID, fitCrew.ID}).Draw(t, "next shift")},
		takesWork(t, p), takesWork(t, p),
		AskTest{Lifting: isolation.Lifting{Run: "motor", Steps: []int{n}}, ToolsBack: p.ToolsOut(), Closed: yes},
		Extend{Hours: 24}, Resume{Short: true, Near: yes, Untouched: yes}, SignOn{Lock: "X2"}, SignOff{LockOff: yes},
		r.boxes(p.ID()), UseBox{Box: "B1", Keys: n}, TakeOwnLock{Person: tomas.ID}, CountOut{Person: tomas.ID, Where: "deck"},
		OrderOpening{Steps: []int{n}, By: tomas.ID, Seen: karim.ID, Words: "fire pump"},
		Account{Hang: n, Words: "counted by two"},
		OpenAtOnce{Tag: l.Tag, Position: position}, StopForEmergency{Words: "fire"},
		r.grown(t, p), r.authorises(p.ID()), DropChange{Words: "no time"},
		SanctionTest{}, LiftLock{Tag: l.Tag, Position: position}, RecordTest{Words: "it ran"}, EndTest{Stopped: yes},
		TakePost{Post: isolation.Attendant}, LeavePost{Post: isolation.FireWatch, Quiet: yes},
		GoIn{People: []PersonID{tomas.ID, ines.ID}, Meters: yes}, ComeOut{People: p.Inside()}, PutBack{N: 1, Tried: yes},
		Inhibit{What: "Detector 4", Means: "a watch"}, r.air(p.ID(), "bottom"), badAir(r, p), Countersign{},
		ConsentDeviation{Section: section},
	}).Draw(t, "act")
}

// badAir is a test of the air that finds too little oxygen.
func badAir(r *rig, p Permit) RecordAir {
	a := r.air(p.ID(), "top")
	if len(a.Values) > 0 {
		a.Values[0].Value = 19
	}
	return a
}

// takesWork takes over what somebody hands over, mostly rightly counted.
func takesWork(t *rapid.T, p Permit) TakeWork {
	a := TakeWork{From: tomas.ID, Locks: rapid.IntRange(0, 1).Draw(t, "miscounted"), Tools: p.ToolsOut()}
	for _, x := range p.Shifts() {
		a.From = x.From
	}
	a.Locks += p.OwnedBy(a.From)
	return a
}

// signsLooks is the signature under what somebody has looked at.
func signsLooks(p Permit, who PersonID) SignLooks {
	var a SignLooks
	for _, l := range p.LooksOf(who) {
		a.Steps = append(a.Steps, l.Step.N)
	}
	return a
}
