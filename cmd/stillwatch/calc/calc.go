package calc

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"stillwatch/cmd/stillwatch/line"
)

// formula is one sub-command of calc: what it takes, what it gives and how.
type formula struct {
	name, does, source string
	takes              []input
	gives              []output
	work               func(v values) (map[string]float64, error)
}

// input is one flag. Its kind decides which units are understood.
type input struct {
	name     string
	kind     kind
	optional bool
	means    string
}

// output is one key of the JSON object; its unit is in its name.
type output struct{ key, means string }

// values holds what was typed, in SI units; temperatures in °C.
type values struct {
	number map[string]float64
	word   map[string]string
	pairs  map[string][][2]float64
}

func (v values) has(name string) bool {
	_, n := v.number[name]
	_, d := v.number[name+" dynamic"]
	_, w := v.word[name]
	return n || d || w || len(v.pairs[name]) > 0
}

// formulas is every sub-command, in the order in which the help lists them.
func formulas() []formula { return append(drainFormulas(), energyFormulas()...) }

// Command returns the command "calc", with one command for each formula.
func Command() *cobra.Command {
	c := &cobra.Command{Use: "calc", Short: "Work one formula out, to check the program by hand",
		Long: `Work one formula out, to check the program by hand. Every value takes its unit (4m, 50 mm, 380cSt, 98C, 6bar); a bare
number is refused unless the quantity has no unit. Pressures are absolute unless they end in g (7barg). The figures are
printed one a line, or with --json as one object; all are in SI units, and the unit is in the key. Exit status 1: bad
input. A figure computed here is no permission: the company's safety management system and a reading decide.`,
		Example: "  " + formulas()[0].example()}
	for _, f := range formulas() {
		c.AddCommand(f.command())
	}
	return line.Group(c)
}

// command returns the command of one formula.
func (f formula) command() *cobra.Command {
	var about strings.Builder
	fmt.Fprintf(&about, "%s.\nSource: %s.\n\nReturns\n", f.does, f.source)
	for _, g := range f.gives {
		fmt.Fprintf(&about, "  %-24s %s\n", g.key, g.means)
	}
	c := &cobra.Command{Use: f.name, Short: f.does, Long: strings.TrimRight(about.String(), "\n"), Args: noWords,
		Example: "  " + f.example()}
	v := values{number: map[string]float64{}, word: map[string]string{}, pairs: map[string][][2]float64{}}
	asJSON := c.Flags().Bool("json", false, "print one JSON object")
	seen := map[string]bool{}
	for _, in := range f.takes {
		c.Flags().Func(in.name, fmt.Sprintf("%s, such as %s (%s)", in.means, f.shown(in), in.kind.understood()),
			func(text string) error {
				if seen[in.name] && !in.kind.repeats {
					return errors.New("it is given twice")
				}
				seen[in.name] = true
				return v.take(in, text)
			})
	}
	c.RunE = func(c *cobra.Command, _ []string) error {
		for _, in := range f.takes {
			if !in.optional && !v.has(in.name) {
				return fmt.Errorf("--%s is missing: %s, such as %s", in.name, in.means, in.kind.example)
			}
		}
		return f.print(v, *asJSON, c.OutOrStdout())
	}
	return c
}

// noWords refuses a word that belongs to no flag.
func noWords(_ *cobra.Command, words []string) error {
	if len(words) > 0 {
		return fmt.Errorf("%q belongs to no flag; a value with a space in it needs quotes", words[0])
	}
	return nil
}

// take stores one value under its flag.
func (v values) take(in input, text string) error {
	if in.kind.words != nil {
		w, err := in.kind.word(text)
		v.word[in.name] = w
		return err
	}
	if in.kind.repeats {
		p, err := in.kind.pair(text)
		v.pairs[in.name] = append(v.pairs[in.name], p)
		return err
	}
	x, err := in.kind.number(text)
	if err != nil && in.kind.or != nil {
		if y, other := in.kind.or.number(text); other == nil {
			v.number[in.name+" dynamic"] = y
			return nil
		}
	}
	v.number[in.name] = x
	return err
}

// print works the formula and writes its figures; a figure that is none is an error, never printed.
func (f formula) print(v values, asJSON bool, out io.Writer) error {
	result, err := f.work(v)
	if err != nil {
		return err
	}
	var keys []output
	for _, g := range f.gives {
		x, ok := result[g.key]
		if !ok {
			continue
		}
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return fmt.Errorf("%s has no value for these inputs", g.means)
		}
		keys = append(keys, g)
	}
	if !asJSON {
		for _, g := range keys {
			if _, err := fmt.Fprintf(out, "%-24s %-14s %s\n", g.key, strconv.FormatFloat(result[g.key], 'g', 7, 64),
				g.means); err != nil {
				return err
			}
		}
		return nil
	}
	parts := make([]string, len(keys))
	for i, g := range keys {
		x, err := json.Marshal(result[g.key])
		if err != nil {
			return err
		}
		parts[i] = fmt.Sprintf("%q: %s", g.key, x)
	}
	_, err = fmt.Fprintf(out, "{%s}\n", strings.Join(parts, ", "))
	return err
}
