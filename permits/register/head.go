package register

import "time"

// Head is how far the log reaches, and the hash over all of it.
type Head struct {
	Size   int64
	Hash   string    // of the tree (RFC 6962), 64 hex digits
	Short  string    // its first twelve digits in groups of four, for paper
	Signed []byte    // signed note: the key's name, the size, the hash in base 64, the signature; nil for an empty log
	At     time.Time // of the last entry
}
