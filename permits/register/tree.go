package register

import (
	"fmt"
	"math/bits"

	"golang.org/x/mod/sumdb/tlog"

	"stillwatch/permits/register/store"
)

// frontier holds the roots of the complete subtrees that a tree of this size falls into, one for every bit that is set
// in size, by level (a "compact range" from 0). It is all that is needed to put the next record in and to compute the
// tree's hash (RFC 6962,
// section 2.1; RFC 9162, section 2.1). The zero value is the empty tree.
type frontier struct {
	size int64
	at   [63]tlog.Hash
}

// ReadHashes returns stored hashes of the frontier, and an error for any other.
func (p *frontier) ReadHashes(indexes []int64) ([]tlog.Hash, error) {
	out := make([]tlog.Hash, len(indexes))
	for i, index := range indexes {
		level, m := tlog.SplitStoredHashIndex(index)
		if p.size>>level != m+1 || m&1 != 0 {
			return nil, fmt.Errorf("hash %d of level %d is not in the frontier of a tree of %d", m, level, p.size)
		}
		out[i] = p.at[level]
	}
	return out, nil
}

// add puts the next record's leaf hash in and returns what is stored with it: the leaf, then each subtree that it
// completes.
func (p *frontier) add(leaf tlog.Hash) ([]tlog.Hash, error) {
	stored, err := tlog.StoredHashesForRecordHash(p.size, leaf, p)
	if err != nil {
		return nil, err
	}
	p.at[len(stored)-1] = stored[len(stored)-1]
	p.size++
	return stored, nil
}

// root returns the hash of the tree.
func (p *frontier) root() (tlog.Hash, error) { return tlog.TreeHash(p.size, p) }

// pack joins hashes as they are stored in a row.
func pack(hashes []tlog.Hash) []byte {
	out := make([]byte, 0, len(hashes)*tlog.HashSize)
	for _, h := range hashes {
		out = append(out, h[:]...)
	}
	return out
}

// unpack is the inverse of pack. The row of record n must hold one hash more than n has trailing ones.
func unpack(n int64, row []byte) ([]tlog.Hash, error) {
	want := bits.TrailingZeros64(uint64(n+1)) + 1
	if len(row) != want*tlog.HashSize {
		return nil, fmt.Errorf("the hashes of entry %d are %d bytes, not %d", n, len(row), want*tlog.HashSize)
	}
	out := make([]tlog.Hash, want)
	for i := range out {
		copy(out[i][:], row[i*tlog.HashSize:])
	}
	return out, nil
}

// recordOf returns the record with which a stored hash was written, and the hash's place in its row.
func recordOf(index int64) (n int64, place int) {
	level, m := tlog.SplitStoredHashIndex(index)
	return (m+1)<<level - 1, level
}

// hashTable holds the hashes that are stored with each entry.
type hashTable interface {
	Hashes(n int64) (store.TreeRow, error)
}

// storedTree reads stored hashes from a database.
type storedTree struct{ hashTable }

// ReadHashes returns stored hashes by index.
func (t storedTree) ReadHashes(indexes []int64) ([]tlog.Hash, error) {
	out := make([]tlog.Hash, len(indexes))
	for i, index := range indexes {
		n, place := recordOf(index)
		row, err := t.Hashes(n)
		if err != nil {
			return nil, err
		}
		hashes, err := unpack(n, row.Hashes)
		if err != nil {
			return nil, err
		}
		out[i] = hashes[place]
	}
	return out, nil
}

// readFrontier reads the frontier of a tree of this size.
func readFrontier(v hashTable, size int64) (frontier, error) {
	p := frontier{size: size}
	for level := range 63 {
		if size>>level&1 == 0 {
			continue
		}
		h, err := storedTree{v}.ReadHashes([]int64{tlog.StoredHashIndex(level, size>>level-1)})
		if err != nil {
			return p, err
		}
		p.at[level] = h[0]
	}
	return p, nil
}
