package main

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"stillwatch/isolation"
	"stillwatch/isolation/drawing/diagram"
	"stillwatch/isolation/plantfile"
)

const plantUsage = `usage:
  stillwatch plant check FILE [--rules RULES]
      read a plant file; say what is wrong, or what a person should look at. With a rules file also whether every
      source has a rule for every job.
  stillwatch plant show FILE [--svg OUT]
      say what is in it; draw it
  stillwatch plant import FILE [-o OUT]
      make a plant file of a workbook (.xlsx) or a drawn graph (.graphml)
  stillwatch plant import FILE [--list] [--questions Q.csv] [--answers A.csv] [-o OUT]
      make a plant file of a piping diagram in the Proteus schema (.xml) or a list of valves (.csv, or .xlsx with
      --list). What it does not say is asked, never guessed: positions in service, whether a lock goes on, what comes
      from where the drawing ends, levels. For example:
        stillwatch plant import diagram.xml --questions ask.csv     then fill in the column answer
        stillwatch plant import diagram.xml --answers ask.csv -o plant.yaml
  stillwatch plant template OUT.xlsx [--plant FILE]
      write a workbook to fill in: an example, or a plant that there is

Files that are there already are not overwritten.

Exit status: 0 the plant is sound, 1 it is not, or could not be read or written.
`

// runPlant checks, shows and imports plant files.
func runPlant(args []string, out, errOut io.Writer) int {
	parts := map[string]func([]string, io.Writer, io.Writer) error{
		"check": plantCheck, "show": plantShow, "import": plantImport, "template": plantTemplate,
	}
	if len(args) > 0 && slices.Contains([]string{"help", "--help", "-h"}, args[0]) {
		fmt.Fprint(out, plantUsage)
		return 0
	}
	if len(args) == 0 || parts[args[0]] == nil {
		if len(args) > 0 {
			fmt.Fprintf(errOut, "stillwatch plant: there is no %q\n\n", args[0])
		}
		fmt.Fprint(errOut, plantUsage)
		return 1
	}
	err := parts[args[0]](args[1:], out, errOut)
	switch {
	case errors.Is(err, flag.ErrHelp):
		fmt.Fprint(out, plantUsage)
		return 0
	case err != nil:
		fmt.Fprintf(errOut, "stillwatch plant %s: %v\n", args[0], err)
		return 1
	}
	return 0
}

// plantArgs takes one file name and the flags around it, in any order.
func plantArgs(args []string, flags *flag.FlagSet) (file string, err error) {
	flags.SetOutput(io.Discard)
	for {
		if err := flags.Parse(args); err != nil {
			return "", err
		}
		switch args = flags.Args(); {
		case len(args) == 0 && file == "":
			return "", fmt.Errorf("name a file; see stillwatch plant --help")
		case len(args) == 0:
			return file, nil
		case file != "":
			return "", fmt.Errorf("one file at a time, not %s and %s", file, args[0])
		}
		file, args = args[0], args[1:]
	}
}

// readPlantFile reads a plant file from disk. It reads no more than a plant file may have.
func readPlantFile(path string) (*isolation.Plant, error) {
	text, err := readUpTo(path, plantfile.MaxFileBytes+1)
	if err != nil {
		return nil, err
	}
	return plantfile.Read(path, text)
}

func readUpTo(path string, most int64) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, most))
}

func plantCheck(args []string, out, _ io.Writer) error {
	flags := flag.NewFlagSet("check", flag.ContinueOnError)
	rulesPath := flags.String("rules", "", "rules file to check with it; the shipped rules if left out")
	path, err := plantArgs(args, flags)
	if err != nil {
		return err
	}
	p, err := readPlantFile(path)
	if err != nil {
		return err
	}
	rules := plantfile.ShippedRules()
	if *rulesPath != "" {
		text, err := readUpTo(*rulesPath, plantfile.MaxFileBytes+1)
		if err != nil {
			return err
		}
		if rules, err = plantfile.ReadRules(*rulesPath, text); err != nil {
			return err
		}
	}
	if err := unruled(p, rules); err != nil {
		return err
	}
	fmt.Fprintf(out, "%s is sound: %s\n", path, plantCounts(p))
	if *rulesPath != "" {
		fmt.Fprintf(out, "%s is sound: %d rules, and one for every source and job\n", *rulesPath, len(rules.Demands))
	}
	printNotes(out, p)
	return nil
}

// unruled returns an error for the sources that no rule matches in some job, each once.
func unruled(p *isolation.Plant, rules *isolation.Rules) error {
	seen := map[isolation.Exposure]bool{}
	var all []error
	for _, j := range p.Jobs {
		if seen[j.Exposure] {
			continue
		}
		seen[j.Exposure] = true
		for i := range p.Nodes {
			if n := &p.Nodes[i]; n.Kind == isolation.Source {
				if _, err := rules.Demand(n, j.Exposure, 0); err != nil {
					all = append(all, err)
				}
			}
		}
	}
	return errors.Join(all...)
}

func plantCounts(p *isolation.Plant) string {
	return fmt.Sprintf("%d nodes (%d points), %d links, %d machines, %d jobs", len(p.Nodes), len(pointsOnly(p)),
		len(p.Links), len(p.Machines), len(p.Jobs))
}

func pointsOnly(p *isolation.Plant) []isolation.NodeID {
	var out []isolation.NodeID
	for _, n := range p.Nodes {
		if n.Kind.IsPoint() {
			out = append(out, n.ID)
		}
	}
	return out
}

func printNotes(out io.Writer, p *isolation.Plant) {
	notes := p.Remarks
	if len(notes) == 0 {
		return
	}
	fmt.Fprintln(out, "\nTo look at:")
	for _, n := range notes {
		fmt.Fprintf(out, "  - %s\n", n)
	}
}

func plantShow(args []string, out, errOut io.Writer) error {
	flags := flag.NewFlagSet("show", flag.ContinueOnError)
	svg := flags.String("svg", "", "file to draw the plant into")
	path, err := plantArgs(args, flags)
	if err != nil {
		return err
	}
	p, err := readPlantFile(path)
	if err != nil {
		return err
	}
	if *svg != "" {
		if err := drawPlant(p, *svg); err != nil {
			return err
		}
		fmt.Fprintf(errOut, "wrote %s\n", *svg)
	}
	title := p.Title
	if title == "" {
		title = "(no title)"
	}
	fmt.Fprintf(out, "%s\nsha256 %s\n%s\n", title, p.SHA256, plantCounts(p))
	showKinds(out, p)
	showSources(out, p)
	showMachines(out, p)
	printNotes(out, p)
	return nil
}

// showKinds prints how many nodes there are of each kind, in the order in which the file first has them.
func showKinds(out io.Writer, p *isolation.Plant) {
	count := map[isolation.Kind]int{}
	var order []isolation.Kind
	for _, n := range p.Nodes {
		if count[n.Kind]++; count[n.Kind] == 1 {
			order = append(order, n.Kind)
		}
	}
	fmt.Fprintln(out, "\nNodes:")
	for _, k := range order {
		fmt.Fprintf(out, "  %5d  %s\n", count[k], k)
	}
}

func showSources(out io.Writer, p *isolation.Plant) {
	fmt.Fprintln(out, "\nSources of energy:")
	for i := range p.Nodes {
		n := &p.Nodes[i]
		if n.Kind != isolation.Source {
			continue
		}
		state := []string{string(n.Energy)}
		if n.Volt != 0 {
			state = append(state, fmt.Sprintf("%g V", n.Volt))
		}
		if n.Energy.Flows() {
			state = append(state, fmt.Sprintf("%g bar", n.GaugeBar))
		}
		if n.HasTemp {
			state = append(state, fmt.Sprintf("%g °C", n.TempC))
		}
		fmt.Fprintf(out, "  %s: %s\n", n.Label(), strings.Join(state, ", "))
	}
}

func showMachines(out io.Writer, p *isolation.Plant) {
	fmt.Fprintln(out, "\nMachines and jobs:")
	for _, m := range p.Machines {
		standby := ""
		if m.Standby != "" {
			standby = ", standby " + m.Standby
		}
		fmt.Fprintf(out, "  %s (%s): %s, %s%s\n", m.Name, m.ID, counted(len(m.Nodes), "node", "nodes"),
			counted(len(m.Stored), "stored energy", "stored energies"), standby)
		for _, j := range p.Jobs {
			if j.Machine == m.ID {
				fmt.Fprintf(out, "    job %s: %s (%s)\n", j.ID, j.Title, j.Exposure)
			}
		}
	}
	for _, j := range p.Jobs {
		if j.Machine == "" {
			fmt.Fprintf(out, "  job %s: %s (%s)\n", j.ID, j.Title, j.Exposure)
		}
	}
}

func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

func drawPlant(p *isolation.Plant, path string) error {
	var buf bytes.Buffer
	if err := diagram.Plant(p).SVG(&buf, diagram.Options{Standalone: true}); err != nil {
		return err
	}
	return writeNew(path, buf.Bytes())
}
