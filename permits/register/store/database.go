package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"

	"gorm.io/driver/sqlite"
	"gorm.io/gorm"
	"gorm.io/gorm/logger"
	driver "modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// File is the name of the database's file in the data folder.
const File = "stillwatch.db"

// Database is an open database. Its methods may be called by many at once.
type Database struct {
	dir string
	// one connection; its transactions take the write lock at once. nil if the database was opened to be read
	write *gorm.DB
	read  *gorm.DB
	pools []*sql.DB   // the writer's first, if there is one
	file  os.FileInfo // the file that was opened: if another lies there, or none, the folder was lost

	insertions insertions // prepared by Open
}

// Address returns the address by which database/sql opens a file. The pragmas are in it, since only so does every
// connection of a pool get them.
func Address(path string, pragmas ...string) string {
	q := url.Values{"_txlock": {"immediate"}}
	for _, p := range append([]string{"busy_timeout(10000)", "foreign_keys(1)", "trusted_schema(0)"}, pragmas...) {
		q.Add("_pragma", p)
	}
	return (&url.URL{Scheme: "file", OmitHost: true, Path: filepath.ToSlash(path), RawQuery: q.Encode()}).String()
}

// writerPragmas are what the one connection that writes is told. FULL: a commit is on the disk before it is answered.
// What SQLite keeps to undo a single statement stays in memory, and the write-ahead log is folded into the file every 4
// 000 pages instead of 1 000, by when most of them have been written anew. (A larger page cache was tried: it made a
// long load slower.)
var writerPragmas = []string{"journal_mode(WAL)", "synchronous(FULL)", "temp_store(MEMORY)", "wal_autocheckpoint(4000)"}

func openPool(path string, most int, prepare bool, pragmas ...string) (*sql.DB, *gorm.DB, error) {
	pool, err := sql.Open("sqlite", Address(path, pragmas...))
	if err != nil {
		return nil, nil, fmt.Errorf("open %s: %w", path, err)
	}
	pool.SetMaxOpenConns(most)
	pool.SetMaxIdleConns(most)
	db, err := gorm.Open(sqlite.New(sqlite.Config{Conn: pool}), &gorm.Config{
		Logger: logger.Discard, SkipDefaultTransaction: true, DisableAutomaticPing: true, PrepareStmt: prepare,
		PrepareStmtMaxSize: 100,
	})
	if err != nil {
		return nil, nil, errors.Join(fmt.Errorf("open %s: %w", path, err), pool.Close())
	}
	return pool, db, nil
}

// OpenToRead opens a database that only reads, also beside a running program, and looks at nothing in it.
func OpenToRead(dir string) (*Database, error) { return openDatabase(dir, false) }

// OpenFile opens a database for reading and writing and looks at nothing in it.
func OpenFile(dir string) (*Database, error) { return openDatabase(dir, true) }

// Open opens the database of a running program: for reading and writing, with the schema in an empty file. It refuses a
// file that is no register, one of another format (ErrNewer, ErrOlder), and one in which a guard of the log is missing.
func Open(ctx context.Context, dir string) (*Database, error) {
	d, err := openDatabase(dir, true)
	if err != nil {
		return nil, err
	}
	err = d.fill(ctx)
	if err == nil {
		err = d.Now(ctx).CheckGuards()
	}
	if err == nil {
		err = d.insertions.prepare(ctx, d.pools[0])
	}
	if err != nil {
		return nil, errors.Join(err, d.Close())
	}
	return d, nil
}

func openDatabase(dir string, writing bool) (*Database, error) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return nil, fmt.Errorf("find the data folder %s: %w", dir, err)
	}
	d := &Database{dir: dir}
	path := d.Path()
	if d.file, err = os.Stat(path); err != nil {
		return nil, fmt.Errorf("open the database: %w", err)
	}
	if writing {
		pool, db, err := openPool(path, 1, false, writerPragmas...)
		if err != nil {
			return nil, err
		}
		d.write, d.pools = db, append(d.pools, pool)
	}
	pool, db, err := openPool(path, 4, true, "query_only(1)")
	if err != nil {
		return nil, errors.Join(err, d.Close())
	}
	d.read, d.pools = db, append(d.pools, pool)
	return d, nil
}

// Dir returns the data folder, absolute.
func (d *Database) Dir() string { return d.dir }

// Path returns the path of the database's file.
func (d *Database) Path() string { return filepath.Join(d.dir, File) }

// Close closes every connection.
func (d *Database) Close() error {
	var errs []error
	for i := len(d.pools) - 1; i >= 0; i-- { // the writer last: it folds the write-ahead log into the file
		errs = append(errs, d.pools[i].Close())
	}
	return errors.Join(errs...)
}

// ErrLost says that the database file is not where it was.
var ErrLost = errors.New("the data folder was lost or exchanged while the program ran")

// StillThere reports ErrLost if the file that was opened no longer lies in the folder: what is written now would be
// gone with the next restart.
func (d *Database) StillThere() error {
	now, err := os.Stat(d.Path())
	if err != nil {
		return fmt.Errorf("%w: %w", ErrLost, err)
	}
	if !os.SameFile(d.file, now) {
		return ErrLost
	}
	return nil
}

// View is a way to read: by Database.Now each question on the newest commit, within Database.Isolated all on the same.
type View struct{ db *gorm.DB }

// Now returns a view whose every question sees the newest commit.
func (d *Database) Now(ctx context.Context) View { return View{d.read.WithContext(ctx)} }

// Isolated runs f in one transaction that sees the database at one moment.
func (d *Database) Isolated(ctx context.Context, f func(v View) error) error {
	return d.read.WithContext(ctx).Transaction(func(tx *gorm.DB) error { return f(View{tx}) },
		&sql.TxOptions{ReadOnly: true})
}

// CopyTo writes a copy of the database as it stands at one moment into a file that is there and empty.
func (d *Database) CopyTo(ctx context.Context, file string) error {
	if err := d.Exec(ctx, "VACUUM INTO ?", file); err != nil {
		return fmt.Errorf("write %s: %w", file, err)
	}
	return nil
}

// Exec runs a statement on the one connection that writes.
func (d *Database) Exec(ctx context.Context, text string, values ...any) error {
	return d.write.WithContext(ctx).Exec(text, values...).Error
}

// Trouble returns, in words for the officer, what SQLite says of the disk; "" for an error of another sort.
func Trouble(err error) string {
	var e *driver.Error
	switch {
	case errors.Is(err, ErrLost):
		return "The data folder was lost or exchanged while the program ran."
	case !errors.As(err, &e):
		return ""
	}
	switch e.Code() & 0xff {
	case sqlite3.SQLITE_FULL:
		return "The disk is full."
	case sqlite3.SQLITE_READONLY:
		return "The disk, or the database file, can be read but not written."
	case sqlite3.SQLITE_IOERR:
		return "The disk reports errors."
	case sqlite3.SQLITE_CANTOPEN:
		return "The database file cannot be opened."
	case sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB:
		return "The database file is damaged."
	case sqlite3.SQLITE_BUSY:
		return "Another program holds the database."
	}
	return ""
}
