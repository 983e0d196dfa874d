package register

import (
	"bytes"
	"context"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"golang.org/x/mod/sumdb/tlog"

	"stillwatch/permits"
	"stillwatch/permits/register/store"
)

// crash is what the crash test knows of the register that it kills: what the phones said, and what the log held when it
// was last looked at.
type crash struct {
	t     *testing.T
	a     *aboard
	round int
	count crashCount

	head   Head                       // when the last round ended
	looked int64                      // entries that were looked at
	there  map[permits.ActID]int64    // by act's id: the entry that says that it happened
	said   map[permits.ActID]int64    // of all rounds: the entry that the answer named
	pinSet map[permits.PersonID]int64 // by which entry each PIN was set last

	tried   map[permits.ActID]sent // of this round, and so what follows
	order   []permits.ActID        // in which they were tried
	answers map[permits.ActID][]answer
	refused map[refusalKey]bool // refusals in the log, of this round
}

// crashCount is what the test has seen.
type crashCount struct {
	kills, opening                 int // all, and those while the register was being opened
	tried, answered, refused, pair int
	again, now, shut               int // acts without an answer, sent again: had happened, happened now, refused
	entries                        int64
	kinds                          map[permits.Kind]int
}

// String returns the figures.
func (n crashCount) String() string {
	return fmt.Sprintf("%d kills (%d of them while opening); %d acts tried, %d answered as done, %d refused, %d "+
		"answered twice; without an answer and sent again: %d had happened, %d happened now, %d refused; %d entries",
		n.kills, n.opening, n.tried, n.answered, n.refused, n.pair, n.again, n.now, n.shut, n.entries)
}

// sawEnough fails a test that has gone by what it is there for.
func (n crashCount) sawEnough(t *testing.T) {
	t.Helper()
	if n.answered == 0 {
		t.Error("no act was answered before a kill: the test tried nothing")
	}
	if n.tried < 1000 { // unlucky kills, too early for a whole permit
		return
	}
	for _, kind := range []permits.Kind{permits.KindRequest, permits.KindAuthorise, permits.KindFitLock,
		permits.KindCheckLock, permits.KindCancel,
		permits.KindRemoveLock, permits.KindClose, permits.KindHangLabels, permits.KindSignIn} {
		if n.kinds[kind] == 0 {
			t.Errorf("of %d acts none was of kind %q: the load is not what it should be", n.tried, kind)
		}
	}
	if n.pair == 0 || n.again+n.now+n.shut == 0 {
		t.Errorf("%d acts were answered twice and %d sent again, want some of each", n.pair, n.again+n.now+n.shut)
	}
}

// newCrash takes what is in the log already for granted.
func newCrash(t *testing.T, a *aboard) *crash {
	t.Helper()
	c := &crash{t: t, a: a, head: a.Head(), there: map[permits.ActID]int64{}, said: map[permits.ActID]int64{},
		pinSet: map[permits.PersonID]int64{},
		count:  crashCount{kinds: map[permits.Kind]int{}}}
	c.eachUnseen(t.Context(), c.note)
	return c
}

// begin forgets the acts of the round before.
func (c *crash) begin() {
	c.tried, c.order, c.answers, c.refused = map[permits.ActID]sent{}, nil, map[permits.ActID][]answer{},
		map[refusalKey]bool{}
}

// hear takes one line of the child.
func (c *crash) hear(line []byte) {
	var s said
	if err := json.Unmarshal(line, &s); err != nil {
		c.t.Errorf("round %d: the child says %.200q: %v", c.round, line, err)
	}
	switch {
	case s.Failed != "":
		c.t.Errorf("round %d: the child cannot go on: %s", c.round, s.Failed)
	case s.Try != nil:
		c.tried[s.Try.ID] = *s.Try
		c.order = append(c.order, s.Try.ID)
		c.count.tried++
	case s.Answer != nil:
		c.answers[s.ID] = append(c.answers[s.ID], *s.Answer)
	}
}

// eachUnseen returns the entries that were not looked at yet.
func (c *crash) eachUnseen(ctx context.Context, f func(permits.Entry)) {
	c.t.Helper()
	for {
		after := c.looked - 1
		list, err := c.a.Entries(ctx, EntryQuery{After: &after, Limit: 1000})
		if err != nil {
			c.t.Fatal(err)
		}
		for _, e := range list {
			f(e)
		}
		c.looked += int64(len(list))
		if len(list) < 1000 {
			return
		}
	}
}

// onlyGrown looks whether the log of the last round is the beginning of this one.
func (c *crash) onlyGrown(ctx context.Context) {
	c.t.Helper()
	root, err := tlog.TreeHash(c.head.Size, storedTree{c.a.db.Now(ctx)})
	if err != nil || hex.EncodeToString(root[:]) != c.head.Hash {
		c.t.Errorf("round %d: the first %d entries make the hash %x, %v, want that of the head before, %s", c.round,
			c.head.Size, root, err, c.head.Hash)
	}
}

// look looks at every entry since the last look, at the answers of the round, and at what stands outside the log.
func (c *crash) look(ctx context.Context) {
	c.t.Helper()
	var entries []permits.Entry
	c.eachUnseen(ctx, func(e permits.Entry) {
		c.isTried(e)
		c.note(e)
		entries = append(entries, e)
	})
	if size := c.a.Head().Size; c.looked != size {
		c.t.Errorf("round %d: %d entries can be read, want the %d of the head", c.round, c.looked, size)
	}
	c.count.entries = c.looked
	for _, id := range c.order {
		c.isAsAnswered(id)
	}
	for _, e := range entries {
		c.isWhole(ctx, e)
	}
	c.nothingIsLeftOver(ctx)
}

// note takes down what an entry says. No act may have two entries that say that it happened.
func (c *crash) note(e permits.Entry) {
	if no, ok := e.Act.(permits.RefusedAct); ok {
		c.refused[refusalKey{e.ActID, no}] = true
		return
	}
	if a, ok := e.Act.(permits.SetPIN); ok {
		c.pinSet[a.Person] = e.N
	}
	c.count.kinds[e.Kind]++
	id := saidAs(e)
	if before, twice := c.there[id]; twice {
		c.t.Errorf("round %d: the act %s has the entries %d and %d, want one", c.round, id, before, e.N)
	}
	c.there[id] = e.N
}

// saidAs returns the id under which the phone spoke of the act.
func saidAs(e permits.Entry) permits.ActID {
	switch a := e.Act.(type) {
	case permits.SignIn:
		return permits.ActID(a.Device)
	case permits.RefusedPIN:
		return permits.ActID(a.Device)
	}
	return e.ActID
}

// isTried looks whether an entry is of an act that a phone sent in this round, to the letter.
func (c *crash) isTried(e permits.Entry) {
	c.t.Helper()
	s, tried := c.tried[saidAs(e)]
	if pin, ok := e.Act.(permits.SetPIN); ok && !tried { // the second entry of somebody who was put on the books
		s, tried = c.tried[permits.ActID(strings.TrimSuffix(string(e.ActID), ".pin"))]
		added, ok := s.Act.(permits.AddPerson)
		if !tried || !ok || added.Person.ID != pin.Person {
			c.t.Errorf("round %d: entry %d sets a PIN that nobody tried to set", c.round, e.N)
		}
		return
	}
	if !tried {
		c.t.Errorf("round %d: entry %d (%s) is of the act %s, which nobody tried", c.round, e.N, e.Kind, e.ActID)
		return
	}
	if no, ok := e.Act.(permits.RefusedAct); ok {
		if no.Of != s.Act.Kind() || e.By != s.By {
			c.t.Errorf("round %d: entry %d refuses %q by %s, want %q by %s", c.round, e.N, no.Of, e.By, s.Act.Kind(), s.By)
		}
		return
	}
	if e.Kind != s.Act.Kind() || e.Permit != s.Permit && e.Kind != permits.KindRequest || e.By != s.By &&
		e.Kind != permits.KindRefusedPIN {
		c.t.Errorf("round %d: entry %d is %q on permit %d by %s, want %q on permit %d by %s", c.round, e.N, e.Kind, e.Permit,
			e.By, s.Act.Kind(), s.Permit, s.By)
	}
	if kept, want := asTyped(c.t, e.Act), asTyped(c.t, s.Act); !bytes.Equal(kept, want) {
		c.t.Errorf("round %d: entry %d holds %s, want %s", c.round, e.N, kept, want)
	}
}

// asTyped returns an act without what the register fills in, as text.
func asTyped(t *testing.T, a permits.Act) []byte {
	t.Helper()
	if pin, ok := a.(permits.RefusedPIN); ok {
		pin.Tries, pin.Locked, pin.From = 0, false, ""
		a = pin
	}
	text, err := json.Marshal(permits.AsSent(a))
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// isAsAnswered looks whether the log says of an act what its answers said: the same entry in each of them, one of
// which was the first; or the refusal.
func (c *crash) isAsAnswered(id permits.ActID) {
	c.t.Helper()
	n, there := c.there[id]
	first, done := 0, 0
	for _, got := range c.answers[id] {
		if got.Refusal != nil {
			c.refusalIsKept(id, got.Refusal)
			continue
		}
		done++
		if !there || got.N != noReceipt && got.N != n {
			c.t.Errorf("round %d: the act %s (%s) was answered with entry %d; the log has it (%t) as %d", c.round, id,
				c.tried[id].Act.Kind(), got.N, there, n)
		}
		if got.N != noReceipt && !got.Repeated {
			first++
		}
	}
	if first > 1 {
		c.t.Errorf("round %d: %d answers say that the act %s happened just then, want one", c.round, first, id)
	}
}

// refusalIsKept looks for the entry of a refusal that was answered.
func (c *crash) refusalIsKept(id permits.ActID, no *permits.Refusal) {
	c.t.Helper()
	kind := c.tried[id].Act.Kind()
	if _, there := c.there[id]; kind == permits.KindRefusedPIN && there {
		return
	}
	if !c.refused[refusalKey{id, permits.RefusedAct{Of: kind, Gate: no.Gate, What: no.What, Opens: no.Opens}}] {
		c.t.Errorf("round %d: the act %s (%s) was refused, and the log has no entry of it: %v", c.round, id, kind, no)
	}
}

// isWhole looks at what an entry has outside the log: it was written in the same commit or the entry is half there.
func (c *crash) isWhole(ctx context.Context, e permits.Entry) {
	c.t.Helper()
	switch a := e.Act.(type) {
	case permits.Authorise:
		codes, err := c.a.TagCodes(ctx, e.Permit)
		if err != nil || len(codes) != len(a.Tags) {
			c.t.Errorf("round %d: permit %d has %d codes, %v, want %d", c.round, e.Permit, len(codes), err, len(a.Tags))
		}
		for i, digest := range a.Tags {
			if codes[i+1].Digest() != digest {
				c.t.Errorf("round %d: the code of step %d of permit %d does not fit its digest", c.round, i+1, e.Permit)
			}
		}
	case permits.HangLabels:
		for point, digest := range a.Labels {
			var row store.CodeRow
			if err := c.a.raw().Take(&row, "digest = ? AND point = ? AND issued = ?", string(digest), string(point),
				e.N).Error; err != nil {
				c.t.Errorf("round %d: the label of %s that entry %d issued: %v", c.round, point, e.N, err)
			} else if _, err := parseCode(row); err != nil {
				c.t.Errorf("round %d: %v", c.round, err)
			}
		}
	case permits.AddPerson:
		if pin, ok := c.there[e.ActID+".pin"]; !ok || pin != e.N+1 {
			c.t.Errorf("round %d: entry %d puts %s on the books; the first PIN is entry %d (%t), want the next", c.round, e.N,
				a.Person.ID, pin, ok)
		}
	}
}

// nothingIsLeftOver looks at the rows beside the log: none may be of an act that did not happen.
func (c *crash) nothingIsLeftOver(ctx context.Context) {
	c.t.Helper()
	for what, query := range map[string]string{
		"codes of an entry that issues none": `SELECT count(*) FROM codes c LEFT JOIN entries e ON e.n = c.issued LEFT JOIN entry_index l ON l.n = c.issued
			WHERE e.n IS NULL OR l.kind IS NOT CASE c.kind WHEN 'lock tag' THEN 'authorise' ELSE 'issue labels' END OR l.permit <> c.permit`,
		"authorised permits without all their codes": `SELECT count(*) FROM permits p
			WHERE p.until <> 0 AND p.locks <> (SELECT count(DISTINCT step) FROM codes c WHERE c.permit = p.id AND c.kind = 'lock tag')`,
		"codes of a permit that is not authorised": `SELECT count(*) FROM permits p JOIN codes c ON c.permit = p.id WHERE p.until = 0`,
	} {
		var rows int
		if err := c.a.raw().Raw(query).Scan(&rows).Error; err != nil || rows != 0 {
			c.t.Errorf("round %d: %s: %d, %v, want none", c.round, what, rows, err)
		}
	}
	var pins []store.PINRow
	if err := c.a.raw().Find(&pins).Error; err != nil {
		c.t.Fatal(err)
	}
	set := map[permits.PersonID]int64{}
	for _, row := range pins {
		set[permits.PersonID(row.Person)] = row.Entry
	}
	if !maps.Equal(set, c.pinSet) {
		c.t.Errorf("round %d: the PINs were set by the entries %v, want as the log says, %v", c.round, set, c.pinSet)
	}
	labels, err := c.a.LabelCodes(ctx)
	if want := len(c.a.Ship().Labels); err != nil || len(labels) != want {
		c.t.Errorf("round %d: %d labels have codes, %v, want %d", c.round, len(labels), err, want)
	}
}

// sendAgain sends every act of the round that was tried and not answered once more, as a phone does that comes back
// into the ship's network, and some of those that were answered.
func (c *crash) sendAgain(ctx context.Context) {
	c.t.Helper()
	size := c.a.Head().Size
	for _, id := range c.order {
		s, before := c.tried[id], c.answers[id]
		done := slices.ContainsFunc(before, func(got answer) bool { return got.Refusal == nil })
		c.countAnswers(id, done)
		switch {
		case !s.hasOwnID() || len(before) > 0 && !done:
		case !done:
			c.sendUnanswered(ctx, s, size)
		case rand.IntN(20) == 0:
			if got := c.send(ctx, s); got.Refusal != nil || got.N != noReceipt && !got.Repeated {
				c.t.Errorf("round %d: the answered act %s (%s), sent again, gives %+v, want repeated", c.round, id, s.Act.Kind(),
					got)
			}
		}
	}
}

// countAnswers counts an act of the round, and keeps which entry was answered.
func (c *crash) countAnswers(id permits.ActID, done bool) {
	switch got := c.answers[id]; {
	case done:
		c.count.answered++
		c.said[id] = c.there[id]
	case len(got) > 0:
		c.count.refused++
	}
	if len(c.answers[id]) > 1 {
		c.count.pair++
	}
}

// sendUnanswered sends an act that nobody knows the fate of. If the log has it, that is the answer; if not, it
// happens now or is refused now. Sent once more, the answer is the same.
func (c *crash) sendUnanswered(ctx context.Context, s sent, size int64) {
	c.t.Helper()
	n, there := c.there[s.ID]
	got := c.send(ctx, s)
	switch {
	case got.Refusal != nil && there:
		c.t.Errorf("round %d: the act %s (%s) is entry %d; sent again, it is refused: %v", c.round, s.ID, s.Act.Kind(), n,
			got.Refusal)
	case got.Refusal != nil:
		c.count.shut++
		return
	case there:
		c.count.again++
		if got.N != noReceipt && (got.N != n || !got.Repeated) {
			c.t.Errorf("round %d: the act %s (%s) is entry %d; sent again, it is answered with %+v", c.round, s.ID, s.Act.Kind(),
				n, got)
		}
	default:
		c.count.now++
		if got.N != noReceipt && (got.N < size || got.Repeated) {
			c.t.Errorf("round %d: the act %s (%s) is not in the log; sent again, it is answered with %+v", c.round, s.ID,
				s.Act.Kind(), got)
		}
	}
	if more := c.send(ctx, s); more.Refusal != nil || more.N != got.N {
		c.t.Errorf("round %d: the act %s (%s), sent for the third time, gives %+v, want entry %d", c.round, s.ID,
			s.Act.Kind(), more, got.N)
	}
}

// send sends an act to the register as it was opened after the kill, and keeps the answer.
func (c *crash) send(ctx context.Context, s sent) answer {
	c.t.Helper()
	got, err := s.to(ctx, c.a.Register)
	if err != nil {
		c.t.Fatalf("round %d: the act %s (%s), sent again: %v", c.round, s.ID, s.Act.Kind(), err)
	}
	c.answers[s.ID] = append(c.answers[s.ID], got)
	return got
}

// everythingAnsweredIsThere looks at the whole log once more, from its beginning, for every act that was ever answered.
func (c *crash) everythingAnsweredIsThere(ctx context.Context) {
	c.t.Helper()
	c.looked = 0
	found := 0
	c.eachUnseen(ctx, func(e permits.Entry) {
		n, said := c.said[saidAs(e)]
		if _, refused := e.Act.(permits.RefusedAct); refused || !said {
			return
		}
		if found++; n != e.N {
			c.t.Errorf("at the end: the act %s is entry %d, want %d as it was answered", saidAs(e), e.N, n)
		}
	})
	if found != len(c.said) {
		c.t.Errorf("at the end: %d of the answered acts are in the log, want all %d", found, len(c.said))
	}
}
