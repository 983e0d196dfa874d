package register

import (
	"context"
	"database/sql"
	"errors"
	"flag"
	"fmt"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"stillwatch/isolation"
	"stillwatch/isolation/proof"
	"stillwatch/permits"
	"stillwatch/permits/register/store"
)

// How long the log of BenchmarkLongLog is; a ship's years are a million.
var benchEntries = flag.Int64("entries", 20_000, "entries in the log of the benchmarks of a long log")

// The yardstick: one row in, one commit, by a connection with the settings of the log's.
func BenchmarkOneRowOneCommit(b *testing.B) {
	pool, err := sql.Open("sqlite", store.Address(filepath.Join(b.TempDir(), "bare.db"), "journal_mode(WAL)",
		"synchronous(FULL)", "temp_store(MEMORY)", "wal_autocheckpoint(4000)"))
	if err != nil {
		b.Fatal(err)
	}
	defer pool.Close()
	pool.SetMaxOpenConns(1)
	if _, err := pool.Exec("CREATE TABLE bare (n INTEGER PRIMARY KEY, body BLOB)"); err != nil {
		b.Fatal(err)
	}
	body := make([]byte, 300)
	began := processSeconds()
	for b.Loop() {
		tx, err := pool.Begin()
		if err != nil {
			b.Fatal(err)
		}
		if _, err := tx.Exec("INSERT INTO bare (body) VALUES (?)", body); err != nil {
			b.Fatal(err)
		}
		if err := tx.Commit(); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "commits/s")
	b.ReportMetric((processSeconds()-began)*1e6/float64(b.N), "cpu-µs/commit")
}

// Whole acts, decided, hashed, signed, projected and on the disk, from this many phones at once.
func BenchmarkActs(b *testing.B) {
	for _, phones := range []int{1, 8, 64} {
		b.Run(fmt.Sprintf("phones=%d", phones), func(b *testing.B) {
			a := manned(b)
			id := a.request()
			for _, l := range a.fitted(id) {
				a.must(id, permits.CheckLock{N: l.Step.N}, mate.ID)
			}
			test := a.OpenPermits()[0].Dead()[0].Test.ID // an act without physics: the yardstick has none either
			var failed atomic.Pointer[error]
			act := permits.RecordDead{Test: test, ProvedBefore: true, Dead: true, ProvedAfter: true}
			var left atomic.Int64
			left.Store(int64(b.N))
			var all sync.WaitGroup
			began := processSeconds()
			b.ResetTimer()
			for range phones {
				all.Go(func() {
					for left.Add(-1) >= 0 {
						if _, err := a.try(id, act, fitter.ID); err != nil {
							failed.Store(&err)
						}
					}
				})
			}
			all.Wait()
			b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "acts/s")
			b.ReportMetric((processSeconds()-began)*1e6/float64(b.N), "cpu-µs/act")
			if err := failed.Load(); err != nil {
				b.Fatal(*err)
			}
		})
	}
}

// taken takes every PIN: the benchmarks are of the log, not of argon2id.
type taken struct{}

func (taken) VerifyPIN(permits.PersonID, string) error { return nil }

// years fills a register with whole permits until it has this many entries; the last few permits stay open.
func (a *aboard) years(entries int64) {
	a.t.Helper()
	plan := a.plan("P1-seal")
	for open := 0; a.Head().Size < entries; {
		err := a.perform(context.Background(), func(t *attempt) error { return a.life(t, plan, a.Head().Size < entries-500) })
		if err != nil {
			a.t.Fatal(err)
		}
		open++
	}
}

// lifeOf walks one permit in the writer, without PINs.
type lifeOf struct {
	a      *aboard
	t      *attempt
	p      permits.Permit
	failed error
}

// do does one act; after the first that fails none is done any more.
func (l *lifeOf) do(act permits.PermitAct, by permits.Person) {
	if l.failed != nil {
		return
	}
	s := l.t.state.setting(l.a.clock().Truncate(time.Microsecond), l.t.r.NewActID())
	s.By = by
	if act.Kind().IsSigned() {
		s.Signed, l.failed = permits.Sign(by, "", taken{}, s.At)
	}
	e, codes, err := l.t.decide(s, l.p, act)
	if err == nil {
		e, l.p, err = l.t.put(e)
	}
	for i := range codes {
		codes[i].Permit, codes[i].Issued = int64(e.Permit), e.N
	}
	l.t.codes = append(l.t.codes, codes...)
	l.failed = errors.Join(l.failed, err)
}

// prove brings the permit from its request to the work.
func (l *lifeOf) prove(plan proof.Proved) {
	l.do(permits.Request{Plan: plan, Work: "Change the shaft seal"}, fitter)
	l.do(permits.Authorise{Hours: 12}, officer)
	for i, k := range l.p.Locks() {
		l.do(permits.FitLock{Tag: k.Tag, Position: k.Step.Position, Padlock: padlockFor(l.p.ID(), k, i)}, fitter)
	}
	for _, k := range l.p.Locks() {
		l.do(permits.CheckLock{N: k.Step.N}, mate)
	}
	l.a.wait(20 * time.Minute)
	for i, d := range l.p.Drains() {
		l.do(permits.RecordDrain{Section: d.Section.ID, Reading: isolation.DrainReading{OutL: 5, HoldS: 600, TempC: 20}},
			fitter)
		if l.failed == nil && !l.p.Drains()[i].Finding.OK {
			l.do(permits.AcceptDeviation{Section: d.Section.ID, Words: "opened by hand and seen to be empty"}, chief)
		}
	}
	for _, d := range l.p.Dead() {
		l.do(permits.RecordDead{Test: d.Test.ID, ProvedBefore: true, Dead: true, ProvedAfter: true}, fitter)
	}
	l.do(permits.RecordStart{Still: true, ControlsOff: true}, fitter)
	l.do(permits.Prove{}, fitter)
	l.do(permits.Issue{}, officer)
	l.do(permits.Accept{}, mate)
}

// life walks one permit through all or, if it is to stay open, half of its way, with twelve goes of work.
func (a *aboard) life(t *attempt, plan proof.Proved, whole bool) error {
	l := &lifeOf{a: a, t: t}
	l.prove(plan)
	for range 12 {
		_, err := t.ship(t.r.NewActID(), mate, permits.Signature{}, permits.SignIn{Person: mate.ID, Device: "phone"})
		l.failed = errors.Join(l.failed, err)
		l.do(permits.SignOn{}, mate)
		l.do(permits.SignOff{}, mate)
	}
	if !whole {
		return l.failed
	}
	l.do(permits.HandBack{GuardsBack: true}, mate)
	for k, on := l.p.NextRemove(); on && l.failed == nil; k, on = l.p.NextRemove() {
		l.between()
		l.do(permits.RemoveLock{Tag: k.Tag, Position: k.Step.Clearance}, fitter)
	}
	for _, k := range l.p.Unseen() {
		l.do(permits.CheckRestored{N: k.Step.N}, mate)
	}
	l.between()
	l.do(permits.Close{Positions: true, Told: true}, chief)
	if l.failed == nil && l.p.State() != permits.Closed {
		l.failed = errors.New("the permit did not close")
	}
	return l.failed
}

// between does what comes before the next lock, or after the last.
func (l *lifeOf) between() {
	for k, due, _ := l.p.NextAdded(); due && l.failed == nil; k, due, _ = l.p.NextAdded() {
		l.do(permits.RestoreStep{N: k.N}, fitter)
	}
}

func BenchmarkLongLog(b *testing.B) {
	a := manned(b)
	a.years(*benchEntries)
	size := a.Head().Size
	b.Run("open", func(b *testing.B) {
		for b.Loop() {
			a.reopen()
		}
		b.ReportMetric(float64(len(a.OpenPermits())), "open-permits")
		b.ReportMetric(residentMB(), "MB")
	})
	b.Run("verify", func(b *testing.B) {
		began := processSeconds()
		for b.Loop() {
			if r := verified(b, a.dir); !r.OK() {
				b.Fatal(r.Faults)
			}
		}
		b.ReportMetric(float64(size)*float64(b.N)/b.Elapsed().Seconds(), "entries/s")
		b.ReportMetric((processSeconds()-began)*1e6/float64(size)/float64(b.N), "cpu-µs/entry")
		b.ReportMetric(residentMB(), "MB")
	})
}
