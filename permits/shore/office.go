package shore

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"sync"
	"time"

	"github.com/alexedwards/argon2id"

	"stillwatch/permits/shore/store"
)

// Person is somebody of the office. All of them read, and none changes anything.
type Person struct {
	Name string
	Ship string // the one ship that they may see, as an inspector does; "": every ship

	Stamp string // another one with each new password; who signs in gets it
}

// AddPerson puts somebody of the office on the books and returns a password for them; somebody who is there gets a new
// one.
func (s *Shore) AddPerson(ctx context.Context, p Person) (password string, err error) {
	p.Name = strings.Join(strings.Fields(p.Name), " ")
	if p.Name == "" || len([]rune(p.Name)) > longestName {
		return "", fmt.Errorf("a name has 1 to %d characters", longestName)
	}
	if p.Ship != "" {
		if _, err := s.Named(ctx, p.Ship); err != nil {
			return "", err
		}
	}
	text := rand.Text()[:15]
	password = text[:5] + "-" + text[5:10] + "-" + text[10:]
	hash, err := argon2id.CreateHash(password, argon2id.DefaultParams)
	if err != nil {
		return "", err
	}
	return password, s.db.SetPerson(ctx, store.OfficeRow{Name: p.Name, Hash: hash, Ship: p.Ship})
}

// RemovePerson takes somebody off the books: from the next page on they see nothing.
func (s *Shore) RemovePerson(ctx context.Context, name string) error {
	row, found, err := s.db.Person(ctx, name)
	if err == nil && !found {
		err = fmt.Errorf("nobody of the office is called %s", name)
	}
	if err != nil {
		return err
	}
	row.Gone = s.now().UnixMicro()
	return s.db.SetPerson(ctx, row)
}

// Passwords that are refused.
var (
	ErrPassword = errors.New("name and password do not go together")
	ErrWait     = errors.New("too many wrong passwords were tried; wait some minutes")
)

// After freeTries wrong passwords in a row, each further one makes the next wait twice as long, up to longestWait.
const (
	freeTries   = 5
	longestWait = 15 * time.Minute
)

// nobodysHash is the hash of a password that nobody has.
var nobodysHash = sync.OnceValue(func() string {
	hash, err := argon2id.CreateHash("nobody's", argon2id.DefaultParams)
	if err != nil {
		return ""
	}
	return hash
})

// SignIn checks a password.
func (s *Shore) SignIn(ctx context.Context, name, password string) (Person, error) {
	row, found, err := s.db.Person(ctx, name)
	if err != nil {
		return Person{}, err
	}
	if !found || row.Gone > 0 {
		row = store.OfficeRow{Hash: nobodysHash()} // so that a name that nobody has takes as long
	}
	now := s.now()
	if over := row.Wrong - freeTries; over >= 0 {
		wait := min(10*time.Second<<min(over, 10), longestWait)
		if now.Sub(time.UnixMicro(row.Tried)) < wait {
			return Person{}, ErrWait
		}
	}
	right, err := argon2id.ComparePasswordAndHash(strings.ToUpper(strings.TrimSpace(password)), row.Hash)
	if err != nil {
		return Person{}, err
	}
	if row.Name == "" {
		return Person{}, ErrPassword
	}
	if err := s.db.Try(ctx, name, right, now.UnixMicro()); err != nil {
		return Person{}, err
	}
	if !right {
		return Person{}, ErrPassword
	}
	return personOf(row), nil
}

// Person returns somebody of the office as the books know them now; ok is false for nobody, and for who has gone.
func (s *Shore) Person(ctx context.Context, name string) (p Person, ok bool, err error) {
	row, found, err := s.db.Person(ctx, name)
	return personOf(row), found && row.Gone == 0, err
}

func personOf(row store.OfficeRow) Person {
	sum := sha256.Sum256([]byte(row.Hash))
	return Person{Name: row.Name, Ship: row.Ship, Stamp: hex.EncodeToString(sum[:8])}
}

// Sessions returns the store of web sessions, in the same database.
func (s *Shore) Sessions() store.Sessions { return s.db.Sessions() }
