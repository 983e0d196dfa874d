package main

import (
	"errors"
	"flag"
	"fmt"
	"io"

	"stillwatch/isolation"
)

const drainUsage = `usage: stillwatch drain --plant FILE --job ID [options]

Foretells how the isolated lines of one job drain: what is in them, what must come out, what stays and how long it takes.
Exit status 0: the figures; 2: there is no plan; 1: an error.

  --plant FILE      plant file
  --job ID          job in it
  --rules FILE      the company's own rules; otherwise the shipped ones
  --passing ID,...  points recorded as passing: none of them is used
  --json            print the sections as JSON
`

// runDrain prints the sections of one job's plan with the course of their draining.
func runDrain(args []string, out, errOut io.Writer) int {
	q, err := readQuestion("drain", drainUsage, args, out)
	if errors.Is(err, flag.ErrHelp) {
		return 0
	}
	if err != nil {
		fmt.Fprintln(errOut, "stillwatch:", err)
		return 1
	}
	plan, err := q.proved()
	switch {
	case err != nil:
		fmt.Fprintln(errOut, "stillwatch:", err)
		return 1
	case !plan.Feasible:
		fmt.Fprintln(errOut, "stillwatch:", plan.Words)
		return 2
	case q.json:
		err = printJSON(out, plan.Sections)
	default:
		s := &sheet{out: out}
		if len(plan.Sections) == 0 {
			s.line("Nothing that holds a computable volume of liquid is isolated by this plan.")
		}
		for _, c := range plan.Sections {
			s.line("%s (%s at %.0f °C)", c.Name, c.Fluid, c.TempC)
			s.line("  held %.2f L, out %.2f L ± %.2f L, stays %.2f L, %s", c.TrappedL, c.OutL, c.SpreadL, c.KeptL,
				minutes(c.DrainS))
			s.line("  drains %s; vents %s", wayOf(c.Drains), wayOf(c.Vents))
			for _, l := range evenly(c.Curve, curveRows) {
				s.line("  %8.0f s  %8.2f L", l.S, l.L)
			}
			if !c.Provable {
				s.line("  proves nothing: %s", c.Why)
			}
		}
		err = s.err
	}
	if err != nil {
		fmt.Fprintln(errOut, "stillwatch:", err)
		return 1
	}
	return 0
}

// curveRows is how many rows the course of a draining has on paper.
const curveRows = 10

// evenly reads a curve at rows times that lie equally far apart, the last at its end. What has come out never falls
// from one row to the next. Empty for a curve of fewer than two points, or one that takes no time.
func evenly(curve []isolation.Level, rows int) []isolation.Level {
	if len(curve) < 2 || rows < 1 || !(curve[len(curve)-1].S > 0) {
		return nil
	}
	var out []isolation.Level
	end, most, at := curve[len(curve)-1].S, 0.0, 0
	for r := 1; r <= rows; r++ {
		t := end * float64(r) / float64(rows)
		for at < len(curve)-2 && curve[at+1].S < t {
			at++
			most = max(most, curve[at].L)
		}
		a, b := curve[at], curve[at+1]
		l := b.L
		if b.S > a.S {
			l = a.L + (b.L-a.L)*min(1, max(0, (t-a.S)/(b.S-a.S)))
		}
		most = max(most, l)
		out = append(out, isolation.Level{S: t, L: most})
	}
	return out
}
