package office

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"os"
	"os/exec"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"stillwatch/permits/register"
	"stillwatch/permits/shore/sender"
)

var (
	killShips = flag.Int("kill.ships", 8, "ships that send at once while the shore is killed")
	killFor   = flag.Duration("kill.for", 4*time.Second, "for how long the shore is killed again and again")
)

// process is a process of the shore that is killed and started again, always at the same address.
type process struct {
	t        testing.TB
	database string
	address  string
	cmd      *exec.Cmd
}

func startProcess(t testing.TB, database string) *process {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	p := &process{t: t, database: database, address: l.Addr().String()}
	l.Close()
	p.start()
	t.Cleanup(p.kill)
	return p
}

func (p *process) start() {
	p.cmd = exec.Command(os.Args[0])
	p.cmd.Env = append(os.Environ(), childAddress+"="+p.database, childListen+"="+p.address)
	if err := p.cmd.Start(); err != nil {
		p.t.Error(err)
		return
	}
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	if err := waitFor(ctx, "http://"+p.address); err != nil {
		p.t.Error(err)
	}
}

// kill ends the process without warning.
func (p *process) kill() {
	if p.cmd == nil || p.cmd.Process == nil {
		return
	}
	_ = p.cmd.Process.Kill()
	_ = p.cmd.Wait()
}

// link is the line between the ships and the shore, with a balancer at its end: each connection goes to the next
// process. It can be cut, in the midst of whatever goes over it.
type link struct {
	l    net.Listener
	to   []string
	next atomic.Int64
	mu   sync.Mutex
	open map[net.Conn]bool
}

func newLink(t testing.TB, to ...string) *link {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	k := &link{l: l, to: to, open: map[net.Conn]bool{}}
	t.Cleanup(func() { l.Close(); k.cut() })
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			go k.carry(c)
		}
	}()
	return k
}

func (k *link) carry(ship net.Conn) {
	shore, err := net.Dial("tcp", k.to[int(k.next.Add(1))%len(k.to)])
	if err != nil {
		ship.Close()
		return
	}
	both := []net.Conn{ship, shore}
	k.mu.Lock()
	for _, c := range both {
		k.open[c] = true
	}
	k.mu.Unlock()
	var done sync.WaitGroup
	done.Go(func() { _, _ = io.Copy(shore, ship); shore.Close(); ship.Close() })
	done.Go(func() { _, _ = io.Copy(ship, shore); shore.Close(); ship.Close() })
	done.Wait()
	k.mu.Lock()
	for _, c := range both {
		delete(k.open, c)
	}
	k.mu.Unlock()
}

// cut cuts every connection.
func (k *link) cut() {
	k.mu.Lock()
	defer k.mu.Unlock()
	for c := range k.open {
		c.Close()
	}
}

// pushing is one ship that works and sends at once.
type pushing struct {
	*ship
	address string
	acked   int64 // the most entries that the shore has answered for
	pushes  int
	failed  int
}

// work goes on with permits until ctx ends.
func (p *pushing) work(ctx context.Context) {
	for ctx.Err() == nil && !p.t.Failed() {
		p.works(true)
		sleepAtMost(ctx, 200*time.Millisecond)
	}
}

// send sends until ctx ends, and with a new sender now and then, as after a restart. What the shore has once answered
// for it must never lack again.
func (p *pushing) send(ctx context.Context) {
	out := p.to(p.address, register.Bounds{Entries: 1 + rand.IntN(60), Bytes: 1 << 20})
	for ctx.Err() == nil {
		if rand.IntN(20) == 0 {
			out = p.to(p.address, register.Bounds{Entries: 1 + rand.IntN(60), Bytes: 1 << 20})
		}
		p.once(ctx, out)
		sleepAtMost(ctx, 30*time.Millisecond)
	}
}

func (p *pushing) once(ctx context.Context, out *sender.Sender) {
	p.pushes++
	if _, err := out.Once(ctx); err != nil {
		p.failed++
		return
	}
	said, known, err := sender.ReadState(p.dir)
	if err != nil || !known || said.Size < p.acked || said.Words != "" {
		p.t.Errorf("%s: the shore says %+v (%v) after it had answered for %d entries", p.name, said, err, p.acked)
	}
	p.acked = said.Size
}

func sleepAtMost(ctx context.Context, d time.Duration) {
	select {
	case <-ctx.Done():
	case <-time.After(rand.N(d)):
	}
}

// Ships send all at once to two processes over one database, while the link is cut and the processes are killed at
// random. Afterwards every entry of every ship is ashore exactly once and byte for byte, under a head that the ship
// signed, and nothing that was answered for is missing.
//
// A kill takes away the processes of the shore; PostgreSQL's own promises about its disk are its own matter.
func TestShipsSendWhileTheShoreIsKilled(t *testing.T) {
	a := newAshore(t)
	processes := []*process{startProcess(t, a.address), startProcess(t, a.address)}
	k := newLink(t, processes[0].address, processes[1].address)
	ships, within := *killShips, *killFor
	if testing.Short() { // as under the race detector
		ships, within = min(ships, 4), min(within, 2*time.Second)
	}
	fleet := make([]*pushing, ships)
	for i := range fleet {
		fleet[i] = &pushing{ship: newShip(t, fmt.Sprintf("Ship %d", i)), address: "http://" + k.l.Addr().String()}
		fleet[i].enrolled(a)
	}
	ctx, cancel := context.WithTimeout(context.Background(), within)
	defer cancel()
	var busy sync.WaitGroup
	for _, p := range fleet {
		busy.Go(func() { p.work(ctx) })
		busy.Go(func() { p.send(ctx) })
	}
	kills, cuts := 0, 0
	for ctx.Err() == nil {
		sleepAtMost(ctx, 500*time.Millisecond)
		if rand.IntN(2) == 0 {
			cuts++
			k.cut()
			continue
		}
		kills++
		p := processes[rand.IntN(2)]
		p.kill()
		p.start()
	}
	busy.Wait()
	if kills == 0 || cuts == 0 {
		t.Errorf("%d kills and %d cuts: nothing was tried", kills, cuts)
	}
	var entries, pushes, failed int64
	for _, p := range fleet {
		all(t, p.to(a.site.URL, register.Bounds{Entries: 2000, Bytes: 1 << 20}))
		isAshoreOnce(t, a, p.ship)
		entries, pushes, failed = entries+p.Head().Size, pushes+int64(p.pushes), failed+int64(p.failed)
	}
	t.Logf("%d ships, %d entries, %d pushes of which %d broke off, %d kills, %d cuts in %s", len(fleet), entries, pushes,
		failed, kills, cuts, within)
	var ashore, alarms int64
	a.ask(&ashore, "SELECT count(*) FROM entries")
	a.ask(&alarms, "SELECT count(*) FROM alarms")
	if ashore != entries || alarms != 0 || failed == 0 {
		t.Errorf("%d entries ashore, want %d; %d alarms; %d pushes broke off", ashore, entries, alarms, failed)
	}
}

// isAshoreOnce compares what is ashore with what is aboard, byte for byte, tables included.
func isAshoreOnce(t *testing.T, a *ashore, s *ship) {
	t.Helper()
	var aboard, ashore bytes.Buffer
	if err := register.Export(context.Background(), s.dir, &aboard); err != nil {
		t.Fatal(err)
	}
	if err := a.Export(context.Background(), shipID(a, s), &ashore); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(aboard.Bytes(), ashore.Bytes()) {
		t.Errorf("%s: the log ashore is not the log aboard", s.name)
	}
	lines, err := s.Permits(context.Background(), register.PermitQuery{Limit: 5000})
	if err != nil {
		t.Fatal(err)
	}
	var permits, entries, accepted, refused int64
	id := shipID(a, s)
	a.ask(&permits, "SELECT count(*) FROM permits WHERE ship = $1", id)
	a.ask(&entries, "SELECT coalesce(sum(entries), 0)::bigint FROM permits WHERE ship = $1", id)
	a.ask(&accepted, "SELECT count(*) FROM permits WHERE ship = $1 AND accepted > 0 AND over = 1", id)
	a.ask(&refused, "SELECT coalesce(sum(n), 0)::bigint FROM refusals WHERE ship = $1", id)
	want := int64(0)
	for _, l := range lines {
		want += int64(l.Entries)
	}
	if n := int64(len(lines)); permits != n || entries != want || accepted != n || refused != n {
		t.Errorf("%s: %d permits ashore of %d entries, %d accepted, %d refusals; aboard %d of %d entries", s.name, permits,
			entries, accepted, refused, n, want)
	}
}
