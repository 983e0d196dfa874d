package register

import (
	"context"
	"errors"
	"sync"
	"testing"

	"stillwatch/permits"
)

// slowCommit holds the disk up: a commit that is under way until let, and then fails with the error that it is given.
type slowCommit struct {
	under chan struct{} // closed when it is under way
	let   chan error
	done  chan error
}

func (a *aboard) slowCommit() *slowCommit {
	s := &slowCommit{under: make(chan struct{}), let: make(chan error), done: make(chan error, 1)}
	go func() {
		hold := func() error { close(s.under); return <-s.let }
		a.hold.Store(&hold)
		s.done <- a.perform(context.Background(), func(t *attempt) error {
			_, err := t.ship(t.r.NewActID(), mate, permits.Signature{}, permits.SignOut{Person: mate.ID}) // something to write
			return err
		})
	}()
	<-s.under
	return s
}

// answers collects what acts were answered that are sent while the disk is held up.
type answers struct {
	a    *aboard
	all  sync.WaitGroup
	mu   sync.Mutex
	got  []Receipt
	errs []error
}

func (w *answers) send(d Doing) {
	w.all.Go(func() {
		got, err := w.a.Do(context.Background(), d)
		w.mu.Lock()
		defer w.mu.Unlock()
		w.got, w.errs = append(w.got, got), append(w.errs, err)
	})
}

// none wants that nothing was answered yet.
func (w *answers) none(t *testing.T) {
	t.Helper()
	w.mu.Lock()
	defer w.mu.Unlock()
	if len(w.got) > 0 {
		t.Errorf("%d acts were answered before the disk had them: %v, %v", len(w.got), w.got, w.errs)
	}
}

func passing(a *aboard, point string) Doing {
	return Doing{ID: a.NewActID(), By: mate.ID, Act: permits.RecordPassing{Point: "V1", Words: "weeps at " + point}}
}

// Acts are decided while a commit is under way, and answered only when their own is on the disk.
func TestActsAreDecidedButNotAnsweredWhileTheDiskIsBusy(t *testing.T) {
	a := manned(t)
	s := a.slowCommit()
	w := &answers{a: a}
	before := a.Head().Size
	for range 20 {
		w.send(passing(a, "the seat"))
	}
	again := passing(a, "the gland")
	for range 3 { // the same act three times at once
		w.send(again)
	}
	w.none(t)
	if a.Head().Size != before {
		t.Errorf("Head().Size = %d while nothing is on the disk, want %d", a.Head().Size, before)
	}
	s.let <- nil
	w.all.Wait()
	if err := errors.Join(append(w.errs, <-s.done)...); err != nil {
		t.Fatal(err)
	}
	if got := a.Head().Size - before; got != 22 {
		t.Errorf("24 acts, one of them three times, made %d entries, want 22", got)
	}
	repeated := 0
	for _, r := range w.got {
		if r.Repeated {
			repeated++
		}
	}
	if repeated != 2 {
		t.Errorf("%d answers say that the act had happened before, want 2", repeated)
	}
}

// What was decided on acts that did not reach the disk does not reach it either; sent again it is decided anew.
func TestActsAfterALostCommitAreLostWithIt(t *testing.T) {
	a := manned(t)
	id := a.request()
	s := a.slowCommit()
	w := &answers{a: a}
	cancel := Doing{ID: a.NewActID(), Permit: id, By: officer.ID, PIN: pinOf(officer.ID),
		Act: permits.Cancel{Words: "put off"}}
	pass := passing(a, "the seat")
	head := a.Head()
	w.send(cancel)
	w.send(pass)
	s.let <- errors.New("the disk is full")
	w.all.Wait()
	// Whether they came before or after the writer noticed the loss decides how they were answered, and nothing else does.
	kept := 0
	for i, err := range w.errs {
		switch {
		case err == nil:
			kept++
		case !errors.Is(err, ErrNotKept):
			t.Errorf("answer %d = %v, want kept, or ErrNotKept", i, err)
		}
	}
	if err := <-s.done; !errors.Is(err, ErrNotKept) {
		t.Errorf("the commit that failed was answered %v, want ErrNotKept", err)
	}
	if got := a.Head().Size - head.Size; got != int64(kept) {
		t.Errorf("%d entries came, want %d, as many as were answered", got, kept)
	}
	for _, d := range []Doing{cancel, pass} {
		if got, err := a.Do(context.Background(), d); err != nil || got.Entry.ActID != d.ID {
			t.Errorf("sent again, %s = %+v, %v, want it taken", d.Act.Kind(), got, err)
		}
	}
	if got := a.Head().Size - head.Size; got != 2 {
		t.Errorf("both acts sent again make %d entries in all, want 2", got)
	}
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	if r := verified(t, a.dir); !r.OK() {
		t.Errorf("Verify() = %v, want a whole log", r.Faults)
	}
}

// A batch that waits behind a commit which fails is lost by that alone, and the next one begins from the disk.
func TestBatchBehindALostOneIsNotWritten(t *testing.T) {
	a := manned(t)
	id := a.request()
	head := a.Head()
	first := &batch{chain: &chain{}, state: a.state()}
	first.chain.lost.Store(true)
	second := &batch{chain: first.chain, before: first, state: a.state().fork(), once: map[permits.ActID]int{},
		said: map[refusalKey]bool{}}
	j := &job{ctx: context.Background(), done: make(chan error, 1), decide: func(t *attempt) error {
		_, _, err := t.do(Doing{ID: a.NewActID(), Permit: id, Act: permits.Authorise{Hours: 4}, By: officer.ID},
			mustSign(t.state.ship.People[officer.ID], a))
		return err
	}}
	a.decide(second, j)
	if len(second.all) == 0 {
		t.Fatal("nothing was decided")
	}
	a.write(second)
	if err := <-j.done; !errors.Is(err, ErrNotKept) {
		t.Errorf("the act behind a lost commit was answered %v, want ErrNotKept", err)
	}
	if got := a.Head(); got.Hash != head.Hash || a.state().permit(id).State() != permits.Draft {
		t.Errorf("the head is %v and the permit %s, want %v and draft", got, a.state().permit(id).State(), head)
	}
	third, err := a.newBatch(second)
	if err != nil || third.before != nil || third.chain == second.chain ||
		third.state.permit(id).State() != permits.Draft {
		t.Errorf("newBatch(after a lost one) = %+v, %v, want one that begins from the disk", third, err)
	}
}

// An act on a permit that ended a moment ago, with that not on the disk yet, is refused as one on a permit that is
// over.
func TestPermitThatEndsBeforeTheDiskHasItIsOver(t *testing.T) {
	a := manned(t)
	id := a.request()
	ended := &batch{chain: &chain{}, state: a.state().fork(), once: map[permits.ActID]int{}, said: map[refusalKey]bool{}}
	cancel := Doing{ID: a.NewActID(), Permit: id, Act: permits.Cancel{Words: "put off"}, By: officer.ID}
	try := func(b *batch, d Doing) (out Receipt, no *permits.Refusal) {
		j := &job{ctx: context.Background(), done: make(chan error, 1), decide: func(t *attempt) (err error) {
			out, no, err = t.do(d, mustSign(t.state.ship.People[officer.ID], a))
			return err
		}}
		a.decide(b, j)
		return out, no
	}
	if out, no := try(ended, cancel); no != nil || out.Permit.State() != permits.Cancelled {
		t.Fatalf("cancel = %v, %v, want it cancelled", out.Permit.State(), no)
	}
	behind := &batch{chain: ended.chain, before: ended, state: ended.state, once: map[permits.ActID]int{},
		said: map[refusalKey]bool{}}
	if _, no := try(behind, Doing{ID: a.NewActID(), Permit: id, Act: permits.Authorise{Hours: 4},
		By: officer.ID}); no == nil || no.Kind == permits.NotFound {
		t.Errorf("authorising the permit that was just cancelled = %v, want a refusal that knows it", no)
	}
	if out, no := try(behind, cancel); no != nil || !out.Repeated {
		t.Errorf("the same cancel again = %+v, %v, want that it had happened", out, no)
	}
}

// mustSign signs without looking at a PIN.
func mustSign(who permits.Person, a *aboard) permits.Signature {
	signed, err := permits.Sign(who, "", taken{}, a.clock())
	if err != nil {
		panic(err)
	}
	return signed
}
