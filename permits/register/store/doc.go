// Package store is the register's SQLite database: its schema, the rows of its tables, and every read and write. It is
// the only package that writes SQL, and nothing of gorm leaves it.
//
// It knows no act and no gate: kinds, states and people are texts here, moments are microseconds since 1970 (UTC), and
// the body of an entry is bytes.
//
// Two ways lead into the file: one connection that writes, in WAL mode with synchronous=FULL, and a few that read.
// Triggers forbid changing or removing an entry; Open refuses a database in which one of them is missing.
//
// Begin with Open, Database.Commit and View.
package store
