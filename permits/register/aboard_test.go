package register

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"log/slog"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"gorm.io/driver/sqlite"
	"gorm.io/gorm"
	"gorm.io/gorm/logger"

	"stillwatch/isolation"
	"stillwatch/isolation/planner"
	"stillwatch/isolation/proof"
	"stillwatch/permits"
	"stillwatch/permits/register/store"
)

// aboard is a register with people, a plant and a clock that the test turns.
type aboard struct {
	*Register
	t   testing.TB
	dir string

	witness string // folder of the witness; "": none

	mu  sync.Mutex
	now time.Time
	up  time.Duration // how long the program has run

	hold atomic.Pointer[func() error] // of the next commit
}

// quick makes a PIN's hash cheap, so that tests sign often.
var quick = Argon{MemoryKiB: 8, Iterations: 1, Parallelism: 1}

var (
	chief   = permits.Person{ID: "chief", Name: "Chief", Roles: []permits.Role{permits.ChiefEngineer}}
	officer = permits.Person{ID: "oow", Name: "Officer", Roles: []permits.Role{permits.Officer}}
	fitter  = permits.Person{ID: "fitter", Name: "Fitter", Roles: []permits.Role{permits.Technician}}
	mate    = permits.Person{ID: "mate", Name: "Mate", Roles: []permits.Role{permits.Technician, permits.Crew}}
	guest   = permits.Person{ID: "guest", Name: "Guest", Roles: []permits.Role{permits.Visitor}}
)

// pinOf returns the PIN that everybody has in tests.
func pinOf(id permits.PersonID) string {
	sum := sha256.Sum256([]byte(id))
	return "4" + string('0'+sum[0]%10) + "7" + string('0'+sum[1]%10) + "81" + string('0'+sum[2]%10)
}

func (a *aboard) clock() time.Time {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.now, a.up = a.now.Add(time.Millisecond), a.up+time.Millisecond
	return a.now
}

func (a *aboard) uptime() time.Duration {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.up
}

func (a *aboard) wait(d time.Duration) {
	a.setClock(d)
	a.mu.Lock()
	defer a.mu.Unlock()
	a.up += d
}

// setClock sets the clock ahead, or back, without time going by.
func (a *aboard) setClock(d time.Duration) {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.now = a.now.Add(d)
}

func (a *aboard) options() Options {
	return Options{Witness: a.witness, Now: a.clock, Uptime: a.uptime, Logger: slog.New(slog.DiscardHandler), Argon: quick,
		beforeCommit: func() error {
			if hold := a.hold.Swap(nil); hold != nil {
				return (*hold)()
			}
			return nil
		}}
}

// raw opens the file beside the register, for what the register has no question for.
func (a *aboard) raw() *gorm.DB {
	a.t.Helper()
	db, err := gorm.Open(sqlite.New(sqlite.Config{DriverName: "sqlite", DSN: store.Address(filepath.Join(a.dir,
		store.File))}),
		&gorm.Config{Logger: logger.Discard})
	if err != nil {
		a.t.Fatal(err)
	}
	pool, err := db.DB()
	if err != nil {
		a.t.Fatal(err)
	}
	a.t.Cleanup(func() { pool.Close() })
	return db
}

// exec runs a statement on the connection that writes.
func (a *aboard) exec(text string) {
	a.t.Helper()
	if err := a.db.Exec(context.Background(), text); err != nil {
		a.t.Fatal(err)
	}
}

// empty opens a new register in which nobody is.
func empty(t testing.TB) *aboard {
	t.Helper()
	a := &aboard{t: t, dir: t.TempDir(), now: time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)}
	a.open()
	t.Cleanup(func() {
		if err := a.Close(); err != nil {
			t.Errorf("Close() = %v", err)
		}
	})
	return a
}

func (a *aboard) open() {
	a.t.Helper()
	r, err := Open(context.Background(), a.dir, a.options())
	if err != nil {
		a.t.Fatalf("Open(%s) = %v", a.dir, err)
	}
	a.Register = r
}

// reopen closes and opens again, as a restart does.
func (a *aboard) reopen() {
	a.t.Helper()
	if err := a.Close(); err != nil {
		a.t.Fatalf("Close() = %v", err)
	}
	a.open()
}

// manned opens a new register with a crew and the tiny plant in force.
func manned(t testing.TB) *aboard {
	t.Helper()
	a := empty(t)
	ctx := context.Background()
	if err := a.FirstRun(ctx, chief, pinOf(chief.ID)); err != nil {
		t.Fatalf("FirstRun() = %v", err)
	}
	for _, p := range []permits.Person{officer, fitter, mate, guest} {
		d := AddPersonDoing{ID: a.NewActID(), By: chief.ID, PIN: pinOf(chief.ID), Person: p, New: firstPIN}
		if err := a.AddPerson(ctx, d); err != nil {
			t.Fatalf("AddPerson(%s) = %v", p.ID, err)
		}
		a.ownPIN(p.ID)
	}
	text := plantText(t, "tiny.yaml")
	sum := sha256.Sum256(text)
	file := permits.AdoptPlant{Name: "tiny.yaml", SHA256: hex.EncodeToString(sum[:]), Text: string(text)}
	a.must(0, file.Proposal(), officer.ID)
	a.must(0, file, chief.ID)
	return a
}

// firstPIN is what everybody gets from the chief engineer, and changes.
const firstPIN = "917340"

func (a *aboard) ownPIN(id permits.PersonID) {
	a.t.Helper()
	d := SetPINDoing{ID: a.NewActID(), By: id, ByPIN: firstPIN, Person: id, New: pinOf(id)}
	if _, err := a.SetPIN(context.Background(), d); err != nil {
		a.t.Fatalf("SetPIN(%s) = %v", id, err)
	}
}

func plantText(t testing.TB, name string) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "plants", name))
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// try does an act with the right PIN.
func (a *aboard) try(id permits.PermitID, act permits.Act, by permits.PersonID) (Receipt, error) {
	return a.Do(context.Background(), Doing{ID: a.NewActID(), Permit: id, Act: act, By: by, PIN: pinOf(by)})
}

// must does an act that has to be let through.
// released is a release of somebody's locks that says all that is asked.
func (a *aboard) released(owner permits.PersonID) permits.ReleaseOwner {
	at := a.clock()
	return permits.ReleaseOwner{Owner: owner, Verified: true, Tried: true, WillTell: true,
		Absence: permits.Effort{By: officer.ID, At: at, How: "gangway log: ashore since noon"},
		Call:    permits.Effort{By: officer.ID, At: at, How: "telephoned twice"},
		Telling: permits.Effort{By: officer.ID, How: "at the gangway"}}
}

func (a *aboard) must(id permits.PermitID, act permits.Act, by permits.PersonID) Receipt {
	a.t.Helper()
	got, err := a.try(id, act, by)
	if err != nil {
		a.t.Fatalf("Do(%s on permit %d by %s) = %v", act.Kind(), id, by, err)
	}
	return got
}

// plan makes and proves the plan of a job of the plant in force.
func (a *aboard) plan(job string) proof.Proved {
	a.t.Helper()
	plan, err := planner.Make(a.Plant(), a.Rules(), job, isolation.Circumstances{})
	if err != nil {
		a.t.Fatalf("Make(%s) = %v", job, err)
	}
	proved, err := proof.Prove(a.Plant(), a.Rules(), plan, isolation.Circumstances{})
	if err != nil {
		a.t.Fatalf("Prove(%s) = %v", job, err)
	}
	return proved
}

// request opens a permit.
func (a *aboard) request() permits.PermitID {
	a.t.Helper()
	return a.must(0, permits.Request{Plan: a.plan("P1-seal"), Work: "Change the shaft seal"}, fitter.ID).Entry.Permit
}

// fitted brings a permit to where every lock hangs, and returns the steps.
func (a *aboard) fitted(id permits.PermitID) []permits.Lock {
	a.t.Helper()
	p := a.must(id, permits.Authorise{Hours: 12}, officer.ID).Permit
	for i, l := range p.Locks() {
		a.must(id, permits.FitLock{Tag: l.Tag, Position: l.Step.Position, Padlock: padlockFor(id, l, i)}, fitter.ID)
	}
	return p.Locks()
}

func padlockFor(id permits.PermitID, l permits.Lock, i int) permits.Padlock {
	if !l.Step.Lock {
		return ""
	}
	return permits.Padlock("P" + string(rune('A'+i)) + "-" + itoa(int64(id)))
}

func itoa(n int64) string { b, _ := json.Marshal(n); return string(b) }

// live brings a permit to the work.
func (a *aboard) live(id permits.PermitID) {
	a.t.Helper()
	for _, l := range a.fitted(id) {
		a.must(id, permits.CheckLock{N: l.Step.N}, mate.ID)
	}
	p, err := a.Permit(context.Background(), id)
	if err != nil {
		a.t.Fatal(err)
	}
	a.wait(20 * time.Minute) // nobody holds a drain for longer than it has been open
	for _, d := range p.Drains() {
		got := a.must(id, permits.RecordDrain{Section: d.Section.ID,
			Reading: isolation.DrainReading{OutL: d.Section.OutL, HoldS: 600, TempC: 20}}, fitter.ID)
		if !got.Entry.Found[0].OK {
			a.must(id, permits.AcceptDeviation{Section: d.Section.ID, Words: "opened by hand and seen to be empty"}, chief.ID)
		}
	}
	for _, s := range p.Stored() {
		a.must(id, permits.RecordStored{Check: s.Check.ID, Value: 0}, fitter.ID)
	}
	for _, d := range p.Dead() {
		a.must(id, permits.RecordDead{Test: d.Test.ID, ProvedBefore: true, Dead: true, ProvedAfter: true}, fitter.ID)
	}
	if p.NeedsStart() {
		a.must(id, permits.RecordStart{Still: true, ControlsOff: true}, fitter.ID)
	}
	a.must(id, permits.Prove{}, fitter.ID)
	a.must(id, permits.Issue{}, officer.ID)
	a.must(id, permits.Accept{ToolsOut: 4}, mate.ID)
}

// closed brings a live permit to its end.
func (a *aboard) closed(id permits.PermitID) {
	a.t.Helper()
	a.must(id, permits.SignOn{}, mate.ID)
	a.must(id, permits.SignOff{}, mate.ID)
	p := a.must(id, permits.HandBack{ToolsBack: 4, GuardsBack: true}, mate.ID).Permit
	for {
		p = a.between(id, p)
		l, on := p.NextRemove()
		if !on {
			break
		}
		a.must(id, permits.RemoveLock{Tag: l.Tag, Position: l.Step.Clearance}, fitter.ID)
		p = a.must(id, permits.CheckRestored{N: l.Step.N}, mate.ID).Permit
	}
	a.must(id, permits.Close{Positions: true, Told: true}, chief.ID)
}

// between does what comes before the next lock, or after the last.
func (a *aboard) between(id permits.PermitID, p permits.Permit) permits.Permit {
	a.t.Helper()
	for k, due, _ := p.NextAdded(); due; k, due, _ = p.NextAdded() {
		p = a.must(id, permits.RestoreStep{N: k.N}, fitter.ID).Permit
	}
	return p
}

// refusal returns the refusal that err must be.
func refusal(t testing.TB, err error) *permits.Refusal {
	t.Helper()
	var no *permits.Refusal
	if !errors.As(err, &no) {
		t.Fatalf("error = %v, want a refusal", err)
	}
	return no
}

// labelsFor returns what asks for labels of these points.
func labelsFor(points ...isolation.NodeID) map[isolation.NodeID]permits.TagDigest {
	out := map[isolation.NodeID]permits.TagDigest{}
	for _, p := range points {
		out[p] = ""
	}
	return out
}
