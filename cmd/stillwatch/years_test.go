package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"stillwatch/isolation"
	"stillwatch/isolation/planner"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proof"
	"stillwatch/permits"
	"stillwatch/permits/register"
)

// years fills a register as a ship fills it in the course of years: time and again each of its pumps is taken in hand,
// by a fitter and a mate of its own. It only knows what every caller of the register knows, Do and SignIn, so it needs
// nothing of how the register keeps its rows, and the log passes its verification. Two things make a million entries
// take minutes and not hours: a PIN's hash is made cheap, and the permits of one round are walked all at once, so that
// their acts share commits.
type years struct {
	t     testing.TB
	reg   *register.Register
	clock yearsClock
	plans []proof.Proved
}

// Between two entries lie four minutes on average: a million of them are seven and a half years, and a round comes
// every three days. The last permits begin yearsRest ago and run for yearsHours, so that they have time left when they
// are looked at.
const (
	yearsPumps = 20
	yearsApart = 4 * time.Minute
	yearsRest  = time.Hour
	yearsHours = 12
	yearsGoes  = 12 // how many times a permit's mate goes to the work
)

// The heads of the tiny plant's lists, and what it gives names to.
var (
	tinyLists = regexp.MustCompile(`(?m)^(nodes|links|machines|jobs):\n`)
	tinyNames = regexp.MustCompile(`\b(board|Q1|motor|tank-a|V1|pump|V2|tank-b|D1|A1|P1)\b`)
)

// yearsPlant is the tiny plant as many times as there are pumps, side by side: 200 nodes, about what a ship has. The
// names of the first end in -0.
func yearsPlant(t testing.TB) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "plants", "tiny.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	heads, lists := tinyLists.FindAllString(string(text), -1), tinyLists.Split(string(text), -1)
	var b strings.Builder
	b.WriteString(lists[0])
	for i, head := range heads {
		b.WriteString(head)
		for pump := range yearsPumps {
			b.WriteString(tinyNames.ReplaceAllString(lists[i+1], "$1-"+strconv.Itoa(pump)))
		}
	}
	return b.String()
}

// yearsClock is the ship's clock. It stands between two rounds, and goes on by a millisecond whenever it is read: no
// two acts happen at once.
type yearsClock struct{ us atomic.Int64 }

// Now returns the ship's time.
func (c *yearsClock) Now() time.Time { return time.UnixMicro(c.us.Add(1000)) }

func (c *yearsClock) wait(d time.Duration) { c.us.Add(d.Microseconds()) }

func (c *yearsClock) set(at time.Time) { c.us.Store(max(c.us.Load(), at.UnixMicro())) }

func fitterAt(pump int) permits.PersonID { return permits.PersonID(fmt.Sprint("fitter-", pump)) }

func mateAt(pump int) permits.PersonID { return permits.PersonID(fmt.Sprint("mate-", pump)) }

// openYears opens the register in a folder, with a clock that stands so long ago as so many entries take.
func openYears(t testing.TB, dir string, entries int64) *years {
	y := &years{t: t}
	y.clock.set(time.Now().Add(-yearsRest - time.Duration(entries)*yearsApart))
	reg, err := register.Open(context.Background(), dir, register.Options{Now: y.clock.Now,
		Logger: slog.New(slog.DiscardHandler),
		Argon:  register.Argon{MemoryKiB: 8, Iterations: 1, Parallelism: 1}})
	if err != nil {
		t.Fatal(err)
	}
	y.reg = reg
	return y
}

// man puts the crew on the books and the plant in force, and makes the plan of every pump.
func (y *years) man() {
	y.t.Helper()
	ctx := context.Background()
	chief := permits.Person{ID: "chief", Name: "Chief", Roles: []permits.Role{permits.ChiefEngineer}}
	err := y.reg.FirstRun(ctx, chief, loadPIN)
	add := func(id permits.PersonID, role permits.Role) {
		err = errors.Join(err, y.reg.AddPerson(ctx, register.AddPersonDoing{ID: y.reg.NewActID(), By: chief.ID, PIN: loadPIN,
			Person: permits.Person{ID: id, Name: string(id), Roles: []permits.Role{role}}, New: loadFirstPIN}))
		_, own := y.reg.SetPIN(ctx, register.SetPINDoing{ID: y.reg.NewActID(), By: id, ByPIN: loadFirstPIN, Person: id,
			New: loadPIN})
		err = errors.Join(err, own)
	}
	add("oow", permits.Officer)
	for i := range yearsPumps {
		add(fitterAt(i), permits.Technician)
		add(mateAt(i), permits.Technician)
	}
	text := yearsPlant(y.t)
	plant, readErr := plantfile.Read("twenty.yaml", []byte(text))
	if err = errors.Join(err, readErr); err != nil {
		y.t.Fatal(err)
	}
	file := permits.AdoptPlant{Name: "twenty.yaml", SHA256: plant.SHA256, Text: text}
	_, err = y.reg.Do(ctx, register.Doing{ID: y.reg.NewActID(), Act: file.Proposal(), By: "oow", PIN: loadPIN})
	if err != nil {
		y.t.Fatal(err)
	}
	if _, err := y.reg.Do(ctx, register.Doing{ID: y.reg.NewActID(), Act: file, By: chief.ID, PIN: loadPIN}); err != nil {
		y.t.Fatal(err)
	}
	for i := range yearsPumps {
		plan, err := planner.Make(plant, y.reg.Rules(), fmt.Sprintf("P1-%d-seal", i), isolation.Circumstances{})
		if err != nil {
			y.t.Fatal(err)
		}
		proved, err := proof.Prove(plant, y.reg.Rules(), plan, isolation.Circumstances{})
		if err != nil {
			y.t.Fatal(err)
		}
		y.plans = append(y.plans, proved)
	}
}

// fill goes on round by round until there are this many entries; then comes one more, whose permits stay at work.
func (y *years) fill(entries int64) {
	y.t.Helper()
	y.man()
	for over := false; !over; {
		left := max(0, entries-y.reg.Head().Size)
		over = left == 0
		y.clock.set(time.Now().Add(-yearsRest - time.Duration(left)*yearsApart))
		y.round(over)
	}
}

// round walks a permit of every pump to its end, or only to the work.
func (y *years) round(stay bool) {
	y.t.Helper()
	all := make([]*job, yearsPumps)
	for i := range all {
		all[i] = &job{y: y, pump: i}
	}
	each(all, (*job).isolate)
	y.clock.wait(20 * time.Minute) // nobody holds a drain for longer than it has been open
	each(all, (*job).work)
	if !stay {
		each(all, (*job).restore)
	}
	for _, j := range all {
		if j.failed != nil {
			y.t.Fatalf("permit %d: %v", j.p.ID(), j.failed)
		}
	}
}

// each does the same with every permit of a round at once.
func each(jobs []*job, f func(*job)) {
	var all sync.WaitGroup
	for _, j := range jobs {
		all.Go(func() { f(j) })
	}
	all.Wait()
}

// job is one permit on its way.
type job struct {
	y      *years
	pump   int
	p      permits.Permit
	failed error
}

// do does one act; after the first that fails none is done any more.
func (j *job) do(act permits.PermitAct, by permits.PersonID) {
	if j.failed != nil {
		return
	}
	got, err := j.y.reg.Do(context.Background(), register.Doing{ID: j.y.reg.NewActID(), Permit: j.p.ID(), Act: act, By: by,
		PIN: loadPIN})
	if j.failed = err; err == nil {
		j.p = got.Permit
	}
}

// isolate brings the permit from its request to the last lock that was looked at.
func (j *job) isolate() {
	fitter := fitterAt(j.pump)
	j.do(permits.Request{Plan: j.y.plans[j.pump], Work: "Renew the shaft seal"}, fitter)
	j.do(permits.Authorise{Hours: yearsHours}, "oow")
	for _, l := range j.p.Locks() {
		fit := permits.FitLock{Tag: l.Tag, Position: l.Step.Position}
		if l.Step.Lock {
			fit.Padlock = permits.Padlock(fmt.Sprintf("L%d-%d", j.p.ID(), l.Step.N))
		}
		j.do(fit, fitter)
	}
	for _, l := range j.p.Locks() {
		j.do(permits.CheckLock{N: l.Step.N}, mateAt(j.pump))
	}
}

// work proves the isolation and lets the mate go to the work again and again, signing in on a phone each time.
func (j *job) work() {
	fitter, mate := fitterAt(j.pump), mateAt(j.pump)
	for i, d := range j.p.Drains() {
		j.do(permits.RecordDrain{Section: d.Section.ID, Reading: isolation.DrainReading{OutL: d.Section.OutL, HoldS: 600,
			TempC: 30}}, fitter)
		if j.failed == nil && !j.p.Drains()[i].Finding.OK {
			j.do(permits.AcceptDeviation{Section: d.Section.ID, Words: "opened by hand and seen to be empty"}, "chief")
		}
	}
	for _, d := range j.p.Dead() {
		j.do(permits.RecordDead{Test: d.Test.ID, ProvedBefore: true, Dead: true, ProvedAfter: true}, fitter)
	}
	j.do(permits.RecordStart{Still: true, ControlsOff: true}, fitter)
	j.do(permits.Prove{}, fitter)
	j.do(permits.Issue{}, "chief")
	j.do(permits.Accept{ToolsOut: 4}, mate)
	for range yearsGoes {
		if j.failed == nil {
			_, j.failed = j.y.reg.SignIn(context.Background(), mate, loadPIN, register.Origin{Address: "phone"})
		}
		j.do(permits.SignOn{}, mate)
		j.do(permits.SignOff{}, mate)
	}
}

// restore takes the permit to its end.
func (j *job) restore() {
	fitter := fitterAt(j.pump)
	j.do(permits.HandBack{ToolsBack: 4, GuardsBack: true}, mateAt(j.pump))
	for l, on := j.p.NextRemove(); on && j.failed == nil; l, on = j.p.NextRemove() {
		j.between()
		j.do(permits.RemoveLock{Tag: l.Tag, Position: l.Step.Clearance}, fitter)
		j.do(permits.CheckRestored{N: l.Step.N}, mateAt(j.pump))
	}
	j.between()
	j.do(permits.Close{Positions: true, Told: true}, "chief")
	if j.failed == nil && j.p.State() != permits.Closed {
		j.failed = errors.New("the permit did not close")
	}
}

// between does what comes before the next lock, or after the last.
func (j *job) between() {
	for a, due, _ := j.p.NextAdded(); due && j.failed == nil; a, due, _ = j.p.NextAdded() {
		j.do(permits.RestoreStep{N: a.N}, fitterAt(j.pump))
	}
}
