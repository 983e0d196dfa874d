package main

import (
	"io"

	"github.com/spf13/cobra"

	"stillwatch/cmd/stillwatch/line"
	"stillwatch/isolation"
)

// drainCommand prints the sections of one job's plan with the course of their draining.
func drainCommand() *cobra.Command {
	var q question
	c := &cobra.Command{Use: "drain", Short: "Foretell how the isolated lines of one job drain", Args: line.None,
		Long: `Foretell how the isolated lines of one job drain: what is in them, what must come out, what stays and how long it
takes. Exit status 0: the figures; 2: there is no plan; 1: an error.`,
		Example: "  stillwatch drain --plant plant.yaml --job S1-bowl"}
	q.flags(c)
	c.RunE = func(c *cobra.Command, _ []string) error {
		if err := q.read(); err != nil {
			return err
		}
		plan, err := q.proved()
		switch {
		case err != nil:
			return err
		case !plan.Feasible:
			c.PrintErrln("stillwatch:", plan.Words)
			return line.No
		case q.json:
			return printJSON(c.OutOrStdout(), plan.Sections)
		}
		return printSections(c.OutOrStdout(), plan.Sections)
	}
	return c
}

func printSections(out io.Writer, sections []isolation.Section) error {
	s := &sheet{out: out}
	if len(sections) == 0 {
		s.line("Nothing that holds a computable volume of liquid is isolated by this plan.")
	}
	for _, c := range sections {
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
	return s.err
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
