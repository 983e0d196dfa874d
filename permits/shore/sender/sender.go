package sender

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"time"

	"stillwatch/permits/register"
	"stillwatch/permits/shore/wire"
)

// Options are what a test or the program sets; zero fields take the defaults.
type Options struct {
	Every  time.Duration // how often the shore is asked while nothing is to be sent: a minute
	Most   register.Bounds
	Now    func() time.Time
	Logger *slog.Logger
}

// Sender sends the log of one register to one shore.
type Sender struct {
	reg    *register.Register
	client *Client
	o      Options
	state  State
}

// looksEvery is how often the log is looked at for new entries.
const looksEvery = 5 * time.Second

// longestPause is how long the sender waits at most between two tries while there is no link.
const longestPause = 10 * time.Minute

// New makes a sender. What the shore had against the log when it answered last is on the board from now on.
func New(ctx context.Context, reg *register.Register, address string, o Options) (*Sender, error) {
	if o.Every == 0 {
		o.Every = time.Minute
	}
	if o.Most == (register.Bounds{}) {
		o.Most = wire.Usual
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Logger == nil {
		o.Logger = slog.Default()
	}
	client, err := NewClient(address, reg)
	if err != nil {
		return nil, err
	}
	s := &Sender{reg: reg, client: client, o: o}
	if s.state, _, err = ReadState(reg.Dir()); err != nil {
		o.Logger.Warn("what the shore said last is lost", "error", err) // it says it again
	}
	if s.state.Shore != client.shore {
		s.state = State{Shore: client.shore}
	}
	if s.state.Head != "" {
		if err := reg.MeetHead(ctx, []byte(s.state.Head)); err != nil {
			return nil, err
		}
	}
	s.tell()
	return s, nil
}

// tell puts on the board what the shore has against the log.
func (s *Sender) tell() {
	s.reg.TellShore(s.state.Words, "Call the office. What is recorded aboard is safe here; until this is cleared up "+
		"the shore "+
		"takes no more of it.")
}

// Run sends until ctx ends. Without a link it tries again, ever less often.
func (s *Sender) Run(ctx context.Context) {
	pause := s.o.Every
	for ctx.Err() == nil {
		more, err := s.Once(ctx)
		switch {
		case err == nil && more:
			pause = s.o.Every
			continue
		case err == nil:
			pause = s.o.Every
			s.waitForEntries(ctx, pause)
			continue
		case ctx.Err() == nil:
			s.o.Logger.Warn("the shore was not reached, or did not take the log", "error", err)
		}
		sleep(ctx, pause/2+rand.N(pause/2+1)) // not all ships at once when the shore is back
		pause = min(2*pause, longestPause)
	}
}

// waitForEntries waits until the log has an entry that the shore has not, at most for so long.
func (s *Sender) waitForEntries(ctx context.Context, most time.Duration) {
	end := time.Now().Add(most)
	for ctx.Err() == nil && time.Now().Before(end) && s.reg.Head().Size <= s.state.Size {
		sleep(ctx, min(looksEvery, most))
	}
}

func sleep(ctx context.Context, d time.Duration) {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
	case <-ctx.Done():
	}
}

// Once asks the shore what it has, holds its head against the log, and sends one segment of what it lacks, which
// without new entries is nothing but the newest head. More reports whether there is more to send at once.
func (s *Sender) Once(ctx context.Context) (more bool, err error) {
	a, err := s.client.Position(ctx)
	if err != nil {
		return false, s.heard(a, err)
	}
	if a.Head != "" {
		if err := s.reg.MeetHead(ctx, []byte(a.Head)); err != nil {
			return false, err
		}
	}
	if a.Size == s.reg.Head().Size && a.Head == string(s.reg.Head().Signed) {
		return false, s.heard(a, nil)
	}
	p, err := segmentFrom(ctx, s.reg, a, s.o.Most)
	if err != nil {
		return false, err
	}
	a, err = s.client.Send(ctx, p)
	if err := s.heard(a, err); err != nil {
		return false, err
	}
	return s.reg.Head().Size > a.Size, nil
}

// heard keeps what the shore said, in the file and on the board. No answer at all changes nothing: a ship is often
// without a link.
func (s *Sender) heard(a wire.Answer, err error) error {
	var no *Refused
	if err != nil && !errors.As(err, &no) {
		return err
	}
	words := a.Alarm
	if no != nil {
		words = no.Words
		a = no.Answer
	}
	s.state.At, s.state.Words = s.o.Now().UTC().Truncate(time.Second), words
	if a.Ship != "" {
		s.state.Ship, s.state.Size, s.state.Head = a.Ship, a.Size, a.Head
	}
	s.tell()
	if failed := s.state.write(s.reg.Dir()); failed != nil {
		err = errors.Join(err, fmt.Errorf("keep what the shore said: %w", failed))
	}
	return err
}
