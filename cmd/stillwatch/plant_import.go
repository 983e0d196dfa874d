package main

import (
	"bytes"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"stillwatch/cmd/stillwatch/line"
	"stillwatch/isolation"
	"stillwatch/isolation/exchange"
)

func plantImport() *cobra.Command {
	var a asking
	c := &cobra.Command{Use: "import FILE", Short: "Make a plant file of a workbook, a drawing or a list of valves",
		Long: `Make a plant file of a workbook (.xlsx), a drawn graph (.graphml), a piping diagram in the Proteus schema (.xml) or a
list of valves (.csv, or .xlsx with --list). What a diagram or a list does not say is asked, never guessed: positions in
service, whether a lock goes on, what comes from where the drawing ends, levels.`,
		Args: line.One("the file to import"),
		Example: `  stillwatch plant import workbook.xlsx -o plant.yaml
  stillwatch plant import diagram.xml --questions ask.csv     then fill in the column answer
  stillwatch plant import diagram.xml --answers ask.csv -o plant.yaml`}
	to := c.Flags().StringP("out", "o", "", "file to write; the screen if left out")
	c.Flags().StringVar(&a.answers, "answers", "", "filled-in questions")
	c.Flags().StringVar(&a.questions, "questions", "", "file to write the questions into")
	c.Flags().BoolVar(&a.list, "list", false, "the workbook is a plain list of valves")
	c.RunE = func(c *cobra.Command, words []string) error {
		p, err := a.importFile(words[0], c.ErrOrStderr())
		if err != nil || p == nil {
			return err
		}
		if *to == "" {
			_, err = c.OutOrStdout().Write(p.Text)
			return err
		}
		if err := line.WriteNewBytes(*to, p.Text); err != nil {
			return err
		}
		c.PrintErrf("wrote %s: %s\n", *to, plantCounts(p))
		printNotes(c.ErrOrStderr(), p)
		return nil
	}
	return c
}

// importFile reads a file by what its name and its first words say it is. See importAsking for a plant that is nil.
func (a asking) importFile(path string, errOut io.Writer) (*isolation.Plant, error) {
	data, err := readUpTo(path, exchange.MaxDrawingBytes+1)
	if err != nil {
		return nil, err
	}
	asks := a.asks(path, data)
	if !asks && (a.answers != "" || a.questions != "") {
		return nil, fmt.Errorf("%s: only diagrams (.xml) and lists of valves (.csv, or .xlsx with --list) leave questions",
			path)
	}
	switch ext := strings.ToLower(filepath.Ext(path)); {
	case asks:
		return a.importAsking(path, data, errOut)
	case ext == ".xlsx":
		return exchange.ReadXLSX(path, data)
	case ext == ".graphml" || ext == ".xml":
		return exchange.ReadGraphML(path, data)
	}
	return nil, fmt.Errorf("%s: only workbooks (.xlsx), drawn graphs (.graphml), diagrams (.xml) and lists of valves "+
		"(.csv) can be imported", path)
}

func plantTemplate() *cobra.Command {
	c := &cobra.Command{Use: "template OUT.xlsx",
		Short:   "Write a workbook to fill in: an example, or a plant that there is",
		Args:    line.One("the workbook to write"),
		Example: "  stillwatch plant template workbook.xlsx\n  stillwatch plant template mine.xlsx --plant plant.yaml"}
	from := c.Flags().String("plant", "", "plant file to write out instead of the example")
	c.RunE = func(c *cobra.Command, words []string) error {
		to := words[0]
		if strings.ToLower(filepath.Ext(to)) != ".xlsx" {
			return fmt.Errorf("%s: the template is a workbook; give a name that ends in .xlsx", to)
		}
		var buf bytes.Buffer
		if *from == "" {
			if err := exchange.WriteTemplate(&buf); err != nil {
				return err
			}
		} else if p, err := readPlantFile(*from); err != nil {
			return err
		} else if err := exchange.WriteXLSX(&buf, p); err != nil {
			return err
		}
		if err := line.WriteNewBytes(to, buf.Bytes()); err != nil {
			return err
		}
		c.PrintErrf("wrote %s\n", to)
		return nil
	}
	return c
}
