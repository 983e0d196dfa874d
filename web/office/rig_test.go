package office

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"runtime"
	"strconv"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	_ "github.com/jackc/pgx/v5/stdlib"

	"stillwatch/permits/shore"
)

// The tests run against a PostgreSQL of their own: a cluster in a folder that is gone afterwards, reached by a socket
// in it. It runs as the user postgres, or nobody where root tests, since PostgreSQL does not run as root.

var cluster struct {
	once    sync.Once
	dir     string // "": there is none
	why     string // there is none
	stop    func()
	numbers atomic.Int64
}

func TestMain(m *testing.M) {
	if address := os.Getenv(childAddress); address != "" {
		os.Exit(serveAsChild(address))
	}
	status := m.Run()
	if cluster.stop != nil {
		cluster.stop()
	}
	os.Exit(status)
}

// database returns the address of a new database. Without PostgreSQL the test is skipped, and with CI=true it fails.
func database(t testing.TB) string {
	t.Helper()
	cluster.once.Do(startCluster)
	if cluster.dir == "" {
		if os.Getenv("CI") == "true" {
			t.Fatalf("PostgreSQL is needed: %s", cluster.why)
		}
		t.Skipf("needs PostgreSQL (Debian: apt-get install postgresql): %s", cluster.why)
	}
	name := "shore" + strconv.FormatInt(cluster.numbers.Add(1), 10)
	pool, err := sql.Open("pgx", addressOf("postgres"))
	if err != nil {
		t.Fatal(err)
	}
	defer pool.Close()
	if _, err := pool.Exec("CREATE DATABASE " + name); err != nil {
		t.Fatal(err)
	}
	return addressOf(name)
}

func addressOf(name string) string {
	return "postgres://shore@/" + name + "?host=" + cluster.dir
}

func startCluster() {
	bin, err := binaries()
	if err != nil {
		cluster.why = err.Error()
		return
	}
	dir, err := os.MkdirTemp("", "pg")
	if err != nil {
		cluster.why = err.Error()
		return
	}
	run := func(name string, args ...string) error {
		cmd := exec.Command(filepath.Join(bin, name), args...)
		cmd.Dir = dir
		asOther(cmd, dir)
		var said bytes.Buffer
		cmd.Stdout, cmd.Stderr = &said, &said
		if name == "pg_ctl" {
			cmd.Stdout, cmd.Stderr = nil, nil // the server keeps them open
		}
		if err := cmd.Run(); err != nil {
			return fmt.Errorf("%s: %w: %s", name, err, said.String())
		}
		return nil
	}
	data := filepath.Join(dir, "data")
	err = run("initdb", "-D", data, "-U", "shore", "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8", "--no-sync")
	if err == nil {
		err = run("pg_ctl", "-D", data, "-w", "-l", filepath.Join(dir, "log"), "-o", "-c listen_addresses= -k "+dir+
			" -c max_connections=200 -c shared_buffers=256MB -c max_wal_size=4GB -c wal_compression=on", "start")
	}
	if err != nil {
		cluster.why = err.Error()
		os.RemoveAll(dir)
		return
	}
	cluster.dir = dir
	cluster.stop = func() {
		if err := run("pg_ctl", "-D", data, "-m", "immediate", "-w", "stop"); err != nil {
			fmt.Fprintln(os.Stderr, err)
		}
		os.RemoveAll(dir)
	}
}

// binaries returns the folder of initdb and pg_ctl; Debian keeps them out of the path.
func binaries() (string, error) {
	all, err := filepath.Glob("/usr/lib/postgresql/*/bin")
	if err == nil && len(all) > 0 {
		return all[len(all)-1], nil
	}
	path, err := exec.LookPath("initdb")
	return filepath.Dir(path), err
}

// asOther lets a command run as another user than root, who may have the folder.
func asOther(cmd *exec.Cmd, dir string) {
	if runtime.GOOS == "windows" || os.Getuid() != 0 {
		return
	}
	who, err := user.Lookup("postgres")
	if err != nil {
		who, err = user.Lookup("nobody")
	}
	if err != nil {
		return
	}
	uid, _ := strconv.Atoi(who.Uid)
	gid, _ := strconv.Atoi(who.Gid)
	if err := os.Chown(dir, uid, gid); err != nil {
		return
	}
	runAs(cmd, uint32(uid), uint32(gid))
}

// ashore is a shore with its site.
type ashore struct {
	*shore.Shore
	t       testing.TB
	address string // of the database
	site    *httptest.Server
}

// newAshore opens a shore over a new database, and serves it.
func newAshore(t testing.TB) *ashore {
	t.Helper()
	return serveShore(t, database(t))
}

// serveShore opens one more process's worth of shore over a database, and serves it.
func serveShore(t testing.TB, address string) *ashore {
	t.Helper()
	s, err := shore.Open(context.Background(), address, shore.Options{Logger: slog.New(slog.DiscardHandler)})
	if err != nil {
		t.Fatal(err)
	}
	o, err := New(s, Config{Logger: slog.New(slog.NewTextHandler(onlyErrors{t},
		&slog.HandlerOptions{Level: slog.LevelError}))})
	if err != nil {
		t.Fatal(err)
	}
	a := &ashore{Shore: s, t: t, address: address, site: httptest.NewServer(o.handler)}
	t.Cleanup(func() {
		a.site.Close()
		if err := s.Close(); err != nil {
			t.Errorf("Close() = %v", err)
		}
	})
	return a
}

// onlyErrors shows internal errors with the test.
type onlyErrors struct{ testing.TB }

// Write logs a line.
func (e onlyErrors) Write(line []byte) (int, error) { e.Log(string(line)); return len(line), nil }

// ask runs a question of the test's own on the database.
func (a *ashore) ask(to any, text string, args ...any) {
	a.t.Helper()
	pool, err := sql.Open("pgx", a.address)
	if err != nil {
		a.t.Fatal(err)
	}
	defer pool.Close()
	if err := pool.QueryRow(text, args...).Scan(to); err != nil {
		a.t.Fatalf("%s: %v", text, err)
	}
}

// childAddress tells a child process of the crash test over which database it serves; childListen, where.
const (
	childAddress = "STILLWATCH_OFFICE_DATABASE"
	childListen  = "STILLWATCH_OFFICE_LISTEN"
)

// serveAsChild serves a shore until it is killed.
func serveAsChild(address string) int {
	err := func() error {
		s, err := shore.Open(context.Background(), address, shore.Options{Logger: slog.New(slog.DiscardHandler)})
		if err != nil {
			return err
		}
		o, err := New(s, Config{})
		if err != nil {
			return err
		}
		l, err := net.Listen("tcp", os.Getenv(childListen))
		if err != nil {
			return err
		}
		return o.Serve(context.Background(), l)
	}()
	fmt.Fprintln(os.Stderr, err)
	return 1
}

// waitFor asks an address until it answers.
func waitFor(ctx context.Context, address string) error {
	for ctx.Err() == nil {
		if got, err := http.Get(address + "/healthz"); err == nil {
			got.Body.Close()
			if got.StatusCode == http.StatusOK {
				return nil
			}
		}
		time.Sleep(20 * time.Millisecond)
	}
	return errors.Join(errors.New("the shore does not answer"), ctx.Err())
}
