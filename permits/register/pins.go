package register

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/alexedwards/argon2id"

	"stillwatch/permits"
	"stillwatch/permits/register/store"
)

// Argon is what the hash of a PIN costs (argon2id).
type Argon struct {
	MemoryKiB   uint32 // 19456: 19 MiB
	Iterations  uint32 // 2
	Parallelism uint8  // 1
}

// params fills in the least that OWASP's password storage cheat sheet asks for (argon2id, 19 MiB, two passes; from
// memory).
func (a Argon) params() *argon2id.Params {
	p := &argon2id.Params{Memory: 19 * 1024, Iterations: 2, Parallelism: 1, SaltLength: 16, KeyLength: 32}
	if a.MemoryKiB > 0 {
		p.Memory = a.MemoryKiB
	}
	if a.Iterations > 0 {
		p.Iterations = a.Iterations
	}
	if a.Parallelism > 0 {
		p.Parallelism = a.Parallelism
	}
	return p
}

// pins checks PINs and makes their hashes. Wrong ones are entries of the log, from which a restart counts them again,
// so that it gives no free guesses.
type pins struct {
	r       *Register
	pepper  []byte
	params  *argon2id.Params
	nobody  string // a hash that no PIN fits: an unknown person costs as long as a known one
	tries   *throttle
	signing chan struct{} // at most so many hashes at once, for those who are signed in or known on their device …
	others  chan struct{} // … and for strangers, who so hold nobody up
}

// How many hashes are made at once, and how many strangers may wait for theirs.
const (
	hashesAtOnce    = 2
	strangersAtOnce = 1
	strangersWait   = 5 * time.Second
)

func newPINs(r *Register, pepper []byte, cost Argon, uptime func() time.Duration) *pins {
	return &pins{r: r, pepper: pepper, params: cost.params(), tries: newThrottle(uptime),
		signing: make(chan struct{}, hashesAtOnce), others: make(chan struct{}, strangersAtOnce)}
}

// load counts the wrong PINs of the last day, and prepares the hash of nobody.
func (p *pins) load(ctx context.Context) error {
	list, err := p.r.Entries(ctx, EntryQuery{Kind: permits.KindRefusedPIN, Limit: 1000})
	if err != nil {
		return fmt.Errorf("count the wrong PINs: %w", err)
	}
	for _, e := range slices.Backward(list) {
		if a, ok := e.Act.(permits.RefusedPIN); ok && p.r.now().Sub(e.At) < onePerson.rest {
			p.tries.recall(a, max(0, p.r.now().Sub(e.At)))
		}
	}
	p.nobody, err = p.hash(ctx, "", "nobody has this PIN")
	return err
}

// errNoPIN is the answer to a PIN that is not to be taken at all.
var errNoPIN = errors.New("no PIN is taken here")

// pinFrom takes PINs that come from one origin.
type pinFrom struct {
	pins   *pins
	ctx    context.Context
	origin Origin
}

// VerifyPIN takes a person's PIN or refuses it.
func (f pinFrom) VerifyPIN(id permits.PersonID, pin string) error {
	return f.pins.verify(f.ctx, id, pin, f.origin)
}

// verify takes a person's PIN, or returns a refusal of kind Forbidden: a wrong PIN, or too many wrong ones from there.
// It costs tens of milliseconds and, if the PIN is wrong, an entry of the log.
func (p *pins) verify(ctx context.Context, id permits.PersonID, pin string, o Origin) error {
	_, known := p.r.Ship().Person(id)
	marked := known && p.isMarked(id, o.Mark)
	stranger := o.SignedIn == "" && !marked
	all := originsOf(id, known, marked, o)
	unlock := p.tries.lock(all[0].origin, stranger)
	defer unlock()
	if wait := p.tries.wait(all); wait > 0 {
		return wrongPIN("Too many wrong PINs came from here: none is taken for the next "+inWords(wait)+".",
			"Wait, or sign on a device on which you are signed in. The chief engineer can set a new PIN.")
	}
	right, err := p.fits(ctx, id, pin, stranger)
	switch {
	case err != nil:
		return err
	case right:
		p.tries.right(all)
		return nil
	}
	return p.count(ctx, id, known, all, o)
}

func wrongPIN(what, opens string) *permits.Refusal {
	return &permits.Refusal{Kind: permits.Forbidden, Gate: "signature", Field: "pin", What: what, Opens: opens}
}

// fits compares a PIN with the person's hash. A hash that is not the one whose entry the log has last is refused, and
// told: somebody has changed the database.
func (p *pins) fits(ctx context.Context, id permits.PersonID, pin string, stranger bool) (bool, error) {
	row, known, err := p.r.db.Now(ctx).PIN(string(id))
	if err != nil {
		return false, err
	}
	p.r.awaitShown(ctx, row.Entry)
	if known && !p.isOurs(row) {
		return false, &permits.Refusal{Kind: permits.Refused, Gate: "signature", Field: "pin",
			What:  "The stored PIN is not the one that the log knows of, so it is not taken.",
			Opens: "The chief engineer sets a new one, and has log verify run."}
	}
	if !known {
		row.Hash = p.nobody
	}
	leave, err := p.enter(ctx, stranger)
	if err != nil {
		return false, err
	}
	defer leave()
	right, err := argon2id.ComparePasswordAndHash(p.peppered(id, pin), row.Hash)
	if err != nil {
		return false, fmt.Errorf("compare the PIN of %s: %w", id, err)
	}
	return right && known, nil
}

// awaitShown waits until readers see an entry that may have reached the disk this moment: between the commit and the
// showing a row on the disk is newer than the state. A row of an entry that never comes is waited for no longer than a
// slow disk takes.
func (r *Register) awaitShown(ctx context.Context, n int64) {
	for range 200 {
		if n < r.Head().Size || ctx.Err() != nil {
			return
		}
		time.Sleep(5 * time.Millisecond)
	}
}

// hash makes the hash of a person's PIN.
func (p *pins) hash(ctx context.Context, id permits.PersonID, pin string) (string, error) {
	leave, err := p.enter(ctx, false)
	if err != nil {
		return "", err
	}
	defer leave()
	h, err := argon2id.CreateHash(p.peppered(id, pin), p.params)
	if err != nil {
		return "", fmt.Errorf("hash a PIN: %w", err)
	}
	return h, nil
}

// enter waits for a place to hash; a stranger not for long, so that a crowd of them fills no memory.
func (p *pins) enter(ctx context.Context, stranger bool) (leave func(), err error) {
	place := p.signing
	if stranger {
		place = p.others
		var stop context.CancelFunc
		ctx, stop = context.WithTimeoutCause(ctx, strangersWait, &permits.Refusal{Kind: permits.Forbidden,
			Gate: "signature", Field: "pin", What: "Too many are trying to sign in at this moment.",
			Opens: "Wait a little and try again."})
		defer stop()
	}
	select {
	case place <- struct{}{}:
		return func() { <-place }, nil
	case <-ctx.Done():
		return nil, context.Cause(ctx)
	}
}

// peppered mixes the pepper in, so that who has the database alone cannot try PINs, and the person, so that nobody's
// hash fits anybody else.
func (p *pins) peppered(id permits.PersonID, pin string) string {
	return p.mac("pin", string(id), pin)
}

// mac returns a code over texts that only who has the pepper can make, 64 hex digits.
func (p *pins) mac(texts ...string) string {
	mac := hmac.New(sha256.New, p.pepper)
	for _, t := range texts {
		fmt.Fprintf(mac, "%d:%s", len(t), t)
	}
	return hex.EncodeToString(mac.Sum(nil))
}

// row returns the row of a person's PIN that an entry sets.
func (p *pins) row(id permits.PersonID, hash string, entry int64) store.PINRow {
	row := store.PINRow{Person: string(id), Hash: hash, Entry: entry}
	row.Seal = p.seal(row)
	return row
}

func (p *pins) seal(row store.PINRow) string {
	return p.mac("pin row", row.Person, row.Hash, fmt.Sprint(row.Entry))
}

// isOurs reports whether a row is what the person's last entry of a PIN made.
func (p *pins) isOurs(row store.PINRow) bool {
	return p.r.Ship().PINs[permits.PersonID(row.Person)].Entry == row.Entry && hmac.Equal([]byte(p.seal(row)),
		[]byte(row.Seal))
}

// MarkDevice returns a mark by which a device is known again on which a person has signed in. It ends with the PIN.
func (r *Register) MarkDevice(id permits.PersonID) string {
	name := NewActID()
	return string(name) + "." + r.pins.markOf(id, string(name))
}

func (p *pins) markOf(id permits.PersonID, name string) string {
	return p.mac("device", string(id), name, fmt.Sprint(p.r.Ship().PINs[id].Entry))
}

func (p *pins) isMarked(id permits.PersonID, mark string) bool {
	name, code, ok := strings.Cut(mark, ".")
	return ok && hmac.Equal([]byte(code), []byte(p.markOf(id, name)))
}

// count counts a wrong PIN, keeps an entry of it, and returns the refusal. An unknown name keeps no entry, since
// anybody can type anything.
func (p *pins) count(ctx context.Context, id permits.PersonID, known bool, all []counted, o Origin) error {
	wrong, wait := p.tries.wrong(all)
	no := wrongPIN("The PIN is not right.", "Try again with care.")
	if wait > 0 {
		no.Opens = "From here none is taken for the next " + inWords(wait) + "."
	}
	if !known {
		return no
	}
	err := p.r.perform(context.WithoutCancel(ctx), func(t *attempt) error {
		_, err := t.ship(t.r.NewActID(), t.state.ship.People[o.SignedIn], permits.Signature{},
			permits.RefusedPIN{Person: id, Tries: wrong, Locked: wrong >= lockTries, Device: clipped(o.Address),
				From: clipped(all[0].from)})
		return err
	})
	if err != nil {
		return err
	}
	return no
}
