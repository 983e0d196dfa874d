package register

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"golang.org/x/mod/sumdb/note"
	"golang.org/x/mod/sumdb/tlog"

	"stillwatch/permits/register/store"
)

// Signer signs texts with a ship's key, as Register.Sign does.
type Signer struct{ k shipKey }

// SignerOf returns the signer of a data folder, also beside a running program.
func SignerOf(dir string) (Signer, error) {
	k, err := readKey(dir)
	return Signer{k}, err
}

// Sign signs a text.
func (s Signer) Sign(text string) ([]byte, error) { return s.k.signText(text) }

// PublicKey returns the public half, as a note verifier key.
func (s Signer) PublicKey() string { return s.k.public }

// NewKeyText is what a ship's old key and its new one both sign, so that the new one is taken.
func NewKeyText(old, key string) string { return "stillwatch new key\n" + old + "\n" + key + "\n" }

// Names of the key that will be, until it is taken, and of the one that was.
const (
	nextKey = "ship.key.next"
	oldKey  = "ship.key.old"
)

// ReplaceKey draws a new key for a folder on which no program runs, has it taken outside by take, which gets the act
// that both keys have signed, and then signs the log's head anew with it. If it breaks off, it goes on where it was
// when it is run again: take is then asked once more with the same act. It returns the new public half.
func ReplaceKey(ctx context.Context, dir string, take func(ctx context.Context, old Signer,
	act []byte) error) (string, error) {
	lock, old, db, err := openStopped(ctx, dir)
	if err != nil {
		return "", err
	}
	next, err := nextOf(dir)
	if err == nil {
		var act []byte
		if act, err = note.Sign(&note.Note{Text: NewKeyText(old.public, next.public)}, old.signer, next.signer); err == nil {
			err = take(ctx, Signer{old}, act)
		}
	}
	if err == nil {
		err = signAnew(ctx, db, old, next)
	}
	if err == nil {
		err = exchangeKeys(dir)
	}
	if err = errors.Join(err, db.Close(), lock.Close()); err != nil {
		return "", fmt.Errorf("replace the ship's key: %w", err)
	}
	return next.public, nil
}

// nextOf returns the key that will be: the one that was drawn before, if it broke off then.
func nextOf(dir string) (shipKey, error) {
	path := filepath.Join(dir, nextKey)
	drawn, err := exists(path)
	if err == nil && !drawn {
		err = makeKeyFile(path, rand.Reader)
	}
	if err != nil {
		return shipKey{}, err
	}
	return readKeyFile(path)
}

// signAnew puts a signature of the next key under the log's head. A head that the next key has signed already stays.
func signAnew(ctx context.Context, db *store.Database, old, next shipKey) error {
	row, found, err := db.Now(ctx).Head()
	if err != nil || !found {
		return err
	}
	if _, _, err := openHead([]byte(row.Note), next.verifier); err == nil {
		return nil
	}
	size, root, err := openHead([]byte(row.Note), old.verifier)
	if err != nil {
		return err
	}
	signed, err := next.sign(size, tlog.Hash(root))
	if err != nil {
		return err
	}
	return db.Exec(ctx, "UPDATE head SET note = ? WHERE size = ?", string(signed), size)
}

// exchangeKeys makes the next key the ship's, and keeps the one of before.
func exchangeKeys(dir string) error {
	file := func(name string) string { return filepath.Join(dir, name) }
	if err := os.RemoveAll(file(oldKey)); err != nil {
		return err
	}
	if err := os.Link(file(keyFile), file(oldKey)); err != nil {
		return err
	}
	return os.Rename(file(nextKey), file(keyFile))
}
