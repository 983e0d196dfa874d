package office

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"stillwatch/isolation"
	"stillwatch/isolation/planner"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proof"
	"stillwatch/permits"
	"stillwatch/permits/register"
	"stillwatch/permits/shore/sender"
)

// ship is a register with people, a plant and a clock, and a sender to the shore.
type ship struct {
	*register.Register
	t    testing.TB
	name string
	dir  string
	plan proof.Proved
	mu   sync.Mutex
	now  time.Time
	n    int // permits
}

const testPIN = "480215"

// clock goes on by a second whenever it is read.
func (s *ship) clock() time.Time {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.now = s.now.Add(time.Second)
	return s.now
}

func (s *ship) wait(d time.Duration) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.now = s.now.Add(d)
}

func tinyPlant(t testing.TB) *isolation.Plant {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "plants", "tiny.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	plant, err := plantfile.Read("tiny.yaml", text)
	if err != nil {
		t.Fatal(err)
	}
	return plant
}

// newShip opens an empty register and puts people and a plant into it.
func newShip(t testing.TB, name string) *ship {
	t.Helper()
	s := &ship{t: t, name: name, dir: t.TempDir(), now: time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)}
	s.open()
	t.Cleanup(func() { s.Close() })
	s.man(tinyPlant(t))
	return s
}

func (s *ship) open() {
	s.t.Helper()
	reg, err := register.Open(context.Background(), s.dir, register.Options{Now: s.clock,
		Logger: slog.New(slog.DiscardHandler), Argon: register.Argon{MemoryKiB: 8, Iterations: 1, Parallelism: 1}})
	if err != nil {
		s.t.Fatal(err)
	}
	s.Register = reg
}

func (s *ship) man(plant *isolation.Plant) {
	s.t.Helper()
	ctx := context.Background()
	err := s.FirstRun(ctx, permits.Person{ID: "chief", Name: "Chief", Roles: []permits.Role{permits.ChiefEngineer}},
		testPIN)
	for id, role := range map[permits.PersonID]permits.Role{"oow": permits.Officer, "fitter": permits.Technician,
		"mate": permits.Technician} {
		err = errors.Join(err, s.AddPerson(ctx, register.AddPersonDoing{ID: s.NewActID(), By: "chief", PIN: testPIN,
			Person: permits.Person{ID: id, Name: string(id), Roles: []permits.Role{role}}, New: "730514"}))
		_, own := s.SetPIN(ctx, register.SetPINDoing{ID: s.NewActID(), By: id, ByPIN: "730514", Person: id, New: testPIN})
		err = errors.Join(err, own)
	}
	if err != nil {
		s.t.Fatal(err)
	}
	file := permits.AdoptPlant{Name: "tiny.yaml", SHA256: plant.SHA256, Text: string(plant.Text)}
	s.do(0, file.Proposal(), "oow")
	s.do(0, file, "chief")
	plan, err := planner.Make(plant, s.Rules(), "P1-seal", isolation.Circumstances{})
	if err == nil {
		s.plan, err = proof.Prove(plant, s.Rules(), plan, isolation.Circumstances{})
	}
	if err != nil {
		s.t.Fatal(err)
	}
}

// try does an act, which may be refused.
func (s *ship) try(id permits.PermitID, act permits.Act, by permits.PersonID) (permits.Permit, error) {
	got, err := s.Do(context.Background(), register.Doing{ID: s.NewActID(), Permit: id, Act: act, By: by, PIN: testPIN})
	return got.Permit, err
}

func (s *ship) do(id permits.PermitID, act permits.Act, by permits.PersonID) permits.Permit {
	s.t.Helper()
	p, err := s.try(id, act, by)
	if err != nil {
		s.t.Fatalf("%s: %T = %v", s.name, act, err)
	}
	return p
}

// works walks one permit from its request to the work, and with over to its end: some forty entries, one of them
// refused.
func (s *ship) works(over bool) {
	s.t.Helper()
	s.n++
	s.wait(3 * time.Hour)
	p := s.do(0, permits.Request{Plan: s.plan, Work: "Renew the shaft seal"}, "fitter")
	id := p.ID()
	if _, err := s.try(id, permits.Authorise{Hours: 12}, "fitter"); err == nil {
		s.t.Fatal("a fitter authorised")
	}
	p = s.do(id, permits.Authorise{Hours: 12}, "oow")
	for _, l := range p.Locks() {
		fit := permits.FitLock{Tag: l.Tag, Position: l.Step.Position}
		if l.Step.Lock {
			fit.Padlock = permits.Padlock(fmt.Sprintf("L%d-%d", id, l.Step.N))
		}
		s.do(id, fit, "fitter")
	}
	for _, l := range p.Locks() {
		p = s.do(id, permits.CheckLock{N: l.Step.N}, "mate")
	}
	s.wait(20 * time.Minute)
	for i, d := range p.Drains() {
		p = s.do(id, permits.RecordDrain{Section: d.Section.ID, Reading: isolation.DrainReading{OutL: d.Section.OutL,
			HoldS: 600, TempC: 30}}, "fitter")
		if !p.Drains()[i].Finding.OK {
			p = s.do(id, permits.AcceptDeviation{Section: d.Section.ID, Words: "opened by hand and seen to be empty"}, "chief")
		}
	}
	for _, d := range p.Dead() {
		s.do(id, permits.RecordDead{Test: d.Test.ID, ProvedBefore: true, Dead: true, ProvedAfter: true}, "fitter")
	}
	s.do(id, permits.RecordStart{Still: true, ControlsOff: true}, "fitter")
	s.do(id, permits.Prove{}, "fitter")
	s.do(id, permits.Issue{}, "chief")
	s.do(id, permits.Accept{ToolsOut: 4}, "mate")
	for range 4 {
		s.do(id, permits.SignOn{}, "mate")
		p = s.do(id, permits.SignOff{}, "mate")
	}
	if over {
		s.ends(p)
	}
}

// ends takes a permit to its end.
func (s *ship) ends(p permits.Permit) {
	s.t.Helper()
	id := p.ID()
	p = s.do(id, permits.HandBack{ToolsBack: 4, GuardsBack: true}, "mate")
	between := func() {
		for a, due, _ := p.NextAdded(); due; a, due, _ = p.NextAdded() {
			p = s.do(id, permits.RestoreStep{N: a.N}, "fitter")
		}
	}
	for l, on := p.NextRemove(); on; l, on = p.NextRemove() {
		between()
		s.do(id, permits.RemoveLock{Tag: l.Tag, Position: l.Step.Clearance}, "fitter")
		p = s.do(id, permits.CheckRestored{N: l.Step.N}, "mate")
		between()
	}
	between()
	s.do(id, permits.Close{Positions: true, Told: true}, "chief")
}

// to makes a sender to a shore.
func (s *ship) to(address string, most register.Bounds) *sender.Sender {
	s.t.Helper()
	out, err := sender.New(context.Background(), s.Register, address, sender.Options{Every: 20 * time.Millisecond,
		Most:   most,
		Logger: slog.New(slog.DiscardHandler)})
	if err != nil {
		s.t.Fatal(err)
	}
	return out
}

// enrolled enrols the ship and returns its sender.
func (s *ship) enrolled(a *ashore) *sender.Sender {
	s.t.Helper()
	code, err := a.NewCode(context.Background(), s.name, false)
	if err != nil {
		s.t.Fatal(err)
	}
	if _, err := s.client(a.site.URL).Enrol(context.Background(), code); err != nil {
		s.t.Fatal(err)
	}
	return s.to(a.site.URL, register.Bounds{Entries: 25, Bytes: 1 << 20})
}

func (s *ship) client(address string) *sender.Client {
	s.t.Helper()
	c, err := sender.NewClient(address, s.Register)
	if err != nil {
		s.t.Fatal(err)
	}
	return c
}

// all sends until there is no more.
func all(t testing.TB, s *sender.Sender) {
	t.Helper()
	for {
		more, err := s.Once(context.Background())
		if err != nil {
			t.Fatalf("Once() = %v", err)
		}
		if !more {
			return
		}
	}
}

// time48 is two days: what is authorised has run out by then.
const time48 = 48 * time.Hour
