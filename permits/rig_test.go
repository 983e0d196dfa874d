package permits

import (
	"errors"
	"maps"
	"os"
	"slices"
	"strings"
	"sync"
	"time"

	"stillwatch/isolation"
	"stillwatch/isolation/planner"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proof"
	"stillwatch/isolation/proved"
)

// The people of these tests. Each is a competent person with one role, as aboard a small ship.
var (
	olga  = Person{ID: "olga", Name: "Olga", Roles: []Role{Officer}}
	tomas = Person{ID: "tomas", Name: "Tomas", Roles: []Role{Technician}}
	ines  = Person{ID: "ines", Name: "Ines", Roles: []Role{Technician}}
	karim = Person{ID: "karim", Name: "Karim", Roles: []Role{Crew}}
	chief = Person{ID: "chief", Name: "Chief", Roles: []Role{ChiefEngineer}}
	vera  = Person{ID: "vera", Name: "Vera", Roles: []Role{Visitor}}
)

// tester is what a rig needs of a test, whether it is Go's own or a property test's.
type tester interface {
	Helper()
	Fatal(args ...any)
	Fatalf(format string, args ...any)
}

// rig is a ship with one plant, on which a test acts. It keeps the entries, as the register would.
type rig struct {
	tb      tester
	plant   *isolation.Plant
	rules   *isolation.Rules
	ship    Ship
	at      time.Time
	pace    time.Duration // how long an act takes
	behind  time.Duration // how far the server's clock stands behind the log
	permits map[PermitID]Permit
	entries []Entry
	uses    Uses
}

// tinyPlant and sealPlan are read and computed once: thousands of random histories begin with them.
var (
	tinyPlant = sync.OnceValues(func() (*isolation.Plant, error) {
		text, err := os.ReadFile("../testdata/plants/tiny.yaml")
		if err != nil {
			return nil, err
		}
		return plantfile.Read("tiny.yaml", text)
	})
	sealPlan = sync.OnceValues(func() (proof.Proved, error) {
		plant, err := tinyPlant()
		if err != nil {
			return proof.Proved{}, err
		}
		plan, err := planner.Make(plant, plantfile.ShippedRules(), "P1-seal", isolation.Circumstances{})
		if err != nil {
			return proof.Proved{}, err
		}
		return proof.Prove(plant, plantfile.ShippedRules(), plan, isolation.Circumstances{})
	})
)

// richPlan is the plan of the same job on a machine with a rotor and with a part that keeps its current: a step waits
// for a reading, and somebody answers for what is not proved. It is computed once.
var richPlan = sync.OnceValues(func() (proved richProved, err error) {
	text, err := os.ReadFile("../testdata/plants/tiny.yaml")
	if err != nil {
		return proved, err
	}
	text = []byte(strings.NewReplacer(
		"nodes:\n", "nodes:\n  - {id: light, kind: consumer, name: Lamp in the pump}\n"+
			"  - {id: E1, kind: earth, name: Earth at the motor}\n",
		"links:\n", "links:\n  - {a: board, b: light}\n  - {a: motor, b: E1}\n", "volt: 440", "volt: 440, earthed: true",
		"nodes: [pump, motor]", "nodes: [pump, motor, light], stored: [{kind: rotation, name: Rotor, speed_rpm: 1500, "+
			"coast_down_s: 300}]",
		"exposure: open}", "exposure: open, live: [{id: light, because: It is double insulated}]}").Replace(string(text)))
	if proved.plant, err = plantfile.Read("rich.yaml", text); err != nil {
		return proved, err
	}
	plan, err := planner.Make(proved.plant, plantfile.ShippedRules(), "P1-seal", isolation.Circumstances{})
	if err != nil {
		return proved, err
	}
	proved.plan, err = proof.Prove(proved.plant, plantfile.ShippedRules(), plan, isolation.Circumstances{})
	return proved, err
})

type richProved struct {
	plant *isolation.Plant
	plan  proof.Proved
}

// rich puts the plant of richPlan in force and returns its plan.
func (r *rig) rich() proof.Proved {
	r.tb.Helper()
	p, err := richPlan()
	if err != nil {
		r.tb.Fatal(err)
	}
	if len(p.plan.Plan().Unproved) == 0 || len(p.plan.Plan().Stored) == 0 {
		r.tb.Fatal("the rich plan proves everything, or nothing stays in the machine")
	}
	r.plant, r.ship.PlantSHA256 = p.plant, p.plant.SHA256
	return p.plan
}

func newRig(tb tester) *rig {
	tb.Helper()
	plant, err := tinyPlant()
	if err != nil {
		tb.Fatal(err)
	}
	r := &rig{tb: tb, plant: plant, rules: plantfile.ShippedRules(), at: time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC),
		pace: 4 * time.Minute, permits: map[PermitID]Permit{}}
	r.ship = Ship{PlantSHA256: plant.SHA256, RulesSHA256: r.rules.SHA256, People: map[PersonID]Person{}}
	for _, p := range []Person{olga, tomas, ines, karim, chief, vera} {
		r.ship.People[p.ID] = p
	}
	return r
}

func (r *rig) plan() proof.Proved {
	r.tb.Helper()
	proved, err := sealPlan()
	if err != nil {
		r.tb.Fatal(err)
	}
	return proved
}

func (r *rig) setting(who Person, act Act) Setting {
	s := Setting{At: r.at, Clock: r.at.Add(-r.behind), By: who, Ship: r.ship, Plant: r.plant, Rules: r.rules,
		Judge: Judges()[len(Judges())-1],
		Next:  PermitID(len(r.permits) + 1), Uses: r.uses, Open: map[PermitID]*Permit{}}
	for id, p := range r.permits {
		s.Held = s.Held.With(id, p.Holdings())
		if id != 0 && !p.state.IsOver() {
			s.Open[id] = &p
		}
	}
	if act.Kind().IsSigned() {
		s.Signed = Signature{by: who, at: r.at}
	}
	return s
}

// try acts and returns the refusal, if any. Time goes on by the rig's pace with every act.
func (r *rig) try(id PermitID, who Person, a PermitAct) error {
	if r.behind == 0 {
		r.at = r.at.Add(r.pace)
	}
	s := r.setting(who, a)
	if id == 0 {
		id = s.Next
	}
	e, err := Decide(s, r.permits[id], a)
	if err != nil {
		return err
	}
	e.N = int64(len(r.entries))
	r.entries = append(r.entries, e)
	r.permits[id] = Apply(r.permits[id], e)
	r.ship = ApplyShip(r.ship, e)
	if a.Kind().IsUse() {
		r.uses = r.uses.With(r.permits[id].Plan().Job, e.By, e.At)
	}
	r.follow(s, e)
	return nil
}

func (r *rig) must(id PermitID, who Person, a PermitAct) {
	r.tb.Helper()
	if err := r.try(id, who, a); err != nil {
		r.tb.Fatalf("%s by %s: %v", a.Kind(), who, err)
	}
}

// refuses checks that a gate refuses the act, and that nothing changed.
func (r *rig) refuses(id PermitID, who Person, a PermitAct, gate string) {
	r.tb.Helper()
	before := len(r.entries)
	err := r.try(id, who, a)
	var no *Refusal
	switch {
	case err == nil:
		r.tb.Fatalf("%s by %s went through, want a refusal by gate %q", a.Kind(), who, gate)
	case !errors.As(err, &no):
		r.tb.Fatalf("%s by %s = %v, want a refusal", a.Kind(), who, err)
	case no.Gate != gate:
		r.tb.Fatalf("%s by %s refused by gate %q (%v), want gate %q", a.Kind(), who, no.Gate, no, gate)
	case len(r.entries) != before:
		r.tb.Fatalf("a refused %s left an entry", a.Kind())
	}
}

// putClockRight says that the clock, which stands behind the log, is right, as the register does it.
func (r *rig) putClockRight(who Person) error {
	a := PutClockRight{Words: "Compared with the bridge's clock"}
	s := r.setting(who, a)
	e, err := DecideShip(s, a)
	if err != nil {
		return err
	}
	e.N = int64(len(r.entries))
	r.entries = append(r.entries, e)
	r.at, r.behind = r.at.Add(-r.behind), 0
	r.follow(s, e)
	return nil
}

// aboard does an act that concerns the whole ship, and what follows from it.
func (r *rig) aboard(who Person, a ShipAct) {
	r.tb.Helper()
	if err := r.tryAboard(who, a); err != nil {
		r.tb.Fatalf("%s by %s: %v", a.Kind(), who, err)
	}
}

// tryAboard is aboard, and returns the refusal.
func (r *rig) tryAboard(who Person, a ShipAct) error {
	r.tb.Helper()
	s := r.setting(who, a)
	e, err := DecideShip(s, a)
	if err != nil {
		return err
	}
	e.N = int64(len(r.entries))
	r.entries = append(r.entries, e)
	r.ship = ApplyShip(r.ship, e)
	r.follow(s, e)
	return nil
}

// follow does to every open permit what follows from an entry, then what follows from that.
func (r *rig) follow(s Setting, e Entry) {
	r.tb.Helper()
	var then []Entry
	for _, id := range slices.Sorted(maps.Keys(r.permits)) {
		if r.permits[id].state.IsOver() {
			continue
		}
		act, follows := FollowsFrom(e, r.permits[id])
		if !follows {
			continue
		}
		s := r.setting(s.By, act)
		s.At, s.Signed = e.At, Signature{}
		next, err := Decide(s, r.permits[id], act)
		if err != nil {
			r.tb.Fatalf("%s does not follow from %s: %v", act.Kind(), e.Kind, err)
		}
		next.N = int64(len(r.entries))
		r.entries = append(r.entries, next)
		r.permits[id] = Apply(r.permits[id], next)
		then = append(then, next)
	}
	for _, e := range then {
		r.follow(s, e)
	}
}

// hear has an owner confirm that their locks were released.
func (r *rig) hear(owner Person) {
	r.tb.Helper()
	if err := r.tryAboard(owner, HearRelease{}); err != nil {
		r.tb.Fatalf("%s confirms = %v", owner, err)
	}
}

// handOver brings a permit from one officer's hands into another's.
func (r *rig) handOver(id PermitID, from, to Person) {
	r.tb.Helper()
	r.ship.People[to.ID] = to
	r.must(id, from, OfferWatch{To: to.ID})
	r.must(id, to, TakeWatch{})
}

// tags returns one made-up digest a step.
func (r *rig) tags(id PermitID) []TagDigest {
	var out []TagDigest
	for _, l := range r.permits[id].Locks() {
		out = append(out, TagDigest("permit-"+itoa(int(id))+"-tag-"+itoa(l.Step.N)))
	}
	return out
}

// fit returns the right act for the step that is fitted next.
func (r *rig) fit(id PermitID) FitLock {
	l, _ := r.permits[id].NextFit()
	a := FitLock{Tag: l.Tag, Position: l.Step.Position, How: "typed", Label: r.ship.Labels[l.Step.Point],
		MeasureDone: true, NoPressure: true}
	if l.Step.Lock {
		a.Padlock = Padlock("P" + itoa(int(id)) + "-" + itoa(l.Step.N))
	}
	return a
}

// remove returns the right act for the step that comes off next.
func (r *rig) remove(id PermitID) RemoveLock {
	l, _ := r.permits[id].NextRemove()
	left, _ := r.permits[id].LeaveAt(r.setting(tomas, RemoveLock{}).Held, l)
	return RemoveLock{Tag: l.Tag, Position: left}
}

// drained returns a record of a section that the program must find drained.
func drained(s isolation.Section) RecordDrain {
	return RecordDrain{Section: s.ID, Reading: isolation.DrainReading{OutL: s.OutL, HoldS: 900, TempC: s.TempC},
		Into: "drain tank", Words: "drain cleared, let stand again"}
}

// begin walks a new permit by this plan to where its first lock may be fitted.
func (r *rig) begin(plan proof.Proved) PermitID {
	r.tb.Helper()
	r.must(0, tomas, Request{Plan: plan, Work: "Shaft seal leaks"})
	id := PermitID(len(r.permits))
	r.must(id, olga, Authorise{Hours: 12, Tags: r.tags(id)})
	return id
}

// released is a release of somebody's locks that says all that is asked.
func (r *rig) released(owner Person) ReleaseOwner {
	return ReleaseOwner{Owner: owner.ID, Verified: true, Tried: true, WillTell: true, Aboard: true,
		Absence: Effort{By: karim.ID, At: r.at, How: "asleep in the cabin after the night watch"},
		Call:    Effort{By: karim.ID, At: r.at, How: "cabin telephone not answered"},
		Telling: Effort{By: olga.ID, How: "when called for the watch"}}
}

// beginUngated is begin by a plan of which no step waits for a reading: for tests of what is read when all hangs.
func (r *rig) beginUngated(plan proof.Proved) PermitID {
	r.tb.Helper()
	id := r.begin(plan)
	p := r.permits[id].clone()
	for i := range p.locks {
		p.locks[i].Step.First = nil
	}
	r.permits[id] = p
	return id
}

// untilAuthorised is begin by the plan that most tests use.
func (r *rig) untilAuthorised() PermitID {
	r.tb.Helper()
	return r.begin(r.plan())
}

// untilProving walks a new permit up to the proof.
func (r *rig) untilProving() PermitID {
	r.tb.Helper()
	id := r.untilAuthorised()
	for range r.permits[id].Locks() {
		r.must(id, tomas, r.fit(id))
	}
	r.check(id)
	return id
}

// check has a second person look at every lock that wants it.
func (r *rig) check(id PermitID) {
	r.tb.Helper()
	for _, l := range r.permits[id].Unchecked() {
		r.must(id, karim, CheckLock{N: l.Step.N})
	}
}

// between does what comes before the next lock, or what remains when every lock is off.
func (r *rig) between(id PermitID) {
	r.tb.Helper()
	for {
		a, due, _ := r.permits[id].NextAdded()
		if !due {
			return
		}
		if r.permits[id].HeldBack(r.setting(chief, LeaveOut{}), a) != nil {
			r.must(id, chief, LeaveOut{N: a.N, Words: "another permit holds the point"})
			continue
		}
		r.must(id, tomas, RestoreStep{N: a.N})
	}
}

// takeOff takes every lock off in its turn, with what is done between them, and has every point seen and the trial run.
func (r *rig) takeOff(id PermitID) {
	r.tb.Helper()
	for {
		if _, on := r.permits[id].NextRemove(); !on {
			break
		}
		r.between(id)
		r.must(id, tomas, r.remove(id))
	}
	r.see(id)
	r.between(id)
}

// see has a second person look at every point whose lock came off.
func (r *rig) see(id PermitID) {
	r.tb.Helper()
	for _, l := range r.permits[id].Unseen() {
		r.must(id, karim, CheckRestored{N: l.Step.N})
	}
}

// record records everything that the proof needs.
func (r *rig) record(id PermitID) {
	r.tb.Helper()
	r.hold(id)
	for _, d := range r.permits[id].Drains() {
		r.must(id, tomas, drained(d.Section))
	}
	for _, s := range r.permits[id].Stored() {
		r.must(id, tomas, RecordStored{Check: s.Check.ID, Value: s.Check.Limit, Words: "waited and read again"})
	}
	for _, d := range r.permits[id].Dead() {
		r.must(id, tomas, RecordDead{Test: d.Test.ID, ProvedBefore: true, Dead: true, ProvedAfter: true,
			Words: "second breaker found and opened"})
	}
	r.must(id, tomas, RecordStart{Still: true, ControlsOff: true})
}

// issue has the officer see that the measures are in place.
func (r *rig) issue(id PermitID) {
	r.tb.Helper()
	r.must(id, olga, Issue{})
}

// untilLive walks a new permit to the work.
func (r *rig) untilLive() PermitID {
	r.tb.Helper()
	id := r.untilProving()
	r.record(id)
	r.must(id, tomas, Prove{})
	r.issue(id)
	r.must(id, ines, Accept{ToolsOut: 12})
	r.must(id, tomas, SignOn{})
	return id
}

// untilTesting walks a new permit to where the test run of its motor is asked for.
func (r *rig) untilTesting() PermitID {
	r.tb.Helper()
	id := r.untilLive()
	r.must(id, tomas, SignOff{})
	r.must(id, ines, r.asks(id))
	return id
}

// asks is the wish to run the motor for a test, rightly filled in.
func (r *rig) asks(id PermitID) AskTest {
	r.tb.Helper()
	l, err := proved.Lift(r.plant, r.permits[id].Plan(), "motor")
	if err != nil {
		r.tb.Fatal(err)
	}
	return AskTest{Lifting: l, ToolsBack: r.permits[id].ToolsOut(), Closed: true}
}

// lift sanctions a test and takes off all that it needs off.
func (r *rig) lift(id PermitID) {
	r.tb.Helper()
	r.must(id, olga, SanctionTest{})
	for {
		l, more := r.permits[id].NextLift()
		if !more {
			return
		}
		r.must(id, tomas, LiftLock{Tag: l.Tag, Position: l.Step.Clearance})
	}
}

// untilHandedBack walks a new permit through the work.
func (r *rig) untilHandedBack() PermitID {
	r.tb.Helper()
	id := r.untilLive()
	r.must(id, tomas, SignOff{})
	r.must(id, ines, HandBack{ToolsBack: 12, GuardsBack: true})
	return id
}

// Fold returns the permit that these entries make, which must be one permit's, in the order of the log.
func Fold(entries []Entry) Permit {
	var p Permit
	for _, e := range entries {
		Advance(&p, e)
	}
	return p
}
