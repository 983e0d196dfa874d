// Package register keeps the log of everything that happened, and what can be read from it. It is the only package
// that knows the database.
//
// The log is the truth: entries are numbered from 0, form a Merkle tree, and are never changed; triggers in the database
// forbid it and the signed head of the tree gives a change away. The other tables are projections, written in the
// same transaction and rebuildable from the log, except what must not be in the log at all: codes of tags, hashes of
// PINs, sessions. One writer decides and writes; acts that wait together share a commit; nothing is answered before it
// is on the disk.
//
// It must not know gates or states: package permits decides. It knows no web pages and no papers.
//
// It owns these files in the data folder: stillwatch.db (with its -wal and -shm), ship.key, pepper.key, stillwatch.lock.
//
// Begin with Open, Register.Do and Replay.
package register
