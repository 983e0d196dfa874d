package register

import (
	"context"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"

	"golang.org/x/mod/sumdb/note"
	"golang.org/x/mod/sumdb/tlog"

	"stillwatch/permits"
	"stillwatch/permits/register/store"
)

// Proof shows to somebody who has the ship's public key, and nothing else of the log, either that one entry is in it
// (an audit path, RFC 6962, section 2.1.1), or that an earlier head is of the same log, only shorter (a consistency
// proof, section 2.1.2).
type Proof struct {
	Format int             `json:"stillwatch_proof"`
	N      *int64          `json:"n,omitempty"`      // of an entry
	Entry  json.RawMessage `json:"entry,omitempty"`  // its bytes
	Since  *int64          `json:"since,omitempty"`  // size of the earlier head
	Before string          `json:"before,omitempty"` // hash of the earlier head, 64 hex digits
	Path   []tlog.Hash     `json:"path"`
	Head   string          `json:"head"` // signed
}

// ProveEntry proves that entry n of a data folder's log is in it.
func ProveEntry(ctx context.Context, dir string, n int64) (Proof, error) {
	return prove(ctx, dir, func(v store.View, size int64, p *Proof) (err error) {
		row, found, err := v.Entry(n)
		if !found || err != nil || n >= size {
			return errors.Join(fmt.Errorf("the log has no entry %d: it has %d", n, size), err)
		}
		p.N, p.Entry = &n, row.Body
		p.Path, err = tlog.ProveRecord(size, n, storedTree{v})
		return err
	})
}

// ProveSince proves that the log of a data folder has only grown since it had this size.
func ProveSince(ctx context.Context, dir string, since int64) (Proof, error) {
	return prove(ctx, dir, func(v store.View, size int64, p *Proof) (err error) {
		if since < 1 || since > size {
			return fmt.Errorf("the log has never had %d entries and a head: it has %d", since, size)
		}
		before, err := tlog.TreeHash(since, storedTree{v})
		if err != nil {
			return err
		}
		p.Since, p.Before = &since, hex.EncodeToString(before[:])
		p.Path, err = tlog.ProveTree(size, since, storedTree{v})
		return err
	})
}

// prove makes a proof on the log as it stands at one moment, and checks it before giving it away.
func prove(ctx context.Context, dir string, fill func(store.View, int64, *Proof) error) (Proof, error) {
	k, err := readKey(dir)
	if err != nil {
		return Proof{}, err
	}
	db, err := store.OpenToRead(dir)
	if err != nil {
		return Proof{}, err
	}
	p := Proof{Format: exportFormat}
	err = db.Isolated(ctx, func(v store.View) error {
		size, _, note, err := readHead(v, k)
		if err != nil {
			return err
		}
		p.Head = string(note)
		return fill(v, size, &p)
	})
	if err = errors.Join(err, db.Close()); err != nil {
		return Proof{}, fmt.Errorf("prove from the log in %s: %w", dir, err)
	}
	if _, err := p.Check(k.public); err != nil {
		return Proof{}, fmt.Errorf("prove from the log in %s: the proof does not hold (run log verify): %w", dir, err)
	}
	return p, nil
}

// Check says in words what the proof proves under a public key, or why it proves nothing.
func (p Proof) Check(key string) (string, error) {
	v, err := note.NewVerifier(key)
	if err != nil {
		return "", fmt.Errorf("read the key: %w", err)
	}
	size, root, err := openHead([]byte(p.Head), v)
	if err != nil {
		return "", err
	}
	switch {
	case p.N != nil && p.Since == nil:
		if *p.N < 0 || *p.N >= size {
			return "", fmt.Errorf("entry %d is not below the head's size %d", *p.N, size)
		}
		if err := tlog.CheckRecord(p.Path, size, root, *p.N, tlog.RecordHash(p.Entry)); err != nil {
			return "", fmt.Errorf("entry %d is not in the log of this head: %w", *p.N, err)
		}
		e, err := permits.DecodeEntry(*p.N, p.Entry)
		if err != nil {
			return "", fmt.Errorf("read entry %d: %w", *p.N, err)
		}
		by := ""
		if e.By != "" {
			by = " by " + string(e.By)
		}
		return fmt.Sprintf("entry %d (%s%s, %s) is in the log of %d entries that %s signed", e.N, e.Kind, by,
			e.At.Format("2006-01-02 15:04:05 MST"), size, v.Name()), nil
	case p.Since != nil && p.N == nil:
		before, ok := Head{Hash: p.Before}.root()
		if !ok || *p.Since < 1 || *p.Since > size {
			return "", errors.New("the earlier head is none")
		}
		if err := tlog.CheckTree(p.Path, size, root, *p.Since, before); err != nil {
			return "", fmt.Errorf("the log of %d entries is not the beginning of this one: %w", *p.Since, err)
		}
		return "the log of " + strconv.FormatInt(*p.Since, 10) + " entries with the hash " + p.Before +
			" is the beginning of the log of " +
			strconv.FormatInt(size, 10) + " entries that " + v.Name() + " signed", nil
	}
	return "", errors.New("the proof is neither of an entry nor of an earlier head")
}

// ParseProof reads a proof.
func ParseProof(text []byte) (Proof, error) {
	var p Proof
	if err := json.Unmarshal(text, &p); err != nil {
		return p, fmt.Errorf("read a proof: %w", err)
	}
	if p.Format != exportFormat {
		return p, fmt.Errorf("read a proof: %w", ErrNotLog)
	}
	return p, nil
}
