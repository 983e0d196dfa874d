package register

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"

	"golang.org/x/mod/sumdb/note"
	"golang.org/x/mod/sumdb/tlog"

	"stillwatch/permits/register/store"
)

// Segment is a run of entries of a log, [From, To), as it goes to a place that has the entries below From: under a
// head that the ship's key has signed for To entries, with the proof that the log of From entries is its beginning
// (RFC 9162, section 2.1.4).
type Segment struct {
	From, To int64
	Since    string      // hash of the log of From entries, 64 hex digits; "" where From is 0
	Proof    []tlog.Hash // that it is the beginning of the log of To entries
	Head     []byte      // signed
	Entries  [][]byte    // their bytes
}

// Bounds say how much goes into a segment; one entry always does.
type Bounds struct{ Entries, Bytes int }

// Segment returns the entries from a number on, as many as the bounds allow. Without entries from there on it is empty,
// and carries the newest head.
func (r *Register) Segment(ctx context.Context, from int64, most Bounds) (s Segment, err error) {
	err = r.db.Isolated(ctx, func(v store.View) error {
		size, _, _, err := readHead(v, r.key)
		if err != nil {
			return err
		}
		if from < 0 || from > size {
			return fmt.Errorf("the log has %d entries", size)
		}
		s, err = segment(v, from, size, most)
		if err != nil {
			return err
		}
		return s.prove(storedTree{v}, r.key)
	})
	if err != nil {
		return s, fmt.Errorf("cut the entries from %d on: %w", from, err)
	}
	return s, nil
}

// segment reads the entries.
func segment(v store.View, from, size int64, most Bounds) (Segment, error) {
	s := Segment{From: from, To: from}
	for bytes := 0; s.To < size && len(s.Entries) < max(most.Entries, 1); s.To++ {
		row, found, err := v.Entry(s.To)
		if err != nil || !found {
			return s, errors.Join(fmt.Errorf("entry %d is not there", s.To), err)
		}
		if bytes += len(row.Body); bytes > most.Bytes && len(s.Entries) > 0 {
			return s, nil
		}
		s.Entries = append(s.Entries, row.Body)
	}
	return s, nil
}

// prove puts in the head of the segment's end and the proof from its beginning.
func (s *Segment) prove(tree tlog.HashReader, k shipKey) error {
	root, err := tlog.TreeHash(s.To, tree)
	if err != nil {
		return err
	}
	if s.Head, err = k.sign(s.To, root); err != nil || s.From == 0 {
		return err
	}
	before, err := tlog.TreeHash(s.From, tree)
	if err != nil {
		return err
	}
	s.Since = hex.EncodeToString(before[:])
	s.Proof, err = tlog.ProveTree(s.To, s.From, tree)
	return err
}

// ErrSegment says that a segment does not hold together.
var ErrSegment = errors.New("the segment does not hold together")

// Check returns the head of the segment if the key has signed it for just these entries, and if the proof shows that
// the log of From entries that the segment names is its beginning.
func (s Segment) Check(key string) (Head, error) {
	head, err := OpenHead(s.Head, key)
	if err != nil {
		return head, err
	}
	switch {
	case s.From < 0 || head.Size != s.To || s.To-s.From != int64(len(s.Entries)):
		return head, fmt.Errorf("%w: it says that it goes from %d to %d, has %d entries, and its head signs %d", ErrSegment,
			s.From, s.To, len(s.Entries), head.Size)
	case s.From == 0:
		return head, nil
	}
	root, _ := head.root()
	before, ok := Head{Hash: s.Since}.root()
	if !ok {
		return head, fmt.Errorf("%w: the hash of its beginning is none", ErrSegment)
	}
	if err := tlog.CheckTree(s.Proof, s.To, root, s.From, before); err != nil {
		return head, fmt.Errorf("%w: the proof from %d to %d entries does not hold: %w", ErrSegment, s.From, s.To, err)
	}
	return head, nil
}

// OpenHead checks a signed head by the public half of the ship's key.
func OpenHead(signed []byte, key string) (Head, error) {
	v, err := note.NewVerifier(key)
	if err != nil {
		return Head{}, fmt.Errorf("read the key: %w", err)
	}
	return headOf(signed, v)
}

// Sign signs a text with the ship's key, as a note. The text ends with a line's end, and its first line says what it
// is, which is never a ship's key: so nobody takes it for a head.
func (r *Register) Sign(text string) ([]byte, error) { return r.key.signText(text) }

func (k shipKey) signText(text string) ([]byte, error) {
	signed, err := note.Sign(&note.Note{Text: text}, k.signer)
	if err != nil {
		return nil, fmt.Errorf("sign with the ship's key: %w", err)
	}
	return signed, nil
}

// SignedText returns the text of a note that all these keys have signed.
func SignedText(signed []byte, keys ...string) (string, error) {
	var known []note.Verifier
	for _, key := range keys {
		v, err := note.NewVerifier(key)
		if err != nil {
			return "", fmt.Errorf("read the key: %w", err)
		}
		known = append(known, v)
	}
	n, err := note.Open(signed, note.VerifierList(known...))
	if err != nil {
		return "", fmt.Errorf("check the signature: %w", err)
	}
	if len(n.Sigs) != len(keys) {
		return "", errors.New("check the signature: it is not signed by every key that it needs")
	}
	return n.Text, nil
}
