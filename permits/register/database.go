package register

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"log/slog"
	"net/url"
	"os"
	"path/filepath"

	"gorm.io/driver/sqlite"
	"gorm.io/gorm"
	"gorm.io/gorm/logger"
	driver "modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// database is the two ways into one SQLite file: one connection that writes, a few that read.
type database struct {
	dir string
	// one connection; its transactions take the write lock at once. nil if the database was opened to be read
	write *gorm.DB
	read  *gorm.DB
	pools []*sql.DB // the writer's first, if there is one
	hot   hot
	file  os.FileInfo // the file that was opened: if another lies there, or none, the folder was lost
}

// Pragmas are in the address, since only so does every connection of a pool get them.
func address(path string, pragmas ...string) string {
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
	pool, err := sql.Open("sqlite", address(path, pragmas...))
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

// openDatabase opens the file, for writing too if asked, and looks at nothing in it.
func openDatabase(dir string, writing bool) (*database, error) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return nil, fmt.Errorf("find the data folder %s: %w", dir, err)
	}
	d := &database{dir: dir}
	path := d.path()
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
		return nil, errors.Join(err, d.close())
	}
	d.read, d.pools = db, append(d.pools, pool)
	return d, nil
}

func (d *database) path() string { return filepath.Join(d.dir, databaseFile) }

func (d *database) writePool() *sql.DB { return d.pools[0] }
func (d *database) readPool() *sql.DB  { return d.pools[len(d.pools)-1] }

func (d *database) close() error {
	var errs []error
	for i := len(d.pools) - 1; i >= 0; i-- { // the writer last: it folds the write-ahead log into the file
		errs = append(errs, d.pools[i].Close())
	}
	return errors.Join(errs...)
}

// errLost says that the database file is not where it was.
var errLost = errors.New("the data folder was lost or exchanged while the program ran")

// stillThere reports errLost if the file that was opened no longer lies in the folder: what is written now would be
// gone with the next restart.
func (d *database) stillThere() error {
	now, err := os.Stat(d.path())
	if err != nil {
		return fmt.Errorf("%w: %w", errLost, err)
	}
	if !os.SameFile(d.file, now) {
		return errLost
	}
	return nil
}

// isolated runs f in one transaction that sees the database at one moment.
func (d *database) isolated(ctx context.Context, f func(tx *gorm.DB) error) error {
	return d.read.WithContext(ctx).Transaction(f, &sql.TxOptions{ReadOnly: true})
}

// diskTrouble gives, in words for the officer, what SQLite says of the disk; "" for an error of another sort.
func diskTrouble(err error) string {
	var e *driver.Error
	switch {
	case errors.Is(err, errLost):
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

func orDefaultLogger(l *slog.Logger) *slog.Logger {
	if l == nil {
		return slog.Default()
	}
	return l
}
