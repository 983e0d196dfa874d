package register

import (
	"encoding/hex"
	"fmt"
	"time"

	"golang.org/x/mod/sumdb/tlog"
)

// Head is how far the log reaches, and the hash over all of it.
type Head struct {
	Size   int64
	Hash   string    // of the tree (RFC 6962), 64 hex digits
	Short  string    // its first twelve digits in groups of four, for paper
	Signed []byte    // signed note: the key's name, the size, the hash in base 64, the signature; nil for an empty log
	At     time.Time // of the last entry; zero where only the signed head is known
}

// Head returns how far the log reaches, and the hash over all of it.
func (r *Register) Head() Head { return r.seen.Load().head }

// headFor returns the unsigned head of a tree.
func headFor(size int64, root tlog.Hash) Head {
	h := hex.EncodeToString(root[:])
	return Head{Size: size, Hash: h, Short: h[:4] + " " + h[4:8] + " " + h[8:12]}
}

// asHead returns the head of a tree with the note that signs it.
func (p *frontier) asHead(note []byte) (Head, error) {
	root, err := p.root()
	if err != nil {
		return Head{}, fmt.Errorf("compute the head: %w", err)
	}
	h := headFor(p.size, root)
	h.Signed = note
	return h, nil
}

// root returns the hash in bytes.
func (h Head) root() (root tlog.Hash, ok bool) {
	raw, err := hex.DecodeString(h.Hash)
	if err != nil || len(raw) != tlog.HashSize {
		return tlog.Hash{}, false
	}
	return tlog.Hash(raw), true
}
