package register

import (
	"context"
	"testing"
	"time"

	"stillwatch/permits"
)

// TestPermitsAreFoundByWhatIsKnownOfThem asks for a closed and an open permit by everything that the search knows.
func TestPermitsAreFoundByWhatIsKnownOfThem(t *testing.T) {
	a := manned(t)
	one := a.request()
	a.live(one)
	a.closed(one)
	between := a.clock()
	a.wait(time.Hour)
	two := a.request()
	a.fitted(two)
	point := standing(a, two).Locks()[0].Step.Point
	a.wait(13 * time.Hour)
	for _, tc := range []struct {
		name string
		q    PermitQuery
		want []permits.PermitID
	}{
		{"everything", PermitQuery{}, []permits.PermitID{two, one}},
		{"the machine", PermitQuery{Machine: "P1"}, []permits.PermitID{two, one}},
		{"another machine", PermitQuery{Machine: "P2"}, nil},
		{"a point", PermitQuery{Point: point}, []permits.PermitID{two, one}},
		{"no point", PermitQuery{Point: "X9"}, nil},
		{"who fitted", PermitQuery{Person: fitter.ID}, []permits.PermitID{two, one}},
		{"who worked", PermitQuery{Person: mate.ID}, []permits.PermitID{one}},
		{"who did nothing", PermitQuery{Person: guest.ID}, nil},
		{"before", PermitQuery{To: between}, []permits.PermitID{one}},
		{"after", PermitQuery{From: between}, []permits.PermitID{two}},
		{"its exposure", PermitQuery{Kind: string(standing(a, two).Plan().Exposure)}, []permits.PermitID{two, one}},
		{"another exposure", PermitQuery{Kind: "enter"}, nil},
		{"overdue", PermitQuery{Overdue: a.clock()}, []permits.PermitID{two}},
		{"not overdue yet", PermitQuery{Overdue: between}, nil},
		{"all of it", PermitQuery{Machine: "P1", Point: point, Person: officer.ID, From: between, Open: true, Text: "seal",
			Overdue: a.clock()}, []permits.PermitID{two}},
	} {
		got, err := a.Permits(context.Background(), tc.q)
		if err != nil {
			t.Fatal(err)
		}
		if len(got) != len(tc.want) {
			t.Errorf("%s: %d permits, want %d", tc.name, len(got), len(tc.want))
			continue
		}
		for i, id := range tc.want {
			if got[i].ID != id {
				t.Errorf("%s: permit %d at %d, want %d", tc.name, got[i].ID, i, id)
			}
		}
	}
}

func TestLivesSayHowLongItTookToTheWork(t *testing.T) {
	a := manned(t)
	one := a.request()
	a.live(one)
	a.request()
	lives, err := a.Lives(context.Background(), a.clock().Add(-24*time.Hour), a.clock())
	if err != nil || len(lives) != 2 {
		t.Fatalf("Lives() = %d, %v", len(lives), err)
	}
	p := standing(a, one)
	if l := lives[0]; l.ID != one || !l.Requested.Equal(p.Requested().At) || !l.Live.Equal(p.Accepted().At) ||
		l.Locks != len(p.Locks()) || l.Machine == "" {
		t.Errorf("Lives()[0] = %+v, want from %s to %s", l, p.Requested().At, p.Accepted().At)
	}
	if l := lives[1]; !l.Live.IsZero() {
		t.Errorf("a permit that never went live did at %s", l.Live)
	}
	if early, err := a.Lives(context.Background(), a.clock().Add(-48*time.Hour), p.Requested().At); err != nil ||
		len(early) != 0 {
		t.Errorf("before the first request there were %d permits, %v", len(early), err)
	}
}

func TestEntriesOfAMachineAndOfATime(t *testing.T) {
	a := manned(t)
	one := a.request()
	a.fitted(one)
	_, _ = a.try(one, permits.FitLock{Tag: "none", Position: "closed"}, fitter.ID) // refused, and kept
	all, err := a.EntriesOfMachine(context.Background(), "P1", 0, 100)
	if err != nil || len(all) == 0 || all[0].Kind != permits.KindRefusedAct {
		t.Fatalf("EntriesOfMachine() = %d entries, %v", len(all), err)
	}
	older, err := a.EntriesOfMachine(context.Background(), "P1", all[1].N, 1)
	if err != nil || len(older) != 1 || older[0].N != all[2].N {
		t.Errorf("the entry before = %+v, %v", older, err)
	}
	now := a.clock()
	no, err := a.EntriesBetween(context.Background(), permits.KindRefusedAct, now.Add(-time.Hour), now, 10)
	if err != nil || len(no) != 1 {
		t.Errorf("EntriesBetween() = %d refusals, %v", len(no), err)
	}
	if no, err = a.EntriesBetween(context.Background(), permits.KindRefusedAct, now, now.Add(time.Hour), 10); err != nil ||
		len(no) != 0 {
		t.Errorf("of the time to come = %d refusals, %v", len(no), err)
	}
}

// BenchmarkLookBack asks a register of 2 000 permits what a search, a machine's history and the figures ask.
func BenchmarkLookBack(b *testing.B) {
	a := manned(b)
	plan := a.plan("P1-seal")
	for n := range 2000 {
		err := a.perform(context.Background(), func(t *attempt) error { return a.life(t, plan, n < 1990) })
		if err != nil {
			b.Fatal(err)
		}
	}
	ctx, now := context.Background(), a.clock()
	point := a.OpenPermits()[0].Locks()[0].Step.Point
	b.Logf("%d entries", a.Head().Size)
	for _, tc := range []struct {
		name string
		ask  func() (int, error)
	}{
		{"newest", permitsBy(a, PermitQuery{})},
		{"person", permitsBy(a, PermitQuery{Person: fitter.ID})},
		{"nobody", permitsBy(a, PermitQuery{Person: guest.ID})},
		{"point", permitsBy(a, PermitQuery{Point: point})},
		{"machine, dates, words", permitsBy(a, PermitQuery{Machine: "P1", From: now.AddDate(-1, 0, 0), To: now,
			Text: "seal"})},
		{"overdue", permitsBy(a, PermitQuery{Overdue: now})},
		{"all as CSV", permitsBy(a, PermitQuery{Limit: 5000})},
		{"lives", func() (int, error) { l, err := a.Lives(ctx, now.AddDate(-10, 0, 0), now); return len(l), err }},
		{"machine's history", func() (int, error) { l, err := a.EntriesOfMachine(ctx, "P1", 0, 50); return len(l), err }},
		{"point's history", func() (int, error) {
			l, err := a.Entries(ctx, EntryQuery{Point: point, Limit: 50})
			return len(l), err
		}},
	} {
		b.Run(tc.name, func(b *testing.B) {
			n := 0
			for b.Loop() {
				var err error
				if n, err = tc.ask(); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(n), "found")
		})
	}
}

func permitsBy(a *aboard, q PermitQuery) func() (int, error) {
	return func() (int, error) { l, err := a.Permits(context.Background(), q); return len(l), err }
}
