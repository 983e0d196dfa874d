package demo

import (
	"context"
	_ "embed"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"stillwatch/cmd/stillwatch/line"
	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
	"stillwatch/permits"
	"stillwatch/permits/register"
	"stillwatch/web"
	"stillwatch/web/screens"
)

//go:embed plant.yaml
var demoPlant []byte

// demoConfig is everything that "demo" can be told.
type demoConfig struct {
	listen string
	data   string
	once   bool
	story  story
}

// story is what the crew is driven through.
type story struct {
	name  string
	ago   time.Duration // how long ago its day begins: long enough for all that is waited for
	wrong int           // acts that must be refused on the way
	walk  func(d *Drive) (first, second permits.PermitID)
}

var stories = []story{
	{"separator", 10 * time.Hour, 5, (*Drive).separator},
	{"watches", watchesDay, 6, (*Drive).Watches},
}

// separator is the whole job of one separator, then a second permit that stays half-way.
func (d *Drive) separator() (first, second permits.PermitID) {
	d.say("Permit 1: bowl overhaul of separator 1")
	first = d.WholeJob()
	if d.Err == nil {
		d.Clock.Until(40 * time.Minute)
	}
	d.say("Permit 2: sea-water pump, left half-way for you")
	return first, d.HalfWay()
}

// Command returns the command "demo".
func Command() *cobra.Command {
	var d demoConfig
	c := &cobra.Command{Use: "demo", Short: "Run the whole job on an invented ship, then serve it to look at",
		Long: "Run the whole job of one separator on an invented ship, through the server's own pages; then serve what " +
			"came of it.",
		Args: line.None, Example: "  stillwatch demo\n  stillwatch demo --story watches --once"}
	fs := c.Flags()
	fs.StringVar(&d.listen, "listen", "127.0.0.1:8080", "address to listen on; if it is taken, a free port is used")
	fs.StringVar(&d.data, "data", "", "fresh folder for the register (a temporary one if empty)")
	fs.BoolVar(&d.once, "once", false, "end after the job, with exit status 0 only if everything went as it should")
	name := fs.String("story", stories[0].name, "what the crew goes through: separator, or watches (a job over three "+
		"watches with a sight audit and a test run, then an entry)")
	c.RunE = func(c *cobra.Command, _ []string) error {
		i := slices.IndexFunc(stories, func(s story) bool { return s.name == *name })
		if i < 0 {
			return fmt.Errorf("unknown story %q; it is separator or watches", *name)
		}
		d.story = stories[i]
		ctx, stop := line.UntilStopped()
		defer stop()
		return demo(ctx, d, c.OutOrStdout(), c.ErrOrStderr())
	}
	return c
}

// demo seeds a register, serves it, drives the job through the pages, and then stays until ctx ends.
func demo(ctx context.Context, c demoConfig, out, errOut io.Writer) (err error) {
	dir, cleanUp, err := demoFolder(c)
	if err != nil {
		return err
	}
	defer cleanUp()
	logger := slog.New(slog.NewTextHandler(errOut, &slog.HandlerOptions{Level: slog.LevelWarn}))
	clock := newDemoClock(c.story.ago)
	reg, err := register.Open(ctx, dir, register.Options{Logger: logger, Now: clock.Now})
	if err != nil {
		return fmt.Errorf("open %s: %w", dir, err)
	}
	defer func() { err = errors.Join(err, reg.Close()) }()
	if err := Seed(ctx, reg); err != nil {
		return fmt.Errorf("seed the demo: %w", err)
	}
	l, err := listen(c.listen)
	if err != nil {
		return err
	}
	base := line.BaseURL(l)
	server, err := web.New(reg, web.Config{BaseURL: base, Hosts: line.HostList(base, ""), DemoPINs: DemoPINs(),
		Version: line.Version(), Logger: logger, Now: clock.Now})
	if err != nil {
		return errors.Join(err, l.Close())
	}
	serving, stop := context.WithCancel(ctx)
	served := make(chan error, 1)
	go func() { served <- server.Serve(serving, l) }()
	defer func() {
		stop()
		if e := <-served; e != nil && !errors.Is(e, http.ErrServerClosed) {
			err = errors.Join(err, e)
		}
	}()
	d := &Drive{Ctx: ctx, Out: out, Reg: reg, Clock: clock, Base: base}
	if err := d.all(dir, c.story); err != nil {
		return fmt.Errorf("the demo did not go as it should: %w", err)
	}
	clock.Until(0)
	if c.data == "" {
		fmt.Fprintln(out, "The folder is a temporary one and goes when the demo ends; keep it with --data DIR.")
	}
	if !c.once {
		invite(out, base, dir)
		<-ctx.Done()
	}
	return nil
}

// demoFolder returns the folder of the demo and what cleans it up: a temporary one goes, a named one stays.
func demoFolder(c demoConfig) (dir string, cleanUp func(), err error) {
	if c.data == "" {
		dir, err = os.MkdirTemp("", "stillwatch-demo-")
		return dir, func() { _ = os.RemoveAll(dir) }, err
	}
	entries, err := os.ReadDir(c.data)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return "", nil, err
	}
	if len(entries) > 0 {
		return "", nil, fmt.Errorf("%s is not empty: the demo needs a fresh folder, so that it never writes into a real "+
			"register", c.data)
	}
	return c.data, func() {}, os.MkdirAll(c.data, 0o700)
}

// listen takes the address asked for, or a free port on the same host if it is in use.
func listen(address string) (net.Listener, error) {
	l, err := net.Listen("tcp", address)
	if errors.Is(err, syscall.EADDRINUSE) {
		host, _, splitErr := net.SplitHostPort(address)
		if splitErr != nil {
			return nil, splitErr
		}
		return net.Listen("tcp", net.JoinHostPort(host, "0"))
	}
	return l, err
}

// Seed puts the invented crew on the books and the demo plant in force, with a label on every point.
func Seed(ctx context.Context, reg *register.Register) error {
	chief := DemoCrew[0]
	if err := reg.FirstRun(ctx, chief.Person, chief.Pin); err != nil {
		return err
	}
	plant, err := plantfile.Read("demo/plant.yaml", demoPlant)
	if err != nil {
		return err
	}
	signed := func(by int, name string, act permits.Act) error {
		_, err := reg.Do(ctx, register.Doing{ID: permits.ActID("demo-put-" + name), Act: act, By: DemoCrew[by].ID,
			PIN: DemoCrew[by].Pin})
		return err
	}
	for _, c := range DemoCrew[1:] {
		person := register.AddPersonDoing{ID: permits.ActID("demo-person-" + string(c.ID)), By: chief.ID, PIN: chief.Pin,
			Person: c.Person, New: demoFirstPIN}
		if err := reg.AddPerson(ctx, person); err != nil {
			return err
		}
		own := register.SetPINDoing{ID: permits.ActID("demo-pin-" + string(c.ID)), By: c.ID, ByPIN: demoFirstPIN,
			Person: c.ID, New: c.Pin}
		if _, err := reg.SetPIN(ctx, own); err != nil {
			return err
		}
	}
	file := permits.AdoptPlant{Name: "demo/plant.yaml", SHA256: plant.SHA256, Text: string(demoPlant)}
	if err := signed(1, "proposal", file.Proposal()); err != nil {
		return err
	}
	if err := signed(0, "plant", file); err != nil {
		return err
	}
	labels := map[isolation.NodeID]permits.TagDigest{}
	for _, n := range plant.Points() {
		labels[n.ID] = ""
	}
	return signed(0, "labels", permits.HangLabels{Labels: labels})
}

// all drives both permits, writes the papers and says what was shown.
func (d *Drive) all(dir string, s story) error {
	started := time.Now()
	fmt.Fprintf(d.Out, "\nThe crew signs in at %s\n", d.Base)
	d.SignIn()
	first, second := s.walk(d)
	papers := d.papers(filepath.Join(dir, "papers"), first, second)
	if d.Err != nil {
		return d.Err
	}
	if d.No != s.wrong {
		return fmt.Errorf("%d acts were refused, want %d", d.No, s.wrong)
	}
	fmt.Fprintf(d.Out, "\n%d acts taken, %d refused as they must be, in %.1f s. Log head: %d entries, %s\n", d.acts, d.No,
		time.Since(started).Seconds(), d.Reg.Head().Size, d.Reg.Head().Short)
	fmt.Fprint(d.Out, "Papers:\n")
	for _, p := range papers {
		fmt.Fprintf(d.Out, "  %s\n", p)
	}
	return nil
}

// papers fetches every paper of the two permits from the server and writes it into a folder.
func (d *Drive) papers(dir string, first, second permits.PermitID) []string {
	if d.Err != nil {
		return nil
	}
	if d.Err = os.MkdirAll(dir, 0o700); d.Err != nil {
		return nil
	}
	var written []string
	for _, p := range []struct{ path, file string }{
		{screens.PermitPath(first) + "/permit.pdf", fmt.Sprintf("permit-%d.pdf", first)},
		{screens.PermitPath(first) + "/plan.pdf", fmt.Sprintf("plan-%d.pdf", first)},
		{screens.PermitPath(second) + "/tags.pdf", fmt.Sprintf("tags-%d.pdf", second)},
		{"/points/labels.pdf", "labels.pdf"},
		{"/handover.pdf", "handover.pdf"},
	} {
		a, err := d.People["ilse"].Open(d.Ctx, p.path)
		if err == nil && (a.Status != http.StatusOK || !IsPDF(a.Bytes)) {
			err = fmt.Errorf("fetch %s: status %d, not a paper", p.path, a.Status)
		}
		file := filepath.Join(dir, p.file)
		if err == nil {
			err = os.WriteFile(file, a.Bytes, 0o600)
		}
		if err != nil {
			d.Err = err
			return nil
		}
		written = append(written, file)
	}
	return written
}

// IsPDF reports whether an answer is a PDF.
func IsPDF(b []byte) bool { return len(b) > 1000 && string(b[:5]) == "%PDF-" }

// invite tells the visitor where to go on, and who to be.
func invite(out io.Writer, base, dir string) {
	fmt.Fprintf(out, "\n*** DEMO: every name and PIN below is known to everybody. Never use this register for real "+
		"work. ***\n\n  Open %s\n\n", base)
	for _, c := range DemoCrew {
		fmt.Fprintf(out, "  %-5s PIN %s  %s\n", c.ID, c.Pin, c.Rank)
	}
	fmt.Fprintf(out, "\nRegister and papers: %s\nStop with Ctrl-C.\n", dir)
}
