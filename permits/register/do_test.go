package register

import (
	"context"
	"errors"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"stillwatch/isolation"
	"stillwatch/permits"
)

func TestPermitWalksItsWholeWayThroughTheLog(t *testing.T) {
	a := manned(t)
	id := a.request()
	a.live(id)
	a.closed(id)
	p, err := a.Permit(context.Background(), id)
	if err != nil || p.State() != permits.Closed {
		t.Fatalf("Permit(%d) is %s, %v, want closed", id, p.State(), err)
	}
	if open, held := a.OpenPermits(), slices.Collect(a.Held().All()); len(open) != 0 || len(held) != 0 {
		t.Errorf("after closing %d permits are open and %d points held, want none", len(open), len(held))
	}
	lines, err := a.Permits(context.Background(), PermitQuery{Text: "shaft"})
	if err != nil || len(lines) != 1 || lines[0].State != permits.Closed || lines[0].LocksOn != 0 ||
		lines[0].Entries != p.Entries() {
		t.Errorf("Permits(shaft) = %+v, %v, want the closed permit", lines, err)
	}
}

// What is loaded at a restart is what was there before it.
func TestRestartLosesNothing(t *testing.T) {
	a := manned(t)
	first := a.request()
	a.live(first)
	a.closed(first)
	second := a.request()
	a.fitted(second)
	a.must(0, permits.RecordPassing{Point: "V2", Words: "weeps when shut"}, fitter.ID)
	want := *a.state()
	head := a.Head()
	a.reopen()
	got := *a.state()
	if diff := cmp.Diff(head, a.Head()); diff != "" {
		t.Errorf("head after a restart differs (-before +after):\n%s", diff)
	}
	if diff := cmp.Diff(want.ship, got.ship); diff != "" {
		t.Errorf("ship after a restart differs (-before +after):\n%s", diff)
	}
	if diff := cmp.Diff(slices.Collect(want.held.All()), slices.Collect(got.held.All())); diff != "" {
		t.Errorf("holdings after a restart differ (-before +after):\n%s", diff)
	}
	if diff := cmp.Diff(want.open, got.open, cmp.Exporter(exportAll)); diff != "" {
		t.Errorf("open permits after a restart differ (-before +after):\n%s", diff)
	}
	if got.next != want.next || got.size != want.size || !got.latest.Equal(want.latest) || !got.lastAt.Equal(want.lastAt) {
		t.Errorf("ends after a restart = %d %d %s %s, want %d %d %s %s", got.next, got.size, got.latest, got.lastAt,
			want.next, want.size, want.latest, want.lastAt)
	}
	if got.plant.SHA256 != want.plant.SHA256 || got.rules.SHA256 != want.rules.SHA256 {
		t.Errorf("files in force differ after a restart")
	}
	a.must(second, permits.CheckLock{N: 1}, mate.ID)
}

func TestSameActSentTwiceHappensOnce(t *testing.T) {
	a := manned(t)
	id := a.request()
	d := Doing{ID: a.NewActID(), Permit: id, Act: permits.Authorise{Hours: 8}, By: officer.ID, PIN: pinOf(officer.ID)}
	first, err := a.Do(context.Background(), d)
	if err != nil || first.Repeated {
		t.Fatalf("Do(authorise) = %+v, %v, want done", first, err)
	}
	size := a.Head().Size
	second, err := a.Do(context.Background(), d)
	if err != nil || !second.Repeated || second.Entry.N != first.Entry.N {
		t.Errorf("Do(same act again) = entry %d repeated %t, %v, want entry %d repeated", second.Entry.N, second.Repeated,
			err, first.Entry.N)
	}
	d.Act = permits.Authorise{Hours: 9}
	if no := refusal(t, second2(a.Do(context.Background(), d))); no.Kind != permits.Conflict {
		t.Errorf("Do(same id, other content) = %s %q, want a conflict", no.Kind, no.What)
	}
	if got := a.Head().Size; got != size {
		t.Errorf("the log has %d entries after the repeats, want %d", got, size)
	}
}

// TestARepeatBySomebodyElseIsNotAnswered sends what one person has done once more as another, with the first one's name
// but not their PIN: the answer must say nothing of what was recorded.
func TestARepeatBySomebodyElseIsNotAnswered(t *testing.T) {
	a := manned(t)
	id := a.request()
	signed := Doing{ID: a.NewActID(), Permit: id, Act: permits.Authorise{Hours: 8}, By: officer.ID, PIN: pinOf(officer.ID)}
	if _, err := a.Do(context.Background(), signed); err != nil {
		t.Fatal(err)
	}
	unsigned := Doing{ID: a.NewActID(), Act: permits.RecordPassing{Point: "V2", Words: "weeps when shut"},
		By: fitter.ID}
	if _, err := a.Do(context.Background(), unsigned); err != nil {
		t.Fatal(err)
	}
	size := a.Head().Size
	for name, d := range map[string]Doing{
		"signed, in the signer's name": {ID: signed.ID, Permit: id, Act: signed.Act, By: fitter.ID, Signer: officer.ID},
		"signed, with a PIN not right": {ID: signed.ID, Permit: id, Act: signed.Act, By: fitter.ID, Signer: officer.ID,
			PIN: pinOf(fitter.ID)},
		"signed, in their own name": {ID: signed.ID, Permit: id, Act: signed.Act, By: mate.ID, PIN: pinOf(mate.ID)},
		"not signed":                {ID: unsigned.ID, Act: unsigned.Act, By: mate.ID},
	} {
		got, err := a.Do(context.Background(), d)
		if no, ok := asRefusal(err); !ok || got.Entry.N != 0 || got.Repeated {
			t.Errorf("%s: Do() = entry %d repeated %t, %v, want a refusal and no receipt", name, got.Entry.N, got.Repeated, err)
		} else if strings.Contains(no.What, "authorised") {
			t.Errorf("%s: the refusal %q tells of the act", name, no.What)
		}
	}
	if e, err := a.Entries(context.Background(), EntryQuery{Permit: id}); err != nil || len(e) > int(size) {
		t.Errorf("the permit has %d entries, %v", len(e), err)
	}
	signed.By, signed.Signer = fitter.ID, officer.ID // by another's phone, with the PIN: it is the officer who asks
	if got, err := a.Do(context.Background(), signed); err != nil || !got.Repeated {
		t.Errorf("the signer's own repeat on another's phone = %+v, %v, want the receipt", got, err)
	}
}

func second2(_ Receipt, err error) error { return err }

func TestSameActSentAtOnceByManyHappensOnce(t *testing.T) {
	a := manned(t)
	id := a.request()
	d := Doing{ID: a.NewActID(), Permit: id, Act: permits.Cancel{Words: "not needed"}, By: officer.ID,
		PIN: pinOf(officer.ID)}
	var wg sync.WaitGroup
	got := make([]Receipt, 16)
	errs := make([]error, len(got))
	for i := range got {
		wg.Go(func() { got[i], errs[i] = a.Do(context.Background(), d) })
	}
	wg.Wait()
	fresh := 0
	for i := range got {
		if errs[i] != nil || got[i].Entry.N != got[0].Entry.N {
			t.Errorf("Do(the same at once) = entry %d, %v, want entry %d", got[i].Entry.N, errs[i], got[0].Entry.N)
		}
		if !got[i].Repeated {
			fresh++
		}
	}
	if fresh != 1 {
		t.Errorf("%d of the receipts say that the act happened now, want 1", fresh)
	}
}

// Two phones that fit the same tag: one wins, the other is told.
func TestTwoPhonesCannotBothWin(t *testing.T) {
	a := manned(t)
	id := a.request()
	p := a.must(id, permits.Authorise{Hours: 12}, officer.ID).Permit
	l := p.Locks()[0]
	var wg sync.WaitGroup
	errs := make([]error, 8)
	for i := range errs {
		wg.Go(func() {
			_, errs[i] = a.try(id, permits.FitLock{Tag: l.Tag, Position: l.Step.Position, Padlock: padlockFor(id, l, i)},
				fitter.ID)
		})
	}
	wg.Wait()
	won := 0
	for _, err := range errs {
		if err == nil {
			won++
		} else if no := refusal(t, err); no.Gate != "fit lock" {
			t.Errorf("the slower phone's refusal is of gate %q, want fit lock", no.Gate)
		}
	}
	if won != 1 {
		t.Errorf("%d phones fitted the same tag, want 1", won)
	}
}

func TestRefusalIsKeptOnceAndFormSlipsAreNot(t *testing.T) {
	a := manned(t)
	id := a.request()
	refused := func() int {
		got, err := a.Entries(context.Background(), EntryQuery{Kind: permits.KindRefusedAct})
		if err != nil {
			t.Fatal(err)
		}
		return len(got)
	}
	d := Doing{ID: a.NewActID(), Permit: id, Act: permits.Prove{}, By: fitter.ID, PIN: pinOf(fitter.ID)}
	for range 3 {
		refusal(t, second2(a.Do(context.Background(), d)))
	}
	if got := refused(); got != 1 {
		t.Errorf("the same refusal of the same act left %d entries, want 1", got)
	}
	got, err := a.Entries(context.Background(), EntryQuery{Permit: id, Kind: permits.KindRefusedAct})
	if err != nil || len(got) != 1 {
		t.Fatalf("Entries(refused on permit %d) = %d, %v, want 1", id, len(got), err)
	}
	if no := got[0].Act.(permits.RefusedAct); no.Of != permits.KindProve || no.What == "" || got[0].By != fitter.ID {
		t.Errorf("the kept refusal is %+v by %s, want one of %q by %s", no, got[0].By, permits.KindProve, fitter.ID)
	}
	if no := refusal(t, second2(a.try(id, permits.Authorise{Hours: 100}, officer.ID))); no.Kind != permits.Invalid {
		t.Errorf("authorise for 100 h = %s, want invalid", no.Kind)
	}
	if got := refused(); got != 1 {
		t.Errorf("a slip of a form left an entry: %d, want 1", got)
	}
	if no := refusal(t, second2(a.try(id, permits.Authorise{Hours: 8}, fitter.ID))); no.Kind != permits.Forbidden {
		t.Errorf("authorise by the fitter = %s, want forbidden", no.Kind)
	}
	if got := refused(); got != 2 {
		t.Errorf("%d refusals kept, want 2", got)
	}
}

// An act that was refused has not happened: its id is free, and the act is decided anew.
func TestRefusedActMayBeSentAgain(t *testing.T) {
	a := manned(t)
	id := a.request()
	d := Doing{ID: a.NewActID(), Permit: id, Act: permits.Authorise{Hours: 8}, By: fitter.ID, Signer: fitter.ID,
		PIN: pinOf(fitter.ID)}
	refusal(t, second2(a.Do(context.Background(), d)))
	d.By, d.Signer, d.PIN = officer.ID, "", pinOf(officer.ID)
	if _, err := a.Do(context.Background(), d); err != nil {
		t.Errorf("Do(same id after a refusal) = %v, want done", err)
	}
}

func TestSomebodySignsOnAnothersPhone(t *testing.T) {
	a := manned(t)
	id := a.request()
	got, err := a.Do(context.Background(), Doing{ID: a.NewActID(), Permit: id, Act: permits.Authorise{Hours: 8},
		By: fitter.ID, Signer: officer.ID, PIN: pinOf(officer.ID)})
	if err != nil || got.Entry.By != officer.ID || got.Entry.Signed.By().ID != officer.ID {
		t.Errorf("authorise on the fitter's phone = by %s, %v, want by %s", got.Entry.By, err, officer.ID)
	}
}

func TestNobodySignedInDoesNothing(t *testing.T) {
	a := manned(t)
	size := a.Head().Size
	for _, by := range []permits.PersonID{"", "stranger"} {
		_, err := a.Do(context.Background(), Doing{ID: a.NewActID(), Act: permits.RecordPassing{Point: "V1", Words: "weeps"},
			By: by})
		if no := refusal(t, err); no.Kind != permits.Forbidden {
			t.Errorf("Do(by %q) = %s, want forbidden", by, no.Kind)
		}
	}
	if got := a.Head().Size; got != size {
		t.Errorf("the log grew from %d to %d by strangers' acts", size, got)
	}
}

func TestActsOfTheRegisterItselfAreNotForDo(t *testing.T) {
	a := manned(t)
	for _, act := range []permits.Act{permits.SignIn{Person: chief.ID}, permits.SignOut{},
		permits.SetPIN{Person: chief.ID},
		permits.AddPerson{Person: permits.Person{ID: "new", Name: "New", Roles: []permits.Role{permits.Crew}}},
		permits.RefusedPIN{}, permits.RefusedAct{}, nil} {
		_, err := a.Do(context.Background(), Doing{ID: a.NewActID(), Act: act, By: chief.ID, PIN: pinOf(chief.ID)})
		var no *permits.Refusal
		if err == nil || errors.As(err, &no) {
			t.Errorf("Do(%T) = %v, want an internal error", act, err)
		}
	}
}

func TestTagsAndLabelsAreFoundByTheirCodes(t *testing.T) {
	a := manned(t)
	ctx := context.Background()
	id := a.request()
	p := a.must(id, permits.Authorise{Hours: 12}, officer.ID).Permit
	codes, err := a.TagCodes(ctx, id)
	if err != nil || len(codes) != len(p.Locks()) {
		t.Fatalf("TagCodes(%d) = %d codes, %v, want %d", id, len(codes), err, len(p.Locks()))
	}
	for _, l := range p.Locks() {
		tag, err := a.FindTag(ctx, codes[l.Step.N])
		want := Tag{Kind: LockTag, Digest: l.Tag, Permit: id, Step: l.Step.N, Point: l.Step.Point, Issued: tag.Issued}
		if err != nil || tag != want {
			t.Errorf("FindTag(tag %d) = %+v, %v, want %+v", l.Step.N, tag, err, want)
		}
	}
	point := p.Locks()[0].Step.Point
	hang := permits.HangLabels{Labels: map[isolation.NodeID]permits.TagDigest{point: ""}}
	a.must(0, hang, officer.ID)
	first, err := a.LabelCodes(ctx)
	if err != nil || len(first) != 1 {
		t.Fatalf("LabelCodes() = %d, %v, want 1", len(first), err)
	}
	a.must(0, hang, officer.ID)
	if tag, err := a.FindTag(ctx, first[point]); err != nil || tag.Kind != VoidLabel || !tag.Over || tag.Point != point {
		t.Errorf("FindTag(label replaced) = %+v, %v, want a void label of %s", tag, err, point)
	}
	second, err := a.LabelCodes(ctx)
	if err != nil || second[point] == first[point] {
		t.Fatalf("LabelCodes() after a new label gives the old code, or %v", err)
	}
	if tag, err := a.FindTag(ctx, second[point]); err != nil || tag.Kind != PointLabel || tag.Over ||
		tag.Digest != a.Ship().Labels[point] {
		t.Errorf("FindTag(label) = %+v, %v, want the label of %s", tag, err, point)
	}
	a.must(id, permits.Cancel{Words: "not needed"}, officer.ID)
	if tag, err := a.FindTag(ctx, codes[1]); err != nil || !tag.Over {
		t.Errorf("FindTag(tag of a cancelled permit) = %+v, %v, want over", tag, err)
	}
	stranger, err := permits.NewTagCode(a.random)
	if err != nil {
		t.Fatal(err)
	}
	if no := refusal(t, second3(a.FindTag(ctx, stranger))); no.Kind != permits.NotFound {
		t.Errorf("FindTag(unknown) = %s, want not found", no.Kind)
	}
}

func second3(_ Tag, err error) error { return err }

func TestEntriesAreFoundByPermitPointPersonAndKind(t *testing.T) {
	a := manned(t)
	ctx := context.Background()
	id := a.request()
	a.live(id)
	a.must(0, permits.RecordPassing{Point: "V1", Words: "weeps"}, mate.ID)
	all, err := a.Entries(ctx, EntryQuery{Limit: 1000})
	if err != nil || int64(len(all)) != a.Head().Size || all[0].N != a.Head().Size-1 {
		t.Fatalf("Entries() = %d, %v, want all %d, newest first", len(all), err, a.Head().Size)
	}
	for _, tc := range []struct {
		name string
		q    EntryQuery
		want func(permits.Entry) bool
	}{
		{"permit", EntryQuery{Permit: id}, func(e permits.Entry) bool { return e.Permit == id }},
		{"kind", EntryQuery{Kind: permits.KindCheckLock},
			func(e permits.Entry) bool { return e.Kind == permits.KindCheckLock }},
		{"person", EntryQuery{Person: mate.ID}, func(e permits.Entry) bool {
			return e.By == mate.ID ||
				permits.Touches(e, permits.Permit{}).Person == mate.ID
		}},
		{"person and kind", EntryQuery{Person: mate.ID, Kind: permits.KindCheckLock},
			func(e permits.Entry) bool { return e.By == mate.ID && e.Kind == permits.KindCheckLock }},
		{"person on a permit after", EntryQuery{Person: fitter.ID, Permit: id, After: new(int64(3))},
			func(e permits.Entry) bool { return e.By == fitter.ID && e.Permit == id && e.N > 3 }},
		{"before", EntryQuery{Before: 5}, func(e permits.Entry) bool { return e.N < 5 }},
		{"after", EntryQuery{After: new(int64(20))}, func(e permits.Entry) bool { return e.N > 20 }},
	} {
		t.Run(tc.name, func(t *testing.T) {
			var want, got []int64
			for _, e := range all {
				if tc.want(e) {
					want = append(want, e.N)
				}
			}
			list, err := a.Entries(ctx, tc.q)
			for _, e := range list {
				got = append(got, e.N)
			}
			if tc.q.After != nil {
				for i, j := 0, len(want)-1; i < j; i, j = i+1, j-1 {
					want[i], want[j] = want[j], want[i]
				}
			}
			if diff := cmp.Diff(want, got); diff != "" || err != nil || len(got) == 0 {
				t.Errorf("Entries(%s) differs, %v (-want +got):\n%s", tc.name, err, diff)
			}
		})
	}
	few, err := a.Entries(ctx, EntryQuery{Person: mate.ID, Limit: 2})
	if err != nil || len(few) != 2 || few[0].N < few[1].N {
		t.Errorf("Entries(2 of the mate's) = %v, %v, want the newest two", few, err)
	}
	at, err := a.Entries(ctx, EntryQuery{Point: "V1"})
	if err != nil || len(at) != 3 {
		t.Errorf("Entries(V1) = %d, %v, want 3: fitted, checked, found passing", len(at), err)
	}
}

func TestSubscriberHearsWhatIsOnTheDiskAndASlowOneIsCut(t *testing.T) {
	a := manned(t)
	ear, cancel := a.Subscribe()
	slow, _ := a.Subscribe()
	got := a.must(0, permits.RecordPassing{Point: "V1", Words: "weeps"}, mate.ID)
	e := <-ear
	if e.N == got.Entry.N-1 {
		e = <-ear // the one before was answered before it was told, and told after somebody began to listen
	}
	if e.N != got.Entry.N {
		t.Errorf("subscriber heard entry %d, want %d", e.N, got.Entry.N)
	}
	cancel()
	cancel()
	if _, open := <-ear; open {
		t.Error("a cancelled subscription still gives entries")
	}
	for range subscriberBuffer + 1 {
		a.must(0, permits.RecordPassing{Point: "V1", Words: "weeps"}, mate.ID)
	}
	heard := 0
	for range slow {
		heard++
	}
	if heard != subscriberBuffer {
		t.Errorf("the slow subscriber heard %d entries before being cut, want %d", heard, subscriberBuffer)
	}
}

// TestTheClockIsPutRightAndTheLogStaysWhole lets the clock run three days ahead, sets it back and says so: the log goes
// on by the right time, is whole, and is the same after a restart.
func TestTheClockIsPutRightAndTheLogStaysWhole(t *testing.T) {
	a := manned(t)
	before := a.clock()
	a.setClock(72 * time.Hour)
	id := a.request()
	a.live(id)
	a.setClock(-72 * time.Hour)
	right := permits.PutClockRight{Words: "compared with the bridge's clock"}
	if no := refusal(t, second2(a.try(0, right, fitter.ID))); no.Kind != permits.Forbidden {
		t.Errorf("a technician put the clock right: %s %q", no.Kind, no.What)
	}
	got := a.must(0, right, chief.ID)
	if at := got.Entry.At; at.Before(before) || at.After(before.Add(time.Hour)) {
		t.Errorf("the entry bears %s, want about %s", at, before)
	}
	p, err := a.Permit(context.Background(), id)
	if err != nil || p.State() != permits.Suspended {
		t.Errorf("the permit of the false time stands at %s, %v, want suspended", p.State(), err)
	}
	if no := refusal(t, second2(a.try(0, right, chief.ID))); no.Gate != "clock" {
		t.Errorf("a right clock was put right again: %q", no.What)
	}
	a.must(id, permits.Extend{Hours: 8}, officer.ID)
	if report, err := Verify(context.Background(), a.dir); err != nil || !report.OK() {
		t.Errorf("Verify() = %v, %v, want a whole log", report.Faults, err)
	}
	latest := a.state().latest
	a.reopen()
	if got := a.state().latest; !got.Equal(latest) {
		t.Errorf("the log's latest time after a restart = %s, want %s", got, latest)
	}
}

// TestReleaseIsRememberedUntilItsOwnerKnows releases a fitter's lock and opens the register anew: the fitter is still
// to be told, and once told is not asked again.
func TestReleaseIsRememberedUntilItsOwnerKnows(t *testing.T) {
	a := manned(t)
	id := a.request()
	a.fitted(id)
	a.must(id, a.released(fitter.ID), chief.ID)
	for _, untold := range []int{1, 0} {
		if err := a.Close(); err != nil {
			t.Fatal(err)
		}
		r, err := Open(t.Context(), a.dir, a.options())
		if err != nil {
			t.Fatal(err)
		}
		a.Register = r
		if got := r.Ship().Untold[fitter.ID]; len(got) != untold {
			t.Errorf("after opening anew the fitter is to be told of %v, want %d releases", got, untold)
		}
		if untold == 1 {
			a.must(0, permits.HearRelease{}, fitter.ID)
		}
	}
	if report, err := Verify(t.Context(), a.dir); err != nil || !report.OK() {
		t.Errorf("verify = %v, %v, want the log whole", report.Faults, err)
	}
}
