package register

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"runtime"
	"sync/atomic"
	"testing"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// How long the log of BenchmarkOpen and BenchmarkVerify is; a ship's years are a million.
var benchEntries = flag.Int64("entries", 20_000, "entries in the log of the benchmarks of a long log")

// The yardstick: one row in, one commit, through the same connection as the log.
func BenchmarkOneRowOneCommit(b *testing.B) {
	a := empty(b)
	if err := a.db.write.Exec("CREATE TABLE bare (n INTEGER PRIMARY KEY, body BLOB)").Error; err != nil {
		b.Fatal(err)
	}
	body := make([]byte, 300)
	pool := a.db.pools[0]
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
			check := a.OpenPermits()[0].Drains()[0].Section.ID
			var failed atomic.Pointer[error]
			b.SetParallelism((phones + runtime.GOMAXPROCS(0) - 1) / runtime.GOMAXPROCS(0))
			if phones == 1 {
				defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
				b.SetParallelism(1)
			}
			b.ResetTimer()
			b.RunParallel(func(pb *testing.PB) {
				for pb.Next() {
					act := permits.RecordDrain{Section: check, Reading: isolation.DrainReading{OutL: 5, HoldS: 600, TempC: 20}}
					if _, err := a.try(id, act, fitter.ID); err != nil {
						failed.Store(&err)
					}
				}
			})
			b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "acts/s")
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
		err := a.perform(context.Background(), func(t *turn) error { return a.life(t, plan, a.Head().Size < entries-500) })
		if err != nil {
			a.t.Fatal(err)
		}
		open++
	}
}

// life walks one permit through all or, if it is to stay open, half of its way.
func (a *aboard) life(t *turn, plan isolation.ProvedPlan, whole bool) error {
	var p permits.Permit
	var failed error
	do := func(act permits.PermitAct, by permits.Person) {
		if failed != nil {
			return
		}
		id := t.r.NewActID()
		s := t.world.setting(a.clock().Truncate(1000), id)
		s.By = by
		if act.Kind().IsSigned() {
			s.Signed, _ = permits.Sign(by, "", taken{}, s.At)
		}
		e, codes, err := t.decide(s, p, act)
		if err == nil {
			e, p, err = t.put(e)
		}
		for i := range codes {
			codes[i].Permit, codes[i].Issued = int64(e.Permit), e.N
		}
		t.codes = append(t.codes, codes...)
		failed = err
	}
	do(permits.Request{Plan: plan, Work: "Change the shaft seal"}, fitter)
	do(permits.Authorise{Hours: 12}, officer)
	for i, l := range p.Locks() {
		do(permits.FitLock{Tag: l.Tag, Position: l.Step.Position, Padlock: padlockFor(p.ID(), l, i)}, fitter)
	}
	for _, l := range p.Locks() {
		do(permits.CheckLock{N: l.Step.N}, mate)
	}
	for _, d := range p.Drains() {
		do(permits.RecordDrain{Section: d.Section.ID, Reading: isolation.DrainReading{OutL: 5, HoldS: 600, TempC: 20}}, fitter)
		if len(p.Unproved()) > 0 && !p.Drains()[0].Finding.OK {
			do(permits.AcceptDeviation{Section: d.Section.ID, Words: "opened by hand and seen to be empty"}, chief)
		}
	}
	for _, d := range p.Dead() {
		do(permits.RecordDead{Test: d.Test.ID, ProvedBefore: true, Dead: true, ProvedAfter: true}, fitter)
	}
	do(permits.RecordStart{Still: true, ControlsOff: true}, fitter)
	do(permits.Prove{}, fitter)
	do(permits.Accept{}, fitter)
	for range 12 {
		failed = errors.Join(failed, t.ship(t.r.NewActID(), mate, permits.Signature{}, permits.SignIn{Person: mate.ID, Device: "phone"}))
		do(permits.SignOn{}, mate)
		do(permits.SignOff{}, mate)
	}
	if !whole {
		return failed
	}
	do(permits.HandBack{GuardsBack: true}, fitter)
	for {
		l, on := p.NextRemove()
		if !on || failed != nil {
			break
		}
		do(permits.RemoveLock{Tag: l.Tag, Position: l.Step.Clearance}, fitter)
	}
	do(permits.Close{Positions: true, Told: true}, chief)
	if failed == nil && p.State() != permits.Closed {
		failed = errors.New("the permit did not close")
	}
	return failed
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
		for b.Loop() {
			if r := verified(b, a.dir); !r.OK() {
				b.Fatal(r.Faults)
			}
		}
		b.ReportMetric(float64(size)*float64(b.N)/b.Elapsed().Seconds(), "entries/s")
		b.ReportMetric(residentMB(), "MB")
	})
}
