package register

import (
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"strings"
	"sync"
	"time"

	"stillwatch/isolation"
	"stillwatch/isolation/planner"
	"stillwatch/isolation/proof"
	"stillwatch/permits"
)

// The load of the crash test, which runs in the child process that is killed. What it does it says on its standard
// output, a line of JSON each, before it does it and when it was answered.

// crashPhones is how many phones act at once.
const crashPhones = 12

// labelledPoints are the points of the tiny plant that carry a label of their own during the load.
var labelledPoints = []isolation.NodeID{"V1", "V2"}

// sent is an act as a phone sends it: all that is needed to send the same act again.
type sent struct {
	ID     permits.ActID
	Permit permits.PermitID
	Act    permits.Act
	By     permits.PersonID
}

// sentRecord is sent as JSON.
type sentRecord struct {
	ID     permits.ActID
	Permit permits.PermitID
	By     permits.PersonID
	Kind   permits.Kind
	Act    json.RawMessage
}

// MarshalJSON writes the act with its kind beside it.
func (s sent) MarshalJSON() ([]byte, error) {
	act, err := json.Marshal(s.Act)
	if err != nil {
		return nil, err
	}
	return json.Marshal(sentRecord{s.ID, s.Permit, s.By, s.Act.Kind(), act})
}

// UnmarshalJSON is the inverse of MarshalJSON.
func (s *sent) UnmarshalJSON(text []byte) error {
	var r sentRecord
	if err := json.Unmarshal(text, &r); err != nil {
		return err
	}
	act, err := permits.DecodeAct(r.Kind, r.Act)
	*s = sent{r.ID, r.Permit, act, r.By}
	return err
}

// answer is what came back for an act: its entry, or a refusal.
type answer struct {
	N        int64 // noReceipt: done by a method that does not tell
	Permit   permits.PermitID
	Repeated bool
	Refusal  *permits.Refusal
}

// noReceipt stands for an entry's number where a method gives none.
const noReceipt = -1

// said is one line of the child: what it is about to send, or an answer, or why it cannot go on.
type said struct {
	Try    *sent         `json:",omitempty"`
	ID     permits.ActID `json:",omitempty"`
	Answer *answer       `json:",omitempty"`
	Failed string        `json:",omitempty"`
}

// hasOwnID reports whether the act carries its id into the log and so may be sent again: signing in and a wrong PIN
// are each another time, and are told by the name of the device.
func (s sent) hasOwnID() bool {
	k := s.Act.Kind()
	return k != permits.KindSignIn && k != permits.KindRefusedPIN
}

// to sends the act to a register by the method that is for it.
func (s sent) to(ctx context.Context, r *Register) (answer, error) {
	got := Receipt{Entry: permits.Entry{N: noReceipt}}
	var err error
	switch a := s.Act.(type) {
	case permits.SignIn:
		_, err = r.SignIn(ctx, a.Person, pinOf(a.Person), Origin{Address: a.Device})
	case permits.RefusedPIN:
		_, err = r.SignIn(ctx, a.Person, "000000", Origin{Address: a.Device})
	case permits.SetPIN:
		_, err = r.SetPIN(ctx, SetPINDoing{ID: s.ID, By: s.By, ByPIN: pinOf(s.By), Person: a.Person, New: pinOf(a.Person)})
	case permits.AddPerson:
		err = r.AddPerson(ctx, AddPersonDoing{ID: s.ID, By: s.By, PIN: pinOf(s.By), Person: a.Person,
			New: pinOf(a.Person.ID)})
	default:
		got, err = r.Do(ctx, Doing{ID: s.ID, Permit: s.Permit, Act: s.Act, By: s.By, PIN: pinOf(s.By)})
	}
	if no, ok := asRefusal(err); ok {
		return answer{N: noReceipt, Refusal: no}, nil
	}
	return answer{N: got.Entry.N, Permit: got.Entry.Permit, Repeated: got.Repeated}, err
}

// underLoad lets twelve phones act until somebody kills the process. It ends by itself only if something fails.
func underLoad(dir string) error {
	r, err := Open(context.Background(), dir, Options{Argon: quick})
	if err != nil {
		return err
	}
	plan, err := planner.Make(r.Plant(), r.Rules(), "P1-seal", isolation.Circumstances{})
	if err != nil {
		return err
	}
	proved, err := proof.Prove(r.Plant(), r.Rules(), plan, isolation.Circumstances{})
	if err != nil {
		return err
	}
	var one sync.Mutex
	tell := func(s said) {
		line, err := json.Marshal(s)
		if err != nil {
			line = fmt.Appendf(nil, `{"Failed": "cannot say what it does: %T"}`, err)
		}
		one.Lock()
		defer one.Unlock()
		os.Stdout.Write(append(line, '\n'))
	}
	failed := make(chan error, crashPhones)
	for n := range crashPhones {
		p := &phone{r: r, n: n, plan: proved, tell: tell}
		for _, open := range r.OpenPermits() { // whoever held a permit before a kill, its number says who goes on with it
			if int(open.ID())%crashPhones == n {
				p.mine = append(p.mine, open.ID())
			}
		}
		go func() { failed <- p.work() }()
	}
	return <-failed
}

// phone is one phone of the load, with a permit of its own that it takes through its way again and again.
type phone struct {
	r    *Register
	n    int
	plan proof.Proved
	tell func(said)
	mine []permits.PermitID // not over; the first is worked on
	slip bool               // the guest's last PIN was a wrong one: a right one comes next
	no   int                // refusals in a row
}

// stuckAfter is how many refusals in a row are too many: a gate stays shut only until another phone has done its part.
const stuckAfter = 2000

func (p *phone) work() error {
	for i := 1; ; i++ {
		s, err := p.next(i)
		if err != nil {
			return err
		}
		s.ID = permits.ActID(fmt.Sprintf("%s-%d", p.r.NewActID(), p.n))
		s.nameDevice()
		got, err := p.send(s)
		if err != nil {
			return fmt.Errorf("%s on permit %d: %w", s.Act.Kind(), s.Permit, err)
		}
		if got.Refusal == nil {
			p.no = 0
			if s.Act.Kind() == permits.KindRequest {
				p.mine = append(p.mine, got.Permit)
			}
			continue
		}
		if _, meant := s.Act.(permits.RefusedPIN); meant {
			continue
		}
		if p.no++; p.no > stuckAfter {
			return fmt.Errorf("%s on permit %d is refused for ever: %w", s.Act.Kind(), s.Permit, got.Refusal)
		}
		time.Sleep(time.Millisecond) // somebody else's turn
	}
}

// nameDevice returns an act that has no id in the log a device of the same name, by which its entry is found.
func (s *sent) nameDevice() {
	switch a := s.Act.(type) {
	case permits.SignIn:
		a.Device = string(s.ID)
		s.Act = a
	case permits.RefusedPIN:
		a.Device = string(s.ID)
		s.Act = a
	}
}

// send sends an act, one in eight from two places at once, and says before and after what it does. The answer is the
// one of an act that happened, if there is one.
func (p *phone) send(s sent) (answer, error) {
	p.tell(said{Try: &s})
	times := 1
	if s.hasOwnID() && rand.IntN(8) == 0 {
		times = 2
	}
	got, errs := make([]answer, times), make([]error, times)
	var both sync.WaitGroup
	for i := range got {
		both.Go(func() {
			got[i], errs[i] = s.to(context.Background(), p.r)
			if errs[i] == nil {
				p.tell(said{ID: s.ID, Answer: &got[i]})
			}
		})
	}
	both.Wait()
	for i := range got {
		if errs[i] != nil {
			return answer{}, errs[i]
		}
	}
	if last := got[times-1]; got[0].Refusal != nil {
		return last, nil
	}
	return got[0], nil
}

// next returns the next act: mostly a step of the phone's own permit.
func (p *phone) next(i int) (sent, error) {
	if passing := p.r.Ship().PassingPoints(); p.n == 0 && len(passing) > 0 { // one phone is in the chief engineer's hand
		return sent{Act: permits.RecordRepair{Point: passing[0], Words: "lapped in and tested"}, By: chief.ID}, nil
	}
	if i%8 == 0 {
		return p.aside(), nil
	}
	for len(p.mine) > 0 {
		at, err := p.r.Permit(context.Background(), p.mine[0])
		if err != nil {
			return sent{}, err
		}
		if !at.State().IsOver() {
			return p.step(at)
		}
		p.mine = p.mine[1:]
	}
	return sent{Act: permits.Request{Plan: p.plan, Work: "Change the shaft seal"}, By: fitter.ID}, nil
}

// aside returns an act that does not belong to the phone's permit.
func (p *phone) aside() sent {
	switch n := rand.IntN(100); {
	case n < 15:
		return sent{Act: permits.HangLabels{Labels: labelsFor(labelledPoints[rand.IntN(len(labelledPoints))])},
			By: officer.ID}
	case n < 25:
		return sent{Act: permits.RecordPassing{Point: "V2", Words: "weeps when shut"}, By: mate.ID}
	case n < 40:
		return sent{Act: permits.SetPIN{Person: guest.ID}, By: chief.ID}
	case n < 45: // few: every later state of the ship carries them all
		id := permits.PersonID("h" + strings.ToLower(string(p.r.NewActID()))[:20])
		return sent{Act: permits.AddPerson{Person: permits.Person{ID: id, Name: "Hand", Roles: []permits.Role{permits.Crew}}},
			By: chief.ID}
	case p.n == 1 && !p.slip: // one phone alone, so that no two wrong PINs come in a row and lock the door
		p.slip = true
		return sent{Act: permits.RefusedPIN{Person: guest.ID}, By: guest.ID}
	case p.n == 1:
		p.slip = false
		return sent{Act: permits.SignIn{Person: guest.ID}, By: guest.ID}
	}
	return sent{Act: permits.SignIn{Person: mate.ID}, By: mate.ID}
}

// step returns the next act on a permit: its way to where every lock is checked, and back.
func (p *phone) step(at permits.Permit) (sent, error) {
	s := sent{Permit: at.ID()}
	var err error
	switch at.State() {
	case permits.Draft:
		s.Act, s.By = permits.Authorise{Hours: 12}, officer.ID
	case permits.Authorised, permits.Isolating:
		return p.isolate(at)
	case permits.Proving:
		s.Act, s.By = permits.Cancel{Words: "the spare does not fit"}, officer.ID
	case permits.Restoring:
		l, on := at.NextRemove()
		if k, due, _ := at.NextAdded(); due && (on || len(at.Unseen()) == 0) {
			s.Act, s.By = permits.RestoreStep{N: k.N}, fitter.ID
			break
		}
		if !on {
			s.Act, s.By = permits.Close{Positions: true, Told: true}, chief.ID
			for _, unseen := range at.Unseen() {
				s.Act, s.By = permits.CheckRestored{N: unseen.Step.N}, mate.ID
				break
			}
			break
		}
		var tag Tag
		tag, err = p.scanTag(at.ID(), l)
		left, _ := at.LeaveAt(p.r.Held(), l)
		s.Act, s.By = permits.RemoveLock{Tag: tag.Digest, Position: left, How: "camera"}, fitter.ID
	default:
		err = fmt.Errorf("permit %d is %s, where the load leads none", at.ID(), at.State())
	}
	return s, err
}

// isolate returns the next act between authorisation and proof: the next lock, then a second look at each. A few
// permits are extended, a few are cancelled half way, and a few locks are found wrong.
func (p *phone) isolate(at permits.Permit) (sent, error) {
	s := sent{Permit: at.ID()}
	switch rand.IntN(60) {
	case 0:
		s.Act, s.By = permits.Cancel{Words: "the pump is needed"}, officer.ID
		return s, nil
	case 1:
		s.Act, s.By = permits.Extend{Hours: 10}, officer.ID
		return s, nil
	}
	if l, ok := at.NextFit(); ok {
		act, err := p.scanned(at.ID(), l)
		s.Act, s.By = act, fitter.ID
		return s, err
	}
	for _, l := range at.Locks() {
		if l.IsChecked() {
			continue
		}
		s.Act, s.By = permits.CheckLock{N: l.Step.N}, mate.ID
		if rand.IntN(40) == 0 {
			s.Act = permits.FindWrong{N: l.Step.N, Words: "the tag hangs loose"}
		}
		return s, nil
	}
	return s, fmt.Errorf("permit %d is %s with every lock checked", at.ID(), at.State())
}

// scanned returns the act of hanging a lock whose tag, and the point's label where it carries one, are scanned.
func (p *phone) scanned(id permits.PermitID, l permits.Lock) (permits.FitLock, error) {
	act := permits.FitLock{Position: l.Step.Position, Padlock: padlockFor(id, l, l.Step.N), How: "camera"}
	tag, err := p.scanTag(id, l)
	if err != nil {
		return act, err
	}
	act.Tag = tag.Digest
	act.Label, err = p.scanLabel(l.Step.Point)
	return act, err
}

// scanTag reads a tag as the tag's page does: the code that is printed on it, then what the code stands for.
func (p *phone) scanTag(id permits.PermitID, l permits.Lock) (Tag, error) {
	codes, err := p.r.TagCodes(context.Background(), id)
	if err != nil {
		return Tag{}, err
	}
	tag, err := p.r.FindTag(context.Background(), codes[l.Step.N])
	if err == nil && (tag.Kind != LockTag || tag.Permit != id || tag.Step != l.Step.N || tag.Point != l.Step.Point ||
		tag.Over) {
		err = fmt.Errorf("the code of step %d of permit %d stands for %+v", l.Step.N, id, tag)
	}
	return tag, err
}

// scanLabel reads the label that the point carries; "" if it carries none. The code is looked up by its digest, not
// with LabelCodes, which reads every label that was ever issued and is for printing.
func (p *phone) scanLabel(point isolation.NodeID) (permits.TagDigest, error) {
	digest, labelled := p.r.Ship().Labels[point]
	if !labelled {
		return "", nil
	}
	row, found, err := p.r.db.Now(context.Background()).Code(string(digest))
	if !found || err != nil {
		return "", fmt.Errorf("the label of %s has no code: %w", point, err)
	}
	code, err := parseCode(row)
	if err != nil {
		return "", err
	}
	label, err := p.r.FindTag(context.Background(), code)
	if err == nil && label.Point != point {
		err = fmt.Errorf("the label of %s stands for %+v", point, label)
	}
	return label.Digest, err // one that was replaced this moment is refused by the gate
}
