package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"stillwatch/cmd/stillwatch/line"
	"stillwatch/isolation"
	"stillwatch/isolation/planner"
	"stillwatch/isolation/proof"
)

// question is what a command line asks about one job of one plant.
type question struct {
	files         struct{ plant, rules string }
	job           string
	passing, held string
	json          bool

	plant *isolation.Plant
	rules *isolation.Rules
	facts isolation.Circumstances
}

// planCommand computes one isolation and prints it.
func planCommand() *cobra.Command {
	var q question
	c := &cobra.Command{Use: "plan", Short: "Compute the isolation of one job", Args: line.None,
		Long: `Compute the isolation of one job, check it by a second algorithm, and print it. It reads two files and writes
nothing. Exit status 0: the plan; 2: the demands cannot be met, and the way that cannot be cut is printed; 1: an error.`,
		Example: `  stillwatch plan --plant plant.yaml --job S1-bowl
  stillwatch plan --plant plant.yaml --job S1-bowl --why S1-V3
  stillwatch plan --plant plant.yaml --job S1-bowl --held 12:S1-V3 --passing S1-V1`}
	q.flags(c)
	why := c.Flags().String("why", "", "explain why this point is in the plan, or why not")
	c.RunE = func(c *cobra.Command, _ []string) error {
		if err := q.read(); err != nil {
			return err
		}
		if *why != "" {
			words, err := planner.Why(q.plant, q.rules, q.job, q.facts, isolation.NodeID(*why))
			if err == nil {
				c.Println(words)
			}
			return err
		}
		plan, err := q.proved()
		if err == nil && q.json {
			err = printJSON(c.OutOrStdout(), plan)
		} else if err == nil {
			err = printPlan(c.OutOrStdout(), plan)
		}
		if err == nil && !plan.Feasible {
			err = line.No
		}
		return err
	}
	return c
}

// flags adds the flags of a command that asks about one job.
func (q *question) flags(c *cobra.Command) {
	fs := c.Flags()
	fs.StringVar(&q.files.plant, "plant", "", "plant file")
	fs.StringVar(&q.job, "job", "", "job in it")
	fs.StringVar(&q.files.rules, "rules", "", "the company's own rules; otherwise the shipped ones")
	fs.StringVar(&q.passing, "passing", "", "points recorded as passing, by commas: none of them is used")
	fs.StringVar(&q.held, "held", "", "points that other open permits hold shut, each with its permit's number, as in "+
		"12:V1,12:Q3: they are shared")
	fs.BoolVar(&q.json, "json", false, "print JSON")
	// What follows only helps the shell to complete a line.
	_ = c.MarkFlagFilename("plant", "yaml", "yml")
	_ = c.MarkFlagFilename("rules", "yaml", "yml")
	_ = c.RegisterFlagCompletionFunc("job", func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		p, err := readPlantFile(q.files.plant)
		if err != nil {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		var jobs []string
		for _, j := range p.Jobs {
			jobs = append(jobs, cobra.CompletionWithDesc(j.ID, j.Title))
		}
		return jobs, cobra.ShellCompDirectiveNoFileComp
	})
}

// read reads the files, and then what the flags say of the plant in them.
func (q *question) read() error {
	if q.files.plant == "" || q.job == "" {
		return errors.New("--plant FILE and --job ID are needed; --help shows the flags")
	}
	var err error
	if q.plant, err = readPlantFile(q.files.plant); err != nil {
		return err
	}
	if q.rules, err = readRulesFile(q.files.rules); err != nil {
		return err
	}
	for _, id := range line.ByCommas(q.passing) {
		if q.plant.Node(isolation.NodeID(id)) == nil {
			return fmt.Errorf("--passing: the plant has no node %s", id)
		}
		q.facts.Passing = append(q.facts.Passing, isolation.NodeID(id))
	}
	return q.readHeld()
}

// readHeld takes in what other permits hold: "12:V1,12:Q3".
func (q *question) readHeld() error {
	for _, word := range line.ByCommas(q.held) {
		permit, id, ok := strings.Cut(word, ":")
		if !ok || permit == "" {
			return fmt.Errorf("--held: %q lacks the permit's number before the point, as in 12:V1", word)
		}
		n := q.plant.Node(isolation.NodeID(id))
		if n == nil {
			return fmt.Errorf("--held: the plant has no node %s", id)
		}
		at := n.Kind.Isolating()
		if n.Kind == isolation.Opening {
			at = isolation.Open
		}
		q.facts.Held = append(q.facts.Held, isolation.Held{Point: n.ID, Position: at, Permit: permit})
	}
	return nil
}

// proved makes the plan and has it checked. A plan that is infeasible is not one to prove.
func (q *question) proved() (*isolation.Plan, error) {
	plan, err := planner.Make(q.plant, q.rules, q.job, q.facts)
	if err != nil || !plan.Feasible {
		return &plan, err
	}
	p, err := proof.Prove(q.plant, q.rules, plan, q.facts)
	if err != nil {
		return nil, fmt.Errorf("the plan did not pass its check and is not shown: %w", err)
	}
	return p.Plan(), nil
}

func printJSON(out io.Writer, v any) error {
	enc := json.NewEncoder(out)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}
