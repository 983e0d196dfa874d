package register

import (
	"context"
	"fmt"
	"maps"
	"reflect"
	"regexp"
	"slices"

	"stillwatch/permits"
	"stillwatch/permits/register/store"
)

// Doing is one act on its way into the log: what, on which permit, by whom.
type Doing struct {
	ID     permits.ActID    // made where the act was made; 8 to 64 letters, digits, '-' and '_'; see NewActID
	Permit permits.PermitID // 0 for a request and for acts that concern the whole ship
	Act    permits.Act
	By     permits.PersonID // who is signed in
	Signer permits.PersonID // who signs a signed act, also on another's phone; "" is By
	PIN    string           // of the signer; not looked at for acts that are not signed
	Device string           // network address, for the log
}

// Receipt says that an act is in the log and on the disk.
type Receipt struct {
	Entry    permits.Entry
	Permit   permits.Permit // after the entry; zero for acts that concern the whole ship
	Repeated bool           // the act had happened before: its entry of then, and the permit as it stands now
}

// NewActID draws the id of an act that is made here and not on a phone.
func (r *Register) NewActID() permits.ActID { return NewActID() }

var actIDPattern = regexp.MustCompile(`^[A-Za-z0-9_-]{8,64}$`)

// ownKinds are the acts that have a method of their own, because something outside the log goes with them.
var ownKinds = map[permits.Kind]bool{
	permits.KindAddPerson: true,
	permits.KindSetPIN:    true, permits.KindSignIn: true, permits.KindSignOut: true,
	permits.KindRefusedPIN: true, permits.KindRefusedAct: true, permits.KindAdoptEdition: true,
	permits.KindReckonAnew: true, permits.KindStopForEmergency: true,
}

// Do does an act. It returns when the act's entry is on the disk, or with the reason why not: a *permits.Refusal is a
// no that may be shown to people, ErrNotKept trouble with the disk; any other error is internal.
//
// An act that has happened before under the same id gives its receipt again; with another content it is refused as a
// conflict. An act that was refused has not happened, so its id is still free: sent again, it is decided anew.
//
// A refusal is itself kept as an entry, except slips of a form (kind Invalid), the same refusal of the same act, what
// nobody who is signed in has sent, and a wrong PIN, which has an entry of its own kind.
//
// Do fills in what only the register can: Authorise.Tags, and the digests in HangLabels.Labels, whose keys say which
// points get a label. The codes themselves are given by TagCodes and LabelCodes. Who signs in, sets a PIN or is put on
// the books for the first time does it by the methods for that.
func (r *Register) Do(ctx context.Context, d Doing) (Receipt, error) {
	if d.Act == nil || ownKinds[d.Act.Kind()] {
		return Receipt{}, fmt.Errorf("do an act: %T is not done this way", d.Act)
	}
	if !actIDPattern.MatchString(string(d.ID)) {
		return Receipt{}, invalidField("act_id", "The act has no id of its own, or not one of 8 to 64 letters, digits and "+
			"hyphens. Load the page anew.")
	}
	if r.NeedsFirstRun() {
		return Receipt{}, &permits.Refusal{Kind: permits.Refused, Gate: "first run",
			What:  "Nobody is on the ship's books yet.",
			Opens: "The chief engineer is put there first."}
	}
	if d.Act.Kind() == permits.KindRequest {
		d.Permit = 0
	}
	if d.Act.Kind().IsSigned() && d.signer() == d.By {
		// the signer's own repeat needs no PIN again; on another's phone it does, since nothing else says who asks
		if before, err := r.happened(ctx, d); before != nil || err != nil {
			return receiptOr(before, err)
		}
	}
	if a, is := d.Act.(permits.AcceptLoss); is {
		if c := r.lost.Load(); c == nil || c.Head.Size != a.Size || c.Head.Hash != a.Hash {
			return Receipt{}, &permits.Refusal{Kind: permits.Conflict, Gate: "accept loss",
				What: "No such head stands against the log now.", Opens: "Load the page anew."}
		}
	}
	signed, err := r.signature(ctx, d)
	if err != nil {
		return Receipt{}, err
	}
	var out Receipt
	var no *permits.Refusal
	err = r.perform(ctx, func(t *attempt) (err error) {
		out, no, err = t.do(d, signed)
		return err
	})
	switch {
	case err != nil:
		return Receipt{}, err
	case no != nil:
		return Receipt{}, no
	}
	return out, nil
}

func receiptOr(got *Receipt, err error) (Receipt, error) {
	if err != nil {
		return Receipt{}, err
	}
	return *got, nil
}

// signer returns who signs.
func (d Doing) signer() permits.PersonID {
	if d.Signer != "" {
		return d.Signer
	}
	return d.By
}

// actor returns who answers for the act: by the signer's name if it is signed.
func (d Doing) actor() permits.PersonID {
	if d.Act.Kind().IsSigned() {
		return d.signer()
	}
	return d.By
}

// signature takes the PIN of a signed act, outside the writer, since hashing takes long.
func (r *Register) signature(ctx context.Context, d Doing) (permits.Signature, error) {
	if !d.Act.Kind().IsSigned() {
		return permits.Signature{}, nil
	}
	who, known := r.Ship().Person(d.signer())
	if !known {
		return permits.Signature{}, &permits.Refusal{Kind: permits.NotFound, Gate: "signature", Field: "signer",
			What: "Nobody aboard has the short name " + string(d.signer()) + "."}
	}
	if !who.IsCompetent() {
		_, err := permits.Sign(who, "", nobodysPIN{}, r.now())
		return permits.Signature{}, r.keepRefusal(ctx, d, err)
	}
	return permits.Sign(who, d.PIN, pinFrom{r.pins, ctx, Origin{Address: d.Device, SignedIn: d.By}}, r.at())
}

// nobodysPIN takes no PIN.
type nobodysPIN struct{}

// VerifyPIN takes none.
func (nobodysPIN) VerifyPIN(permits.PersonID, string) error { return errNoPIN }

// keepRefusal keeps a refusal that was found before the writer decides, and returns it.
func (r *Register) keepRefusal(ctx context.Context, d Doing, err error) error {
	no, ok := asRefusal(err)
	if !ok {
		return err
	}
	if err := r.perform(ctx,
		func(t *attempt) error { return t.refuse(d, permits.Permit{}, t.state.ship.People[d.By], no) }); err != nil {
		return err
	}
	return no
}

// do decides an act in the writer. no is the refusal, which is kept; err leaves nothing behind.
func (t *attempt) do(d Doing, signed permits.Signature) (out Receipt, no *permits.Refusal, err error) {
	if before, err := t.happened(d); before != nil || err != nil {
		if no, ok := asRefusal(err); ok {
			return Receipt{}, no, nil
		}
		if err != nil {
			return Receipt{}, nil, err
		}
		return *before, nil, nil
	}
	s := t.state.setting(t.at, d.ID)
	s.By, s.Signed, s.Distrust = t.state.ship.People[d.By], signed, t.r.distrust()
	p, err := t.permitOf(d)
	if err != nil {
		return Receipt{}, nil, err
	}
	if s.By.ID == "" || s.By.Left {
		return Receipt{}, &permits.Refusal{Kind: permits.Forbidden, Gate: "sign in", What: "Nobody is signed in.",
			Opens: "Sign in first."}, nil
	}
	if err := t.sameSigner(signed); err != nil {
		no, _ := asRefusal(err)
		return Receipt{}, no, nil
	}
	e, codes, err := t.decide(s, p, d.Act)
	if no, ok := asRefusal(err); ok {
		return Receipt{}, no, t.refuse(d, p, s.Actor(), no)
	}
	if err != nil {
		return Receipt{}, nil, err
	}
	out.Entry, out.Permit, err = t.put(e)
	if err != nil {
		return Receipt{}, nil, err
	}
	for i := range codes {
		codes[i].Permit, codes[i].Issued = int64(out.Entry.Permit), out.Entry.N
	}
	t.codes = append(t.codes, codes...)
	return out, nil, t.followUp(s, out.Entry)
}

// followUp does to every open permit what follows from an entry, in the same commit; then what follows from that.
func (t *attempt) followUp(s permits.Setting, e permits.Entry) error {
	if !e.At.Equal(s.At) { // the clock was put right
		s.At = e.At
	}
	var then []permits.Entry
	for _, id := range slices.Sorted(maps.Keys(t.state.open)) {
		act, follows := permits.FollowsFrom(e, *t.state.open[id])
		if !follows {
			continue
		}
		s.ActID, s.Signed, s.Ship, s.Open = NewActID(), permits.Signature{}, t.state.ship, t.state.open
		entry, err := permits.Decide(s, *t.state.open[id], act)
		if err != nil {
			return fmt.Errorf("%s permit %d: %w", act.Kind(), id, err)
		}
		if entry, _, err = t.put(entry); err != nil {
			return err
		}
		then = append(then, entry)
	}
	for _, entry := range then {
		if err := t.followUp(s, entry); err != nil {
			return err
		}
	}
	return nil
}

// sameSigner refuses a signature whose person was changed between the PIN and the decision.
func (t *attempt) sameSigner(signed permits.Signature) error {
	if signed.IsZero() || reflect.DeepEqual(signed.By(), t.state.ship.People[signed.By().ID]) {
		return nil
	}
	return &permits.Refusal{Kind: permits.Conflict, Gate: "signature", What: "What " + signed.By().String() +
		" may do was changed this moment.", Opens: "Sign again."}
}

// decide asks the gate, with the codes drawn that the act issues.
func (t *attempt) decide(s permits.Setting, p permits.Permit, act permits.Act) (permits.Entry, []store.CodeRow, error) {
	act, codes, err := t.r.drawCodes(act, p)
	if err != nil {
		return permits.Entry{}, nil, err
	}
	switch a := act.(type) {
	case permits.PermitAct:
		e, err := permits.Decide(s, p, a)
		return e, codes, err
	case permits.ShipAct:
		e, err := permits.DecideShip(s, a)
		return e, codes, err
	}
	return permits.Entry{}, nil, fmt.Errorf("decide an act: %T is neither of a permit nor of the ship", act)
}

// permitOf returns the permit that an act speaks of, one that is over too; the zero permit if there is none.
func (t *attempt) permitOf(d Doing) (permits.Permit, error) {
	if _, ok := d.Act.(permits.PermitAct); !ok || d.Permit == 0 {
		return permits.Permit{}, nil
	}
	if p := t.state.permit(d.Permit); p.ID() != 0 {
		return p, nil
	}
	for _, b := range t.batch.pending() { // it may have ended so lately that the disk does not have it
		for _, w := range slices.Backward(b.all) {
			if w.after.ID() == d.Permit {
				return w.after, nil
			}
		}
	}
	return t.r.foldPermit(context.Background(), d.Permit)
}
