package main

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"strings"

	"stillwatch/isolation"
	"stillwatch/isolation/planner"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proof"
)

const planUsage = `usage: stillwatch plan --plant FILE --job ID [options]

Computes the isolation of one job, checks it by a second algorithm, and prints it. It reads two files and writes
nothing. Exit status 0: the plan; 2: the demands cannot be met, and the way that cannot be cut is printed; 1: an error.

  --plant FILE      plant file
  --job ID          job in it
  --rules FILE      the company's own rules; otherwise the shipped ones
  --passing ID,...  points recorded as passing: none of them is used
  --held N:ID,...   points that other open permits hold shut, each with its permit's number: they are shared
  --why POINT       explain why this point is in the plan, or why not
  --json            print the plan as one JSON object
`

// question is what a command line asks about one job of one plant.
type question struct {
	plant *isolation.Plant
	rules *isolation.Rules
	job   string
	facts isolation.Circumstances
	why   string
	json  bool
}

// runPlan computes one isolation and prints it.
func runPlan(args []string, out, errOut io.Writer) int {
	q, err := readQuestion("plan", planUsage, args, out)
	if errors.Is(err, flag.ErrHelp) {
		return 0
	}
	if err == nil && q.why != "" {
		var words string
		if words, err = planner.Why(q.plant, q.rules, q.job, q.facts, isolation.NodeID(q.why)); err == nil {
			fmt.Fprintln(out, words)
			return 0
		}
	}
	if err != nil {
		fmt.Fprintln(errOut, "stillwatch:", err)
		return 1
	}
	plan, err := q.proved()
	if err != nil {
		fmt.Fprintln(errOut, "stillwatch:", err)
		return 1
	}
	if q.json {
		err = printJSON(out, plan)
	} else {
		err = printPlan(out, plan)
	}
	switch {
	case err != nil:
		fmt.Fprintln(errOut, "stillwatch:", err)
		return 1
	case !plan.Feasible:
		return 2
	}
	return 0
}

// readQuestion reads the flags and files of a command that asks about one job.
func readQuestion(name, usage string, args []string, out io.Writer) (question, error) {
	var q question
	flags := flag.NewFlagSet(name, flag.ContinueOnError)
	flags.SetOutput(io.Discard)
	plant := flags.String("plant", "", "")
	rules := flags.String("rules", "", "")
	passing := flags.String("passing", "", "")
	held := flags.String("held", "", "")
	flags.StringVar(&q.job, "job", "", "")
	flags.BoolVar(&q.json, "json", false, "")
	if name == "plan" {
		flags.StringVar(&q.why, "why", "", "")
	}
	switch err := flags.Parse(args); {
	case errors.Is(err, flag.ErrHelp):
		fmt.Fprint(out, usage)
		return q, err
	case err != nil:
		return q, fmt.Errorf("%s: %w; --help shows the options", name, err)
	case flags.NArg() > 0:
		return q, fmt.Errorf("%s: %q is no option; --help shows them", name, flags.Arg(0))
	case *plant == "" || q.job == "":
		return q, fmt.Errorf("%s: --plant FILE and --job ID are needed; --help shows the options", name)
	}
	if err := q.read(*plant, *rules, *passing); err != nil {
		return q, err
	}
	return q, q.readHeld(*held)
}

// readHeld takes in what other permits hold: "12:V1,12:Q3".
func (q *question) readHeld(list string) error {
	for _, word := range strings.FieldsFunc(list, func(c rune) bool { return c == ',' || c == ' ' }) {
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

func (q *question) read(plant, rules, passing string) error {
	text, err := os.ReadFile(plant)
	if err != nil {
		return fmt.Errorf("read plant: %w", err)
	}
	if q.plant, err = plantfile.Read(plant, text); err != nil {
		return err
	}
	q.rules = plantfile.ShippedRules()
	if rules != "" {
		if text, err = os.ReadFile(rules); err != nil {
			return fmt.Errorf("read rules: %w", err)
		}
		if q.rules, err = plantfile.ReadRules(rules, text); err != nil {
			return err
		}
	}
	for _, id := range strings.FieldsFunc(passing, func(c rune) bool { return c == ',' || c == ' ' }) {
		if q.plant.Node(isolation.NodeID(id)) == nil {
			return fmt.Errorf("--passing: the plant has no node %s", id)
		}
		q.facts.Passing = append(q.facts.Passing, isolation.NodeID(id))
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
