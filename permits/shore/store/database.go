package store

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"
	"gorm.io/driver/postgres"
	"gorm.io/gorm"
	"gorm.io/gorm/logger"
)

// Database is an open database. Its methods may be called by many at once, and by several processes on the same one.
type Database struct {
	pool *sql.DB
	db   *gorm.DB
}

// mostConnections is how many connections one process holds at most. PostgreSQL lets 100 in, unless told otherwise.
const mostConnections = 24

// Open opens a database and brings its tables to what this program needs. The address is postgres://user@host/name, or
// any that the driver takes.
func Open(ctx context.Context, address string) (*Database, error) {
	config, err := pgx.ParseConfig(address)
	if err != nil {
		return nil, errors.New("read the address of the database: it is not of the form " +
			"postgres://user@host/name") // no PIN in it
	}
	pool := stdlib.OpenDB(*config)
	pool.SetMaxOpenConns(mostConnections)
	pool.SetMaxIdleConns(mostConnections)
	db, err := gorm.Open(postgres.New(postgres.Config{Conn: pool}), &gorm.Config{Logger: logger.Discard,
		SkipDefaultTransaction: true, DisableAutomaticPing: true})
	d := &Database{pool: pool, db: db}
	if err == nil {
		err = d.onConnection(ctx, func(c *pgx.Conn) error { return migrate(ctx, c) })
	}
	if err != nil {
		return nil, errors.Join(fmt.Errorf("open the database: %w", err), pool.Close())
	}
	return d, nil
}

// Close closes every connection.
func (d *Database) Close() error { return d.pool.Close() }

// Answers reports whether the database answers.
func (d *Database) Answers(ctx context.Context) error { return d.pool.PingContext(ctx) }

// onConnection runs f on one connection of the driver's own.
func (d *Database) onConnection(ctx context.Context, f func(*pgx.Conn) error) error {
	conn, err := d.pool.Conn(ctx)
	if err != nil {
		return err
	}
	defer conn.Close() // gives it back to the pool
	return conn.Raw(func(c any) error { return f(c.(*stdlib.Conn).Conn()) })
}

//go:embed migrations/*.sql
var migrations embed.FS

// ErrNewer says that a newer program has brought the tables on.
var ErrNewer = errors.New("the database was written by a newer version of this program")

// migrateLock keeps two processes from bringing the tables on at once.
const migrateLock = 0x5717_7a7c

// migrate runs the files of migrations that the database has not seen, each in its order, all in one transaction.
func migrate(ctx context.Context, c *pgx.Conn) error {
	files, err := fs.Glob(migrations, "migrations/*.sql")
	if err != nil {
		return err
	}
	return pgx.BeginFunc(ctx, c, func(tx pgx.Tx) error {
		var have int
		_, err := tx.Exec(ctx, "SELECT pg_advisory_xact_lock($1)", migrateLock)
		if err == nil {
			_, err = tx.Exec(ctx, "CREATE TABLE IF NOT EXISTS format (version bigint NOT NULL)")
		}
		if err == nil {
			err = tx.QueryRow(ctx, "SELECT coalesce(max(version), 0) FROM format").Scan(&have)
		}
		if err == nil && have > len(files) {
			err = ErrNewer
		}
		if err != nil || have == len(files) {
			return err
		}
		for _, name := range files[have:] {
			text, err := migrations.ReadFile(name)
			if err == nil {
				_, err = tx.Exec(ctx, string(text))
			}
			if err != nil {
				return fmt.Errorf("bring the tables on by %s: %w", name, err)
			}
		}
		_, err = tx.Exec(ctx, "INSERT INTO format VALUES ($1)", len(files))
		return err
	})
}
