package shore

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
)

// Sister is a ship as another ship is told of it.
type Sister struct {
	Name  string `json:"ship"`
	Plant string `json:"plant"` // title of the plant file in force
}

// Compared is what the plant files and the rules of two ships have that is not the same.
type Compared struct {
	Of, With    string // names of the ships
	Differences []plantfile.Difference
	Jobs        []isolation.Job // that only the second has: they may be taken over
	// lines of the second's rules that the first's do not have, with a plus; the other way with a minus
	Rules []string
}

// ErrNoPlant says that a ship has no plant file in force ashore.
var ErrNoPlant = errors.New("has no plant file in force")

// Compare compares what two ships have in force.
func (s *Shore) Compare(ctx context.Context, a, b Ship) (c Compared, err error) {
	c = Compared{Of: a.Name, With: b.Name}
	of, err := s.plantOf(ctx, a)
	if err != nil {
		return c, err
	}
	with, err := s.plantOf(ctx, b)
	if err != nil {
		return c, err
	}
	c.Differences = plantfile.Differences(of, with)
	for _, j := range with.Jobs {
		if of.Job(j.ID) == nil {
			c.Jobs = append(c.Jobs, j)
		}
	}
	ofRules, err := s.rulesOf(ctx, a)
	if err != nil {
		return c, err
	}
	withRules, err := s.rulesOf(ctx, b)
	c.Rules = append(lacking(ofRules, withRules, "+ "), lacking(withRules, ofRules, "− ")...)
	return c, err
}

// lacking returns the lines that say something and that only the second text has.
func lacking(in, of []string, mark string) (out []string) {
	for _, l := range of {
		if !slices.Contains(in, l) {
			out = append(out, mark+l)
		}
	}
	return out
}

func (s *Shore) plantOf(ctx context.Context, ship Ship) (*isolation.Plant, error) {
	f, found, err := s.db.File(ctx, ship.ID, filePlant)
	if err != nil {
		return nil, err
	}
	if !found {
		return nil, fmt.Errorf("%s %w", ship.Name, ErrNoPlant)
	}
	return plantfile.Read(f.Name, []byte(f.Text))
}

// rulesOf returns the lines of the rules that a ship has in force; the shipped ones where it has adopted none.
func (s *Shore) rulesOf(ctx context.Context, ship Ship) (lines []string, err error) {
	f, found, err := s.db.File(ctx, ship.ID, fileRules)
	text := f.Text
	if !found {
		text = string(plantfile.ShippedRules().Text)
	}
	for l := range strings.Lines(text) {
		if l = strings.TrimSpace(l); l != "" && l[0] != '#' {
			lines = append(lines, l)
		}
	}
	return lines, err
}

// Draft returns a draft of a ship's plant file with a job that another ship has: for the people aboard to look at,
// propose and put in force as any plant file. Nothing is sent: a ship asks for it, or the office takes it from its
// page.
func (s *Shore) Draft(ctx context.Context, own, from Ship, job string) ([]byte, error) {
	mine, err := s.plantOf(ctx, own)
	if err != nil {
		return nil, err
	}
	theirs, err := s.plantOf(ctx, from)
	if err != nil {
		return nil, err
	}
	draft, err := plantfile.TakeJob(mine, theirs, job)
	if err != nil {
		return nil, err
	}
	head := fmt.Sprintf("# Draft of %s: the plant file of %s with job %s of %s.\n# It is not in force. Walk the "+
		"lines, compare "+
		"each point, then propose it on the page Plant and rules.\n", s.now().UTC().Format(time.DateOnly), own.Name,
		job, from.Name)
	return append([]byte(head), draft.Text...), nil
}

// SistersFor returns the other ships to a ship whose key asks.
func (s *Shore) SistersFor(ctx context.Context, key string) (out []Sister, err error) {
	own, err := s.Position(ctx, key)
	if err != nil {
		return nil, err
	}
	fleet, err := s.Fleet(ctx)
	for _, f := range fleet {
		if f.Name != own.Ship {
			out = append(out, Sister{f.Name, f.Plant})
		}
	}
	return out, err
}

// pairFor returns the ship whose key asks, and the one that it asks about.
func (s *Shore) pairFor(ctx context.Context, key, with string) (own, other Ship, err error) {
	a, err := s.Position(ctx, key)
	if err == nil {
		own, err = s.Named(ctx, a.Ship)
	}
	if err == nil {
		other, err = s.Named(ctx, with)
	}
	return own, other, err
}

// CompareFor compares what a ship whose key asks has in force with another's.
func (s *Shore) CompareFor(ctx context.Context, key, with string) (Compared, error) {
	own, other, err := s.pairFor(ctx, key, with)
	if err != nil {
		return Compared{}, err
	}
	return s.Compare(ctx, own, other)
}

// DraftFor returns a draft to a ship whose key asks.
func (s *Shore) DraftFor(ctx context.Context, key, from, job string) ([]byte, error) {
	own, other, err := s.pairFor(ctx, key, from)
	if err != nil {
		return nil, err
	}
	return s.Draft(ctx, own, other, job)
}
