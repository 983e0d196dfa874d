package main

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"stillwatch/isolation"
	"stillwatch/isolation/exchange"
)

const plantUsage = `usage: stillwatch plant check FILE         read a plant file; say what is wrong, or what a person should look at
       stillwatch plant show FILE          say what is in it
       stillwatch plant import FILE [-o OUT]
                                           make a plant file of a workbook (.xlsx) or a drawn graph (.graphml)
       stillwatch plant template OUT.xlsx [--plant FILE]
                                           write a workbook to fill in: an example, or a plant that there is

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
	text, err := readUpTo(path, isolation.MaxFileBytes+1)
	if err != nil {
		return nil, err
	}
	return isolation.Read(path, text)
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
	path, err := plantArgs(args, flag.NewFlagSet("check", flag.ContinueOnError))
	if err != nil {
		return err
	}
	p, err := readPlantFile(path)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "%s is sound: %s\n", path, plantCounts(p))
	printNotes(out, p)
	return nil
}

func plantCounts(p *isolation.Plant) string {
	return fmt.Sprintf("%d nodes (%d points), %d links, %d machines, %d jobs", len(p.Nodes), len(pointsOnly(p)), len(p.Links), len(p.Machines), len(p.Jobs))
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
	notes := p.Notes()
	if len(notes) == 0 {
		return
	}
	fmt.Fprintln(out, "\nTo look at:")
	for _, n := range notes {
		fmt.Fprintf(out, "  - %s\n", n)
	}
}

func plantShow(args []string, out, _ io.Writer) error {
	path, err := plantArgs(args, flag.NewFlagSet("show", flag.ContinueOnError))
	if err != nil {
		return err
	}
	p, err := readPlantFile(path)
	if err != nil {
		return err
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
		fmt.Fprintf(out, "  %s (%s): %d nodes, %d stored energies%s\n", m.Name, m.ID, len(m.Nodes), len(m.Stored), standby)
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

func plantImport(args []string, out, errOut io.Writer) error {
	flags := flag.NewFlagSet("import", flag.ContinueOnError)
	to := flags.String("o", "", "file to write; the screen if left out")
	path, err := plantArgs(args, flags)
	if err != nil {
		return err
	}
	data, err := readUpTo(path, 64<<20)
	if err != nil {
		return err
	}
	var p *isolation.Plant
	switch ext := strings.ToLower(filepath.Ext(path)); ext {
	case ".xlsx":
		p, err = exchange.ReadXLSX(path, data)
	case ".graphml", ".xml":
		p, err = exchange.ReadGraphML(path, data)
	default:
		err = fmt.Errorf("%s: only workbooks (.xlsx) and drawn graphs (.graphml) can be imported", path)
	}
	if err != nil {
		return err
	}
	if *to == "" {
		_, err = out.Write(p.Text)
		return err
	}
	if err := writeNew(*to, p.Text); err != nil {
		return err
	}
	fmt.Fprintf(errOut, "wrote %s: %s\n", *to, plantCounts(p))
	printNotes(errOut, p)
	return nil
}

func plantTemplate(args []string, _, errOut io.Writer) error {
	flags := flag.NewFlagSet("template", flag.ContinueOnError)
	from := flags.String("plant", "", "plant file to write out instead of the example")
	to, err := plantArgs(args, flags)
	if err != nil {
		return err
	}
	if strings.ToLower(filepath.Ext(to)) != ".xlsx" {
		return fmt.Errorf("%s: the template is a workbook; give a name that ends in .xlsx", to)
	}
	var buf bytes.Buffer
	if *from == "" {
		err = exchange.WriteTemplate(&buf)
	} else {
		var p *isolation.Plant
		if p, err = readPlantFile(*from); err == nil {
			err = exchange.WriteXLSX(&buf, p)
		}
	}
	if err != nil {
		return err
	}
	if err := writeNew(to, buf.Bytes()); err != nil {
		return err
	}
	fmt.Fprintf(errOut, "wrote %s\n", to)
	return nil
}

// writeNew writes a file that must not be there yet: a plant file in use is never overwritten by an import.
func writeNew(path string, data []byte) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	if _, err := f.Write(data); err != nil {
		f.Close()
		return err
	}
	return f.Close()
}
