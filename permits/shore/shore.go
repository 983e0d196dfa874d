package shore

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"log/slog"
	"strings"
	"time"

	"stillwatch/permits/register"
	"stillwatch/permits/shore/store"
	"stillwatch/permits/shore/wire"
)

// Options are what a test or the program sets; zero fields take the defaults.
type Options struct {
	Now    func() time.Time // time.Now
	Logger *slog.Logger     // slog.Default
}

// Shore is the shore over one database. Its methods may be called by many at once, and any number of processes may have
// one over the same database.
type Shore struct {
	db        *store.Database
	now       func() time.Time
	log       *slog.Logger
	followers followers
}

// Open opens the shore over a database of PostgreSQL, and brings its tables on.
func Open(ctx context.Context, address string, o Options) (*Shore, error) {
	db, err := store.Open(ctx, address)
	if err != nil {
		return nil, err
	}
	s := &Shore{db: db, now: o.Now, log: o.Logger, followers: newFollowers()}
	if s.now == nil {
		s.now = time.Now
	}
	if s.log == nil {
		s.log = slog.Default()
	}
	return s, nil
}

// Close closes the connections.
func (s *Shore) Close() error { return s.db.Close() }

// Answers reports whether the database answers.
func (s *Shore) Answers(ctx context.Context) error { return s.db.Answers(ctx) }

// Refusal is a no to a ship.
type Refusal struct {
	Kind  string // of package wire
	Words string
}

// Error returns why.
func (r *Refusal) Error() string { return r.Words }

func refuse(kind, words string, args ...any) *Refusal {
	return &Refusal{kind, fmt.Sprintf(words, args...)}
}

// codeLife is how long a one-time code may be used.
const codeLife = 7 * 24 * time.Hour

// longestName is how many characters a ship's name may have.
const longestName = 60

// NewCode makes a one-time code by which a ship is enrolled under a name. With anew the ship's log of before ends and
// stays as it is: the next one is taken from its beginning.
func (s *Shore) NewCode(ctx context.Context, name string, anew bool) (string, error) {
	name = strings.Join(strings.Fields(name), " ")
	if name == "" || len([]rune(name)) > longestName {
		return "", fmt.Errorf("a ship's name has 1 to %d characters", longestName)
	}
	_, known, err := s.db.ByName(ctx, name)
	switch {
	case err != nil:
		return "", err
	case known && !anew:
		return "", fmt.Errorf("%s is enrolled; with --anew its log of before ends, and a new one begins", name)
	case !known && anew:
		return "", noShip(name)
	}
	code := rand.Text()[:15] // 75 bits
	err = s.db.AddEnrolment(ctx, store.EnrolmentRow{Digest: wire.CodeDigest(code), Name: name, Anew: anew,
		Until: s.now().Add(codeLife).UnixMicro()})
	return code[:5] + "-" + code[5:10] + "-" + code[10:], err
}

// Enrol takes a ship's key by a one-time code; the key signs that it is to be taken. Sent again it has the same answer.
func (s *Shore) Enrol(ctx context.Context, key string, q wire.EnrolRequest) (wire.Answer, error) {
	text, err := register.SignedText([]byte(q.Act), key)
	if err != nil || text != wire.EnrolText(q.Code, key) {
		return wire.Answer{}, refuse(wire.RefusedRequest, "The enrolment is not signed by the key that is to be enrolled.")
	}
	name, err := s.db.Enrol(ctx, wire.CodeDigest(q.Code), store.KeyRow{Key: key, At: s.now().UnixMicro(), Act: q.Act})
	switch {
	case errors.Is(err, store.ErrNoCode), errors.Is(err, store.ErrNameTaken), errors.Is(err, store.ErrKeyTaken):
		return wire.Answer{}, refuse(wire.RefusedCode, "The ship was not enrolled: %v. The office makes a new code.", err)
	case err != nil:
		return wire.Answer{}, err
	}
	s.log.Info("enrolled", "ship", name)
	return s.Position(ctx, key)
}

// ReplaceKey takes a ship's new key by an act that the old one and the new one have signed. Sent again it has the same
// answer.
func (s *Shore) ReplaceKey(ctx context.Context, old string, act []byte) (wire.Answer, error) {
	lines := strings.SplitN(string(act), "\n", 4)
	if len(lines) < 4 {
		return wire.Answer{}, refuse(wire.RefusedRequest, "What came is not the act that replaces a key.")
	}
	key := lines[2]
	text, err := register.SignedText(act, old, key)
	if is, ok := wire.NewKeyOf(text, old); err != nil || !ok || is != key {
		return wire.Answer{}, refuse(wire.RefusedRequest, "The act that replaces the key is not signed by the old and "+
			"the new one.")
	}
	err = s.db.InShip(ctx, old, func(l store.Locked) error { return l.SetKey(key, string(act), s.now().UnixMicro()) })
	if err != nil && !errors.Is(err, store.ErrNoShip) {
		return wire.Answer{}, err
	}
	return s.Position(ctx, key) // after an answer that was lost, the new key is known already
}

// Position returns what the shore has of the ship whose key asks.
func (s *Shore) Position(ctx context.Context, key string) (a wire.Answer, err error) {
	var ship store.Ship
	err = s.db.InShip(ctx, key, func(l store.Locked) error {
		ship = l.Ship
		return l.Hear(s.now().UnixMicro())
	})
	if errors.Is(err, store.ErrNoShip) {
		return a, unknownKey()
	}
	if err != nil {
		return a, err
	}
	return s.answer(ctx, ship)
}

// Knows returns a *Refusal for a key that no ship is enrolled with.
func (s *Shore) Knows(ctx context.Context, key string) error {
	_, found, err := s.db.ByKey(ctx, key)
	if err == nil && !found {
		return unknownKey()
	}
	return err
}

func unknownKey() *Refusal {
	return refuse(wire.RefusedKey, "The shore does not know this ship's key. The office makes a code, and the ship is "+
		"enrolled "+
		"with it.")
}

// answer says what the shore has of a ship, and the newest alarm about it.
func (s *Shore) answer(ctx context.Context, ship store.Ship) (wire.Answer, error) {
	a := wire.Answer{Ship: ship.Name, Size: ship.Size, Head: ship.Head}
	alarms, err := s.db.Alarms(ctx, ship.ID)
	if len(alarms) > 0 {
		a.Alarm = alarms[0].Words
	}
	return a, err
}
