package calc

import (
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
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

// runCalc works one formula out. It gives 0 and the figures on out, or 1 and a sentence on errOut.
func Run(args []string, out, errOut io.Writer) int {
	if len(args) == 0 {
		calcUsage(errOut)
		return 1
	}
	if args[0] == "--help" || args[0] == "-h" || args[0] == "help" {
		calcUsage(out)
		return 0
	}
	for _, f := range formulas() {
		if f.name != args[0] {
			continue
		}
		v, asJSON, err := f.read(args[1:])
		if err == flag.ErrHelp {
			f.usage(out)
			return 0
		}
		if err == nil {
			err = f.print(v, asJSON, out)
		}
		if err != nil {
			fmt.Fprintf(errOut, "stillwatch calc %s: %v\n", f.name, err)
			return 1
		}
		return 0
	}
	fmt.Fprintf(errOut, "stillwatch calc: there is no formula %q; calc --help lists them\n", args[0])
	return 1
}

// read parses the flags of a formula.
func (f formula) read(args []string) (values, bool, error) {
	v := values{number: map[string]float64{}, word: map[string]string{}, pairs: map[string][][2]float64{}}
	set := flag.NewFlagSet(f.name, flag.ContinueOnError)
	set.SetOutput(io.Discard)
	set.Usage = func() {}
	asJSON := set.Bool("json", false, "")
	seen := map[string]bool{}
	for _, in := range f.takes {
		set.Func(in.name, "", func(text string) error {
			if seen[in.name] && !in.kind.repeats {
				return fmt.Errorf("it is given twice")
			}
			seen[in.name] = true
			return v.take(in, text)
		})
	}
	if err := set.Parse(args); err != nil {
		return v, false, plainFlagError(err)
	}
	if set.NArg() > 0 {
		return v, false, fmt.Errorf("%q belongs to no flag; a value with a space in it needs quotes", set.Arg(0))
	}
	for _, in := range f.takes {
		if !in.optional && !v.has(in.name) {
			return v, false, fmt.Errorf("--%s is missing: %s, such as %s", in.name, in.means, in.kind.example)
		}
	}
	return v, *asJSON, nil
}

// plainFlagError turns the flag package's wording into ours.
func plainFlagError(err error) error {
	if err == flag.ErrHelp {
		return err
	}
	text := err.Error()
	if name, ok := strings.CutPrefix(text, "flag provided but not defined: -"); ok {
		return fmt.Errorf("there is no flag --%s here", strings.TrimPrefix(name, "-"))
	}
	if name, ok := strings.CutPrefix(text, "flag needs an argument: -"); ok {
		return fmt.Errorf("--%s needs a value", strings.TrimPrefix(name, "-"))
	}
	// invalid value "x" for flag -name: reason
	if _, rest, ok := strings.Cut(text, "for flag -"); ok {
		name, why, _ := strings.Cut(rest, ": ")
		return fmt.Errorf("--%s: %s", name, why)
	}
	return err
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

func calcUsage(w io.Writer) {
	fmt.Fprint(w, `usage: stillwatch calc FORMULA --flag VALUE ... [--json]

Works one formula out, to check the program by hand. Every value takes its unit (4m, 50 mm, 380cSt, 98C, 6bar); a bare
number is refused unless the quantity has no unit. Pressures are absolute unless they end in g (7barg). The figures are
printed one a line, or with --json as one object; all are in SI units, and the unit is in the key. Exit status 1: bad input.
`)
	for _, f := range formulas() {
		fmt.Fprintf(w, "\n  %s: %s\n", f.name, f.does)
		var flags []string
		for _, in := range f.takes {
			flags = append(flags, f.flagUsage(in))
		}
		fmt.Fprintf(w, "      %s\n      example: %s\n", strings.Join(flags, " "), f.example())
		for _, g := range f.gives {
			fmt.Fprintf(w, "      %-24s %s\n", g.key, g.means)
		}
	}
	fmt.Fprint(w, "\nA figure computed here is no permission: the company's safety management system and a reading "+
		"decide.\n")
}

// flagUsage is a flag of the formula as the help shows it.
func (f formula) flagUsage(in input) string {
	s := "--" + in.name + " " + f.shown(in)
	if in.kind.repeats {
		s += " ..."
	}
	if in.optional {
		s = "[" + s + "]"
	}
	return s
}

func (f formula) usage(w io.Writer) {
	fmt.Fprintf(w, "usage: stillwatch calc %s --flag VALUE ... [--json]\n\n%s.\nSource: %s.\n\n  example: %s\n\n", f.name,
		f.does, f.source, f.example())
	for _, in := range f.takes {
		fmt.Fprintf(w, "  %-30s %s (%s)\n", f.flagUsage(in), in.means, in.kind.understood())
	}
	fmt.Fprint(w, "\ngives\n")
	for _, g := range f.gives {
		fmt.Fprintf(w, "  %-24s %s\n", g.key, g.means)
	}
}
