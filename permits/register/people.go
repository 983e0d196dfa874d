package register

import (
	"context"
	"crypto/rand"
	"fmt"
	"io"
	"math/big"
	"strings"
	"time"
	"unicode"

	"stillwatch/isolation/plantfile"
	"stillwatch/permits"
)

// at returns the clock as entries keep it: UTC, whole microseconds.
func (r *Register) at() time.Time { return r.now().UTC().Truncate(time.Microsecond) }

// SignIn takes a person's PIN and keeps an entry of it, which it returns. Whoever has left signs in nowhere; a visitor
// may, to read.
func (r *Register) SignIn(ctx context.Context, id permits.PersonID, pin string, from Origin) (e permits.Entry,
	err error) {
	from.SignedIn = ""
	if err := r.pins.verify(ctx, id, pin, from); err != nil {
		return e, err
	}
	err = r.perform(ctx, func(t *attempt) (err error) {
		who := t.state.ship.People[id]
		if who.ID == "" || who.Left {
			return &permits.Refusal{Kind: permits.Forbidden, Gate: "sign in", What: who.String() +
				" is not on the ship's books any more."}
		}
		e, err = t.ship(t.r.NewActID(), who, permits.Signature{}, permits.SignIn{Person: id, Device: clipped(from.Address)})
		return err
	})
	return e, err
}

// Began reports whether somebody's session may have begun with this entry: their signing in, or the setting of their
// PIN.
func (r *Register) Began(ctx context.Context, n int64, who permits.PersonID) bool {
	e, err := r.Entry(ctx, n)
	if err != nil {
		return false
	}
	switch a := e.Act.(type) {
	case permits.SignIn:
		return a.Person == who
	case permits.SetPIN:
		return a.Person == who && e.By == who
	}
	return false
}

// clipped cuts what a browser says of itself to what the log keeps: 80 characters of text.
func clipped(device string) string {
	runes := []rune(strings.Map(func(c rune) rune {
		if !unicode.IsPrint(c) {
			return -1
		}
		return c
	}, strings.ToValidUTF8(device, "")))
	return string(runes[:min(len(runes), 80)])
}

// SignOut keeps an entry of somebody's leaving a session.
func (r *Register) SignOut(ctx context.Context, id permits.PersonID) error {
	return r.perform(ctx, func(t *attempt) error {
		_, err := t.ship(t.r.NewActID(), t.state.ship.People[id], permits.Signature{}, permits.SignOut{Person: id})
		return err
	})
}

// ship decides an act on the ship and puts its entry in.
func (t *attempt) ship(id permits.ActID, by permits.Person, signed permits.Signature,
	act permits.ShipAct) (permits.Entry, error) {
	s := t.state.setting(t.at, id)
	s.By, s.Signed = by, signed
	e, err := permits.DecideShip(s, act)
	if err != nil {
		return e, err
	}
	e, _, err = t.put(e)
	return e, err
}

// SetPINDoing sets a person's PIN: their own, or as chief engineer or master anybody's.
type SetPINDoing struct {
	ID     permits.ActID
	By     permits.PersonID // who is signed in
	ByPIN  string           // of By, as it stands now
	Person permits.PersonID
	New    string
	Device string
}

// SetPIN sets a person's PIN, if By's own PIN is right and the new one is not easily guessed (CheckPIN). It also ends
// the person's slow-down, and with the new entry, which it returns, every session from before it. Sent again under the
// same id it sets nothing and returns the entry of then; with another person, or by another, it is refused as a
// conflict.
func (r *Register) SetPIN(ctx context.Context, d SetPINDoing) (e permits.Entry, err error) {
	if err := CheckPIN(d.New); err != nil {
		return e, err
	}
	if d.By == d.Person && d.New == d.ByPIN {
		return e, invalidField("new_pin", "This is the PIN that you have. Choose another one.")
	}
	if err := r.pins.verify(ctx, d.By, d.ByPIN, Origin{Address: d.Device, SignedIn: d.By}); err != nil {
		return e, err
	}
	hash, err := r.pins.hash(ctx, d.Person, d.New)
	if err != nil {
		return e, err
	}
	id, err := ownID(d.ID)
	if err != nil {
		return e, err
	}
	act := permits.SetPIN{Person: d.Person}
	set := false
	err = r.perform(ctx, func(t *attempt) error {
		before, err := t.happened(Doing{ID: id, By: d.By, Act: act})
		if err != nil {
			return err
		}
		if before != nil {
			e = before.Entry
			return nil
		}
		if e, err = t.ship(id, t.state.ship.People[d.By], permits.Signature{}, act); err != nil {
			return err
		}
		t.setPIN(e, d.Person, hash)
		set = true
		return nil
	})
	if err == nil && set { // a repeat forgets nothing
		r.pins.tries.forget(d.Person)
	}
	return e, err
}

// setPIN writes the hash of a PIN that an entry of this attempt sets, and forgets the wrong PINs of before.
func (t *attempt) setPIN(e permits.Entry, id permits.PersonID, hash string) {
	t.pins = append(t.pins, t.r.pins.row(id, hash, e.N))
}

// Rescue sets a new PIN for a chief engineer who has lost theirs, as an entry of the log by nobody, and returns it. It
// is for the server's own console: whoever can open the data folder may do it.
func (r *Register) Rescue(ctx context.Context, id permits.PersonID) (pin string, err error) {
	if pin, err = drawPIN(r.random); err != nil {
		return "", err
	}
	hash, err := r.pins.hash(ctx, id, pin)
	if err != nil {
		return "", err
	}
	err = r.perform(ctx, func(t *attempt) error {
		e, err := t.ship(t.r.NewActID(), permits.Person{}, permits.Signature{}, permits.SetPIN{Person: id, Rescue: true})
		if err == nil {
			t.setPIN(e, id, hash)
		}
		return err
	})
	if err != nil {
		return "", err
	}
	r.pins.tries.forget(id)
	return pin, nil
}

// drawPIN draws a PIN of eight digits that CheckPIN takes.
func drawPIN(random io.Reader) (string, error) {
	for {
		n, err := rand.Int(random, big.NewInt(100_000_000))
		if err != nil {
			return "", fmt.Errorf("draw a PIN: %w", err)
		}
		if pin := fmt.Sprintf("%08d", n); CheckPIN(pin) == nil {
			return pin, nil
		}
	}
}

// ownID looks at an act's id.
func ownID(id permits.ActID) (permits.ActID, error) {
	if !actIDPattern.MatchString(string(id)) {
		return "", invalidField("act_id", "The act has no id of its own, or not one of 8 to 64 letters, digits and "+
			"hyphens. Load the page anew.")
	}
	return id, nil
}

// AddPersonDoing puts somebody on the books together with their first PIN.
type AddPersonDoing struct {
	ID     permits.ActID
	By     permits.PersonID // who is signed in
	Signer permits.PersonID // who signs; "" is By
	PIN    string           // of the signer
	Person permits.Person
	New    string // the new person's first PIN
	Device string
}

// AddPerson puts somebody on the books together with their first PIN: two entries, both or none. The second has the
// act's id with ".pin" after it.
func (r *Register) AddPerson(ctx context.Context, d AddPersonDoing) error {
	act := Doing{ID: d.ID, Act: permits.AddPerson{Person: d.Person}, By: d.By, Signer: d.Signer, PIN: d.PIN,
		Device: d.Device}
	if _, err := ownID(d.ID); err != nil {
		return err
	}
	if err := CheckPIN(d.New); err != nil {
		return err
	}
	signed, err := r.signature(ctx, act)
	if err != nil {
		return err
	}
	hash, err := r.pins.hash(ctx, d.Person.ID, d.New)
	if err != nil {
		return err
	}
	var no *permits.Refusal
	err = r.perform(ctx, func(t *attempt) error {
		var got Receipt
		var err error
		if got, no, err = t.do(act, signed); err != nil || no != nil || got.Repeated {
			return err
		}
		e, err := t.ship(d.ID+".pin", signed.By(), permits.Signature{}, permits.SetPIN{Person: d.Person.ID})
		if err != nil {
			return err
		}
		t.setPIN(e, d.Person.ID, hash)
		return nil
	})
	if err == nil && no != nil {
		return no
	}
	return err
}

// FirstRun puts the chief engineer on the books of a register that knows nobody, with a PIN, and puts the shipped rules
// in force under the chief engineer's signature: three entries, all or none.
func (r *Register) FirstRun(ctx context.Context, chief permits.Person, pin string) error {
	if err := CheckPIN(pin); err != nil {
		return err
	}
	hash, err := r.pins.hash(ctx, chief.ID, pin)
	if err != nil {
		return err
	}
	rules := plantfile.ShippedRules()
	return r.perform(ctx, func(t *attempt) error {
		if len(t.state.ship.People) > 0 {
			return &permits.Refusal{Kind: permits.Conflict, Gate: "first run", What: "Somebody is on the ship's books already.",
				Opens: "Sign in."}
		}
		if _, err := t.ship(t.r.NewActID(), permits.Person{}, permits.Signature{},
			permits.AddPerson{Person: chief}); err != nil {
			return err
		}
		if err := t.adoptEdition(); err != nil {
			return err
		}
		e, err := t.ship(t.r.NewActID(), chief, permits.Signature{}, permits.SetPIN{Person: chief.ID})
		if err != nil {
			return err
		}
		t.setPIN(e, chief.ID, hash)
		signed, err := permits.Sign(chief, pin, justSet{chief.ID, pin}, t.at)
		if err != nil {
			return fmt.Errorf("sign the rules: %w", err)
		}
		_, err = t.ship(t.r.NewActID(), chief, signed, permits.AdoptRules{Name: "shipped.yaml", SHA256: rules.SHA256,
			Text: string(rules.Text)})
		return err
	})
}

// justSet takes the one PIN that is being set in the same act.
type justSet struct {
	id  permits.PersonID
	pin string
}

// VerifyPIN takes it.
func (j justSet) VerifyPIN(id permits.PersonID, pin string) error {
	if id == j.id && pin == j.pin {
		return nil
	}
	return errNoPIN
}
