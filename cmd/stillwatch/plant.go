package main

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"stillwatch/cmd/stillwatch/line"
	"stillwatch/isolation"
	"stillwatch/isolation/drawing/diagram"
	"stillwatch/isolation/plantfile"
)

// plantCommand checks, shows and imports plant files.
func plantCommand() *cobra.Command {
	return line.Group(&cobra.Command{Use: "plant", Short: "Check, show or import a plant file",
		Long: `Check, show or import a plant file. Files that are there already are not overwritten.
Exit status: 0 the plant is sound, 1 it is not, or could not be read or written.`,
		Example: `  stillwatch plant template workbook.xlsx
  stillwatch plant import workbook.xlsx -o plant.yaml
  stillwatch plant check plant.yaml`}, plantCheck(), plantShow(), plantImport(), plantTemplate())
}

// readPlantFile reads a plant file from disk. It reads no more than a plant file may have.
func readPlantFile(path string) (*isolation.Plant, error) {
	text, err := readUpTo(path, plantfile.MaxFileBytes+1)
	if err != nil {
		return nil, err
	}
	return plantfile.Read(path, text)
}

// readRulesFile reads a company's own rules; without a name it returns the shipped ones.
func readRulesFile(path string) (*isolation.Rules, error) {
	if path == "" {
		return plantfile.ShippedRules(), nil
	}
	text, err := readUpTo(path, plantfile.MaxFileBytes+1)
	if err != nil {
		return nil, fmt.Errorf("read rules: %w", err)
	}
	return plantfile.ReadRules(path, text)
}

func readUpTo(path string, most int64) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, most))
}

func plantCheck() *cobra.Command {
	c := &cobra.Command{Use: "check FILE", Short: "Say what is wrong in a plant file, or what a person should look at",
		Long: "Read a plant file; say what is wrong, or what a person should look at, and whether every source has a rule " +
			"for every job.",
		Args: line.One("the plant file"), Example: "  stillwatch plant check plant.yaml --rules company.yaml"}
	rulesPath := c.Flags().String("rules", "", "rules file to check with it; the shipped rules if left out")
	c.RunE = func(c *cobra.Command, words []string) error {
		p, err := readPlantFile(words[0])
		if err != nil {
			return err
		}
		rules, err := readRulesFile(*rulesPath)
		if err != nil {
			return err
		}
		if err := unruled(p, rules); err != nil {
			return err
		}
		c.Printf("%s is sound: %s\n", words[0], plantCounts(p))
		if *rulesPath != "" {
			c.Printf("%s is sound: %d rules, and one for every source and job\n", *rulesPath, len(rules.Demands))
		}
		printNotes(c.OutOrStdout(), p)
		return nil
	}
	return c
}

// unruled returns an error for the sources that no rule matches in some job, each once.
func unruled(p *isolation.Plant, rules *isolation.Rules) error {
	seen := map[isolation.Exposure]bool{}
	var all []error
	for i := range p.Jobs {
		for _, e := range p.Jobs[i].Exposures() {
			if seen[e] {
				continue
			}
			seen[e] = true
			for i := range p.Nodes {
				if n := &p.Nodes[i]; n.Kind == isolation.Source {
					if _, err := rules.Demand(n, e, 0); err != nil {
						all = append(all, err)
					}
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

func plantShow() *cobra.Command {
	c := &cobra.Command{Use: "show FILE", Short: "Say what is in a plant file; draw it", Args: line.One("the plant file"),
		Example: "  stillwatch plant show plant.yaml --svg plant.svg"}
	svg := c.Flags().String("svg", "", "file to draw the plant into")
	c.RunE = func(c *cobra.Command, words []string) error {
		p, err := readPlantFile(words[0])
		if err != nil {
			return err
		}
		if *svg != "" {
			if err := drawPlant(p, *svg); err != nil {
				return err
			}
			c.PrintErrf("wrote %s\n", *svg)
		}
		c.Printf("%s\nsha256 %s\n%s\n", cmp.Or(p.Title, "(no title)"), p.SHA256, plantCounts(p))
		out := c.OutOrStdout()
		showKinds(out, p)
		showSources(out, p)
		showMachines(out, p)
		printNotes(out, p)
		return nil
	}
	return c
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
	return line.WriteNewBytes(path, buf.Bytes())
}
