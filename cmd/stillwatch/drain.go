package main

import (
	"errors"
	"flag"
	"fmt"
	"io"
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
			s.line("  held %.2f L, out %.2f L ± %.2f L, stays %.2f L, %s", c.TrappedL, c.OutL, c.SpreadL, c.KeptL, minutes(c.DrainS))
			s.line("  drains %s; vents %s", wayOf(c.Drains), wayOf(c.Vents))
			for _, l := range c.Curve {
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
