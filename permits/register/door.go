package register

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"sync"
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

// door checks PINs. It counts the wrong ones, per person and per device, on the disk, so that a restart gives no free
// guesses, and slows down whoever guesses.
type door struct {
	r       *Register
	pepper  []byte
	params  *argon2id.Params
	nobody  string        // a hash that no PIN fits: an unknown person costs as long as a known one
	hashing chan struct{} // at most so many hashes at once

	mu      sync.Mutex
	tallies map[string]tally
	turns   map[permits.PersonID]*sync.Mutex // one PIN of a person at a time, so that guesses in parallel are counted too
}

// tally is the wrong PINs in a row at one door.
type tally struct {
	wrong int
	last  time.Time
	until time.Time // no PIN is taken before
}

// Somebody who guesses at another's PIN thereby keeps that person from signing for a while. That is taken into the
// bargain: it is told to the officer, the chief engineer can end it, and the other way round a PIN of six digits would
// not hold.
//
// Slow-down: a person's third wrong PIN in a row makes everybody wait 2 s, each further one twice as long, the tenth
// and every further one lockTime. A device has more goes, since several people use it, and its count ends after an
// hour of rest.
const (
	freeTries     = 2
	lockTries     = 10
	lockTime      = 15 * time.Minute
	deviceTries   = 30
	deviceRest    = time.Hour
	deviceTime    = 5 * time.Minute
	hashesAtOnce  = 2
	personSubject = "person "
	deviceSubject = "device "
)

func newDoor(r *Register, pepper []byte, cost Argon) *door {
	return &door{r: r, pepper: pepper, params: cost.params(), hashing: make(chan struct{}, hashesAtOnce),
		tallies: map[string]tally{}, turns: map[permits.PersonID]*sync.Mutex{}}
}

// load reads the counts and prepares the hash of nobody.
func (d *door) load(ctx context.Context) error {
	rows, err := d.r.db.Now(ctx).Tries()
	if err != nil {
		return err
	}
	for _, row := range rows {
		d.tallies[row.Subject] = tally{row.Wrong, fromMicro(row.Last), fromMicro(row.Until)}
	}
	d.nobody, err = d.hash(ctx, "nobody has this PIN")
	return err
}

// errNoPIN is the answer to a PIN that is not to be taken at all.
var errNoPIN = errors.New("no PIN is taken here")

// doorFor is the door as somebody meets it who signs on one device.
type doorFor struct {
	door   *door
	ctx    context.Context
	device string
}

// VerifyPIN takes a person's PIN or refuses it.
func (f doorFor) VerifyPIN(id permits.PersonID, pin string) error {
	return f.door.verify(f.ctx, id, pin, f.device)
}

// VerifyPIN takes a person's PIN or gives a refusal of kind Forbidden: a wrong PIN, or too many wrong ones lately. It
// costs tens of milliseconds and, if the PIN is wrong, an entry of the log. It makes a Register a permits.Verifier.
func (r *Register) VerifyPIN(id permits.PersonID, pin string) error {
	return r.door.verify(context.Background(), id, pin, "")
}

// verify takes a PIN at the door of a person and a device; device may be "".
func (d *door) verify(ctx context.Context, id permits.PersonID, pin, device string) error {
	turn := d.turnOf(id)
	turn.Lock()
	defer turn.Unlock()
	now := d.r.now()
	if err := d.mustWait(id, device, now); err != nil {
		return err
	}
	right, known, err := d.fits(ctx, id, pin)
	if err != nil {
		return err
	}
	if right {
		return d.clear(ctx, id)
	}
	return d.count(ctx, id, device, known, now)
}

func (d *door) turnOf(id permits.PersonID) *sync.Mutex {
	if _, known := d.r.Ship().Person(id); !known {
		id = "" // strangers share a turn, so that invented names fill no memory
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.turns[id] == nil {
		d.turns[id] = &sync.Mutex{}
	}
	return d.turns[id]
}

// mustWait refuses while no PIN is taken at either door. A clock that went back makes nobody wait longer than the
// longest time there is.
func (d *door) mustWait(id permits.PersonID, device string, now time.Time) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	for _, subject := range []string{personSubject + string(id), deviceSubject + device} {
		wait := min(d.tallies[subject].until.Sub(now), lockTime)
		if wait > 0 {
			return wrongPIN("Too many wrong PINs: none is taken for the next "+inWords(wait)+".",
				"Wait, then take care; or the chief engineer sets a new PIN.")
		}
	}
	return nil
}

func inWords(d time.Duration) string {
	s := int((d + time.Second - 1) / time.Second)
	if s < 120 {
		return fmt.Sprintf("%d seconds", s)
	}
	return fmt.Sprintf("%d minutes", (s+59)/60)
}

func wrongPIN(what, opens string) *permits.Refusal {
	return &permits.Refusal{Kind: permits.Forbidden, Gate: "signature", Field: "pin", What: what, Opens: opens}
}

// fits compares a PIN with the person's hash; known says whether there is such a person with a PIN.
func (d *door) fits(ctx context.Context, id permits.PersonID, pin string) (right, known bool, err error) {
	row, known, err := d.r.db.Now(ctx).PIN(string(id))
	if err != nil {
		return false, false, err
	}
	if !known {
		row.Hash = d.nobody
	}
	if err := d.enter(ctx); err != nil {
		return false, false, err
	}
	defer d.leave()
	right, err = argon2id.ComparePasswordAndHash(d.peppered(pin), row.Hash)
	if err != nil {
		return false, false, fmt.Errorf("compare the PIN of %s: %w", id, err)
	}
	return right && known, known, nil
}

// hash makes the hash of a PIN.
func (d *door) hash(ctx context.Context, pin string) (string, error) {
	if err := d.enter(ctx); err != nil {
		return "", err
	}
	defer d.leave()
	h, err := argon2id.CreateHash(d.peppered(pin), d.params)
	if err != nil {
		return "", fmt.Errorf("hash a PIN: %w", err)
	}
	return h, nil
}

func (d *door) enter(ctx context.Context) error {
	select {
	case d.hashing <- struct{}{}:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

func (d *door) leave() { <-d.hashing }

// peppered mixes the pepper in, so that who has the database alone cannot try PINs.
func (d *door) peppered(pin string) string {
	mac := hmac.New(sha256.New, d.pepper)
	mac.Write([]byte(pin))
	return hex.EncodeToString(mac.Sum(nil))
}

// clear forgets a person's wrong PINs after a right one.
func (d *door) clear(ctx context.Context, id permits.PersonID) error {
	subject := personSubject + string(id)
	d.mu.Lock()
	_, some := d.tallies[subject]
	delete(d.tallies, subject)
	d.mu.Unlock()
	if !some {
		return nil
	}
	return d.r.perform(ctx, func(t *attempt) error {
		t.beside.forgotten = append(t.beside.forgotten, subject)
		return nil
	})
}

// count counts a wrong PIN at both doors, keeps an entry of it, and returns the refusal. An unknown name is counted at
// the device only and keeps no entry, since anybody can type anything.
func (d *door) count(ctx context.Context, id permits.PersonID, device string, known bool, now time.Time) error {
	var rows []store.TriesRow
	no := wrongPIN("The PIN is not right.", "Try again with care.")
	var mine tally
	d.mu.Lock()
	if known {
		mine = d.tallies[personSubject+string(id)].next(now)
		rows = append(rows, d.setTally(personSubject+string(id), mine))
	}
	if device != "" {
		rows = append(rows, d.setTally(deviceSubject+device, d.tallies[deviceSubject+device].nextOfDevice(now)))
	}
	d.mu.Unlock()
	if wait := mine.until.Sub(now); wait > 0 {
		no.Opens = "No PIN of this person is taken for the next " + inWords(wait) + "."
	}
	err := d.r.perform(context.WithoutCancel(ctx), func(t *attempt) error {
		t.beside.tries = append(t.beside.tries, rows...)
		if !known {
			return nil
		}
		e, err := permits.DecideShip(t.state.setting(t.at, t.r.NewActID()),
			permits.RefusedPIN{Person: id, Tries: mine.wrong, Locked: mine.wrong >= lockTries, Device: clipped(device)})
		if err != nil {
			return fmt.Errorf("keep a wrong PIN: %w", err)
		}
		_, _, err = t.put(e)
		return err
	})
	if err != nil {
		return err
	}
	return no
}

// setTally keeps a count in memory and returns its row. The caller holds the lock.
func (d *door) setTally(subject string, t tally) store.TriesRow {
	d.tallies[subject] = t
	row := store.TriesRow{Subject: subject, Wrong: t.wrong, Last: t.last.UnixMicro()}
	if !t.until.IsZero() {
		row.Until = t.until.UnixMicro()
	}
	return row
}

// next returns a person's count after one more wrong PIN.
func (t tally) next(now time.Time) tally {
	t.wrong, t.last = t.wrong+1, now
	switch {
	case t.wrong >= lockTries:
		t.until = now.Add(lockTime)
	case t.wrong > freeTries:
		t.until = now.Add(time.Second << (t.wrong - freeTries))
	}
	return t
}

// nextOfDevice returns a device's count after one more wrong PIN.
func (t tally) nextOfDevice(now time.Time) tally {
	if now.Sub(t.last) > deviceRest {
		t.wrong = 0
	}
	t.wrong, t.last = t.wrong+1, now
	if t.wrong >= deviceTries {
		t.until = now.Add(deviceTime)
	}
	return t
}
