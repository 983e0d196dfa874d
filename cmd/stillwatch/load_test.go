package main

import (
	"context"
	"flag"
	"fmt"
	"log/slog"
	mathrand "math/rand/v2"
	"net"
	"net/url"
	"runtime/debug"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"stillwatch/isolation"
	"stillwatch/isolation/planner"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proof"
	"stillwatch/permits"
	"stillwatch/permits/register"
	"stillwatch/web"
)

// The load: how long it lasts, and what it is made of.
var loadTime = flag.Duration("load", 2*time.Second,
	"how long each part of TestLoadOfPhonesScanning lasts; 60s for figures worth telling")

const (
	loadPhones  = 200
	loadPermits = 50
	loadCrew    = 40 // people, each signed in on some of the phones
)

// loadThink is how long a phone rests between two scans on average: a second, less in a run that is over sooner.
func loadThink() time.Duration { return min(time.Second, *loadTime/8) }

// load is a served register with permits under way and phones signed in.
type load struct {
	t      testing.TB
	reg    *register.Register
	base   string
	proved []proof.Proved
	phones []*loadPhone
	close  func()

	acts, scans latencies
	bare        latencies    // of an empty answer by an empty server, meanwhile: what the machine itself adds
	asked       atomic.Int64 // requests, from beginning to end
	failed      atomic.Pointer[string]
}

const loadPIN, loadFirstPIN = "604271", "917340"

// openLoad serves a fresh register on loopback with everybody signed in. A PIN's hash is made cheap: what is measured
// asks for no PIN, and signing 200 phones in would only take longer.
func openLoad(t testing.TB) *load {
	ctx := context.Background()
	logger := slog.New(slog.DiscardHandler)
	reg, err := register.Open(ctx, t.TempDir(), register.Options{Logger: logger,
		Argon: register.Argon{MemoryKiB: 8, Iterations: 1, Parallelism: 1}})
	if err != nil {
		t.Fatal(err)
	}
	site, err := web.New(reg, web.Config{Logger: logger})
	if err != nil {
		t.Fatal(err)
	}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	serving, stop := context.WithCancel(ctx)
	served := make(chan error, 1)
	go func() { served <- site.Serve(serving, listener) }()
	l := &load{t: t, reg: reg, base: "http://" + listener.Addr().String()}
	l.close = func() {
		for _, p := range l.phones {
			if err := p.conn.Close(); err != nil {
				t.Errorf("Close() of a phone's connection = %v, want nil", err)
			}
		}
		stop()
		if err := <-served; err != nil {
			t.Errorf("Serve() = %v, want nil", err)
		}
		if err := reg.Close(); err != nil {
			t.Errorf("Close() = %v, want nil", err)
		}
	}
	l.man()
	l.signIn()
	return l
}

// do does an act that is no part of what is measured.
func (l *load) do(by permits.PersonID, permit permits.PermitID, act permits.Act) permits.Permit {
	got, err := l.reg.Do(context.Background(), register.Doing{ID: l.reg.NewActID(), Permit: permit, Act: act, By: by,
		PIN: loadPIN})
	if err != nil {
		l.fail("%s by %s: %v", act.Kind(), by, err)
	}
	return got.Permit
}

func (l *load) fail(format string, args ...any) {
	words := fmt.Sprintf(format, args...)
	l.failed.CompareAndSwap(nil, &words)
}

func fitterOf(phone int) permits.PersonID {
	return permits.PersonID(fmt.Sprintf("fitter-%02d", phone%loadCrew))
}

// man puts chief, officer and fitters on the books and the plant in force.
func (l *load) man() {
	ctx := context.Background()
	text := loadPlant()
	plant, err := plantfile.Read("pumps.yaml", []byte(text))
	if err != nil {
		l.t.Fatal(err)
	}
	if err := l.reg.FirstRun(ctx, permits.Person{ID: "chief", Name: "Chief", Roles: []permits.Role{permits.ChiefEngineer}},
		loadPIN); err != nil {
		l.t.Fatal(err)
	}
	add := func(id permits.PersonID, role permits.Role) {
		d := register.AddPersonDoing{ID: l.reg.NewActID(), By: "chief", PIN: loadPIN,
			Person: permits.Person{ID: id, Name: string(id), Roles: []permits.Role{role}}, New: loadFirstPIN}
		if err := l.reg.AddPerson(ctx, d); err != nil {
			l.t.Fatal(err)
		}
		own := register.SetPINDoing{ID: l.reg.NewActID(), By: id, ByPIN: loadFirstPIN, Person: id, New: loadPIN}
		if _, err := l.reg.SetPIN(ctx, own); err != nil {
			l.t.Fatal(err)
		}
	}
	add("oow", permits.Officer)
	add("mate", permits.Technician)
	for i := range loadCrew {
		add(fitterOf(i), permits.Technician)
	}
	file := permits.AdoptPlant{Name: "pumps.yaml", SHA256: plant.SHA256, Text: text}
	l.do("oow", 0, file.Proposal())
	l.do("chief", 0, file)
	rules := l.reg.Rules()
	for i := range loadPermits {
		plan, err := planner.Make(plant, rules, fmt.Sprintf("J%d", i), isolation.Circumstances{})
		if err != nil {
			l.t.Fatal(err)
		}
		proved, err := proof.Prove(plant, rules, plan, isolation.Circumstances{})
		if err != nil {
			l.t.Fatal(err)
		}
		l.proved = append(l.proved, proved)
	}
}

// signIn signs every phone in over HTTP.
func (l *load) signIn() {
	for i := range loadPhones {
		p, err := l.dial(fitterOf(i))
		if err != nil {
			l.t.Fatal(err)
		}
		l.phones = append(l.phones, p)
		if err := p.post("/sign-in", url.Values{"person": {string(p.person)}, "pin": {loadPIN}}); err != nil {
			l.t.Fatal(err)
		}
	}
}

// formOf fills in the form of a step: fitted or removed.
func formOf(lock permits.Lock, permit permits.PermitID, off bool) url.Values {
	v := url.Values{"act_id": {string(register.NewActID())}, "position": {string(lock.Step.Position)}, "how": {"phone"}}
	if off {
		v.Set("position", string(lock.Step.Clearance))
	} else if lock.Step.Lock {
		v.Set("padlock", fmt.Sprintf("L%d-%d", permit, lock.Step.N))
	}
	return v
}

// timed does something on the phone and counts how long it took: the act on the disk, and the answer that says so.
func (p *loadPhone) timed(do func() error) error {
	p.hands.Lock()
	defer p.hands.Unlock()
	began := time.Now()
	err := do()
	p.l.acts.add(began)
	return err
}

// crowd is the phones that take turns with the permits of one machine: one hangs and takes off the locks of a permit,
// since who fitted a lock removes it, and the next permit is another's.
type crowd struct {
	l      *load
	n      int
	phones []*loadPhone
	permit permits.PermitID
	locks  []permits.Lock

	mu    sync.Mutex
	codes map[int]permits.TagCode
}

func (l *load) crowds() []*crowd {
	out := make([]*crowd, loadPermits)
	for i := range out {
		out[i] = &crowd{l: l, n: i}
	}
	for i, p := range l.phones {
		out[i%loadPermits].phones = append(out[i%loadPermits].phones, p)
	}
	return out
}

// begin takes a permit as far as its tags can be hung.
func (c *crowd) begin() {
	p := c.l.do(c.phones[0].person, 0, permits.Request{Plan: c.l.proved[c.n], Work: "Renew the shaft seal"})
	p = c.l.do("oow", p.ID(), permits.Authorise{Hours: 12, Unproved: true})
	p = c.l.do("chief", p.ID(), permits.AnswerUnproved{})
	codes, err := c.l.reg.TagCodes(context.Background(), p.ID())
	if err != nil {
		c.l.fail("codes of permit %d: %v", p.ID(), err)
	}
	c.permit, c.locks = p.ID(), p.Locks()
	c.mu.Lock()
	c.codes = codes
	c.mu.Unlock()
}

// tag returns the address of a tag, or "" before there are any.
func (c *crowd) tag(n int) string {
	c.mu.Lock()
	defer c.mu.Unlock()
	if len(c.codes) == 0 {
		return ""
	}
	return "/T/" + c.codes[1+(n-1)%len(c.codes)].Text()
}

// turnByTag scans a tag, does what its page offers, and looks at the page that follows: what a phone without scripts
// does.
func (c *crowd) turnByTag(p *loadPhone, lock permits.Lock, off bool) error {
	form, err := p.scan(c.tag(lock.Step.N))
	if err == nil && form == "" {
		err = fmt.Errorf("tag %d of permit %d offers nothing in its turn", lock.Step.N, c.permit)
	}
	if err != nil {
		return err
	}
	return p.timed(func() error { return p.post(form, formOf(lock, c.permit, off)) })
}

// turnOnWalk scans a tag into the walk's page and sends it as the page's script does. The page is opened once
// for fitting and once for taking off.
func (c *crowd) turnOnWalk(p *loadPhone, lock permits.Lock, off bool) error {
	walk := fmt.Sprintf("/permits/%d/walk", c.permit)
	if open := fmt.Sprint(walk, off); p.walk != open {
		if _, err := p.scan(walk); err != nil {
			return err
		}
		p.walk = open
	}
	v := formOf(lock, c.permit, off)
	v.Set("code", strings.TrimPrefix(c.tag(lock.Step.N), "/T/"))
	path := walk + "/fit"
	if off {
		path = walk + "/remove"
	}
	return p.timed(func() error { return p.send(path, v) })
}

// between does what comes before the next lock, or after the last.
func (c *crowd) between() {
	p, err := c.l.reg.Permit(context.Background(), c.permit)
	if err != nil {
		c.l.fail("permit %d: %v", c.permit, err)
	}
	for a, due, _ := p.NextAdded(); due && c.l.failed.Load() == nil; a, due, _ = p.NextAdded() {
		c.l.do("chief", c.permit, permits.RestoreStep{N: a.N})
		if p, err = c.l.reg.Permit(context.Background(), c.permit); err != nil {
			c.l.fail("permit %d: %v", c.permit, err)
		}
	}
}

// turnOf is a way in which a phone does a step.
type turnOf func(c *crowd, p *loadPhone, lock permits.Lock, off bool) error

// work fits and removes over and over until over; between two turns it waits as long as pause says.
func (c *crowd) work(turn turnOf, over func() bool, pause func()) {
	for cycle := 0; !over(); cycle++ {
		phone := c.phones[cycle%len(c.phones)]
		do := func(lock permits.Lock, off bool) {
			pause()
			if err := turn(c, phone, lock, off); err != nil {
				c.l.fail("%v", err)
			}
		}
		c.begin()
		for _, lock := range c.locks {
			do(lock, false)
		}
		c.l.do("oow", c.permit, permits.Cancel{Words: "The job is put off."})
		for _, lock := range slices.Backward(c.locks) {
			c.between()
			do(lock, true)
			c.l.do("mate", c.permit, permits.CheckRestored{N: lock.Step.N})
		}
		c.between()
		c.l.do("chief", c.permit, permits.Close{Positions: true, Told: true})
	}
}

// loiter is a phone that looks at one tag of its permit after another, whosever turn it is.
func (c *crowd) loiter(phone int, over func() bool, pause func()) {
	for n := 1 + phone; !over(); n++ {
		pause()
		if tag := c.tag(n); tag != "" {
			if _, err := c.phones[phone].scan(tag); err != nil {
				c.l.fail("%v", err)
			}
		}
	}
}

// run lets every crowd work for a time, with or without the pauses and the idle looks of people, and tells what came of
// it. The last permits are finished afterwards, which is not counted.
func (l *load) run(name string, turn turnOf, crowds []*crowd, during, think time.Duration) (acts []time.Duration) {
	l.acts.begin(during)
	l.scans.begin(during)
	began := time.Now()
	over := func() bool { return time.Since(began) > during || l.failed.Load() != nil }
	pause := func() {
		if think > 0 && !over() {
			time.Sleep(think/2 + mathrand.N(think))
		}
	}
	l.bare.begin(during)
	used, asked := processSeconds(), l.asked.Load()
	var all sync.WaitGroup
	all.Go(func() { l.pingBare(over) })
	for _, c := range crowds {
		all.Go(func() { c.work(turn, over, pause) })
		if think > 0 {
			for phone := range c.phones {
				all.Go(func() { c.loiter(phone, over, pause) })
			}
		}
	}
	all.Wait()
	used, asked = processSeconds()-used, l.asked.Load()-asked
	took := during.Seconds()
	scans, bare := l.scans.take(), l.bare.take()
	acts = l.acts.take()
	l.t.Logf("%-30s %6d acts in %.1f s: %6.1f acts/s, p50 %v, p99 %v, most %v;  %6d scans: %6.1f/s, p50 %v, p99 %v", name,
		len(acts), took, float64(len(acts))/took,
		quantile(acts, .5), quantile(acts, .99), quantile(acts, 1), len(scans), float64(len(scans))/took, quantile(scans, .5),
		quantile(scans, .99))
	l.t.Logf("%-30s an empty server meanwhile: p50 %v, p99 %v, most %v;  %.2f ms of processor for each of %d requests, "+
		"phones and disk included",
		"", quantile(bare, .5), quantile(bare, .99), quantile(bare, 1), used*1000/max(1, float64(asked)), asked)
	return acts
}

// some wants acts to have been done: in a short slice on a machine that is busy with something else there may be none.
func (l *load) some(name string, acts []time.Duration) {
	if len(acts) == 0 {
		l.t.Errorf("%s: nothing was done", name)
	}
}

// onTheWalk lets the crowds scan on the walk as fast as they can for a time, in parts, between which bare commits are
// measured: a machine that others use too is not as quick in one minute as in the next. A short run has two parts,
// since every part ends by closing all its permits.
func (l *load) onTheWalk(crowds []*crowd, during time.Duration) {
	parts := 6
	if during < 10*time.Second {
		parts = 2
	}
	each := during / time.Duration(parts)
	bare := func() float64 { return oneRowOneCommit(l.t, min(each, 2*time.Second)) }
	var acts []time.Duration
	rows, entries := bare(), int64(0)
	for range parts {
		before := l.reg.Head().Size
		acts = append(acts, l.run("flat out, on the walk", (*crowd).turnOnWalk, crowds, each, 0)...)
		entries += l.reg.Head().Size - before
		rows += bare()
	}
	l.some("flat out, on the walk", acts)
	slices.Sort(acts)
	rate := float64(len(acts)) / during.Seconds()
	l.t.Logf("flat out, on the walk, in all: %d acts in %v: %.1f acts/s, p50 %v, p99 %v, most %v; %.2f acts for each "+
		"row of the bare commits between; %.0f entries a second with what officers and second persons sign",
		len(acts), during, rate, quantile(acts, .5), quantile(acts, .99), quantile(acts, 1), rate/(rows/float64(parts+1)),
		float64(entries)/during.Seconds())
}

// TestLoadOfPhonesScanning has 200 signed-in phones fit and remove the locks of 50 permits over HTTP: as fast as they
// can on the walk, which is one request an act, with bare commits measured between; then by the tags' own pages, which
// are three requests and two pages an act; then as people do, each phone about one scan a second. It wants every act
// taken and the log whole afterwards; how long things took is told, not judged. An act counts from the press of the
// button to the answer that it is recorded.
func TestLoadOfPhonesScanning(t *testing.T) {
	defer debug.SetGCPercent(debug.SetGCPercent(gcPercent)) // as main does
	l := openLoad(t)
	crowds := l.crowds()
	l.onTheWalk(crowds, *loadTime)
	l.some("flat out, tag by tag", l.run("flat out, tag by tag", (*crowd).turnByTag, crowds, *loadTime, 0))
	l.run("at people's pace, tag by tag", (*crowd).turnByTag, crowds, *loadTime, loadThink())
	if words := l.failed.Load(); words != nil {
		t.Error(*words)
	}
	for _, line := range l.reg.OpenPermits() {
		t.Errorf("permit %d is left %s", line.ID(), line.State())
	}
	refused, err := l.reg.Entries(t.Context(), register.EntryQuery{Kind: permits.KindRefusedAct})
	if err != nil || len(refused) > 0 {
		t.Errorf("%d acts were refused, %v, want none", len(refused), err)
	}
	dir := l.reg.Dir()
	l.close()
	if report, err := register.Verify(t.Context(), dir); err != nil || !report.OK() {
		t.Errorf("Verify() = %v, %v, want a whole log", report.Faults, err)
	}
}
