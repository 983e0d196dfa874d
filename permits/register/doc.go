// Package register keeps the log of everything that happened, and what can be read from it. Its tables and all SQL are
// in package store; nobody else may ask that one.
//
// How the hash is made, for whoever checks it without this program (RFC 6962, section 2.1): the leaf of an entry is
// SHA-256 over a zero byte and the entry's bytes; a node is SHA-256 over a one and the hashes of its two halves, the
// left one being the largest power of two below. The bytes of an entry are the column body, and in an exported log what
// stands after "entry": in its line. The head is a note (golang.org/x/mod/sumdb/note) of three lines: the key's name,
// the number of entries, the hash in base 64.
//
// The log is the truth: entries are numbered from 0, form a Merkle tree, and are never changed; triggers in the
// database forbid it and the signed head of the tree gives a change away. The other tables are projections, written in
// the same transaction and rebuildable from the log, except what must not be in the log at all: codes of tags, hashes
// of PINs, sessions. One writer decides and writes; acts that wait together share a commit; nothing is answered before
// it is on the disk.
//
// It must not know gates or states: package permits decides. It knows no web pages and no papers.
//
// It owns these files in the data folder: ship.key, pepper.key, stillwatch.lock, and by package store stillwatch.db
// (with its -wal and -shm).
//
// Begin with Open, Register.Do and Replay.
package register
