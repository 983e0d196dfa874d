package register

import (
	"context"
	"errors"
	"io"
	"log/slog"
	"time"

	"github.com/alexedwards/scs/v2"

	"stillwatch/isolation"
	"stillwatch/permits"
)

var errPending = errors.New("not yet")

// Options are what a test or the program sets; zero fields take the defaults.
type Options struct {
	Now    func() time.Time // time.Now
	Random io.Reader        // crypto/rand
	Logger *slog.Logger     // slog.Default
	Argon  Argon            // what a PIN's hash costs
}

// Argon is what the hash of a PIN costs (argon2id).
type Argon struct {
	MemoryKiB   uint32 // 19456 (19 MiB)
	Iterations  uint32 // 2
	Parallelism uint8  // 1
}

// Register is an open register.
type Register struct{}

// Open opens the register in a data folder.
func Open(ctx context.Context, dir string, o Options) (*Register, error) { return nil, errPending }

// Close ends the writer after the acts that it has taken.
func (r *Register) Close() error { return nil }

// NewActID draws an act's id for an act that is made here and not on a phone.
func (r *Register) NewActID() permits.ActID { return "" }

// Do does an act.
func (r *Register) Do(ctx context.Context, d Doing) (Receipt, error) { return Receipt{}, errPending }

// Permit gives a permit.
func (r *Register) Permit(ctx context.Context, id permits.PermitID) (permits.Permit, error) {
	return permits.Permit{}, errPending
}

// OpenPermits gives every permit that is not over, by number.
func (r *Register) OpenPermits() []permits.Permit { return nil }

// Permits lists permits, closed ones too.
func (r *Register) Permits(ctx context.Context, q PermitQuery) ([]PermitLine, error) {
	return nil, errPending
}

// Ship gives the ship.
func (r *Register) Ship() permits.Ship { return permits.Ship{} }

// Plant gives the plant in force, or nil.
func (r *Register) Plant() *isolation.Plant { return nil }

// Rules gives the rules in force.
func (r *Register) Rules() *isolation.Rules { return nil }

// Holdings gives what open permits hold.
func (r *Register) Holdings() []permits.Holding { return nil }

// FindTag says what a code stands for.
func (r *Register) FindTag(ctx context.Context, c permits.TagCode) (Tag, error) {
	return Tag{}, errPending
}

// TagCodes gives the codes of a permit's lock tags by step, for printing.
func (r *Register) TagCodes(ctx context.Context, id permits.PermitID) (map[int]permits.TagCode, error) {
	return nil, errPending
}

// LabelCodes gives the codes of the point labels that hold, for printing.
func (r *Register) LabelCodes(ctx context.Context) (map[isolation.NodeID]permits.TagCode, error) {
	return nil, errPending
}

// Entries lists entries.
func (r *Register) Entries(ctx context.Context, q EntryQuery) ([]permits.Entry, error) {
	return nil, errPending
}

// Entry gives one entry.
func (r *Register) Entry(ctx context.Context, n int64) (permits.Entry, error) {
	return permits.Entry{}, errPending
}

// SignIn checks a person's PIN and keeps an entry of it.
func (r *Register) SignIn(ctx context.Context, id permits.PersonID, pin, device string) (permits.Person, error) {
	return permits.Person{}, errPending
}

// SignOut keeps an entry of somebody's leaving a session.
func (r *Register) SignOut(ctx context.Context, id permits.PersonID) error { return errPending }

// SetPINDoing sets a person's PIN.
type SetPINDoing struct {
	ID     permits.ActID
	By     permits.PersonID // who is signed in and sets it: the person themselves, a chief engineer or the master
	ByPIN  string           // of By, as it stands
	Person permits.PersonID // whose PIN is set
	New    string
	Device string
}

// SetPIN sets a person's PIN.
func (r *Register) SetPIN(ctx context.Context, d SetPINDoing) error { return errPending }

// AddPersonDoing puts somebody on the books with a first PIN.
type AddPersonDoing struct {
	ID     permits.ActID
	By     permits.PersonID // who is signed in
	Signer permits.PersonID // who signs; "" is By
	PIN    string           // of the signer
	Person permits.Person
	New    string // the new person's first PIN
	Device string
}

// AddPerson puts somebody on the books together with their first PIN.
func (r *Register) AddPerson(ctx context.Context, d AddPersonDoing) error { return errPending }

// FirstRun puts the chief engineer on the books of an empty register.
func (r *Register) FirstRun(ctx context.Context, p permits.Person, pin string) error {
	return errPending
}

// NeedsFirstRun reports whether nobody is on the books yet.
func (r *Register) NeedsFirstRun() bool { return true }

// VerifyPIN checks a PIN; see permits.Verifier.
func (r *Register) VerifyPIN(id permits.PersonID, pin string) error { return errPending }

// Notices gives what the officer must be told.
func (r *Register) Notices(ctx context.Context) []Notice { return nil }

// Sessions gives a store for web sessions over the same database.
func (r *Register) Sessions() scs.Store { return nil }

// Head gives how far the log reaches.
func (r *Register) Head() Head { return Head{} }

// PublicKey gives the public half of the ship's key, as a note verifier key.
func (r *Register) PublicKey() string { return "" }

// Subscribe gives the entries that are written from now on.
func (r *Register) Subscribe() (entries <-chan permits.Entry, cancel func()) { return nil, func() {} }
