package exchange

import (
	"encoding/json"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
)

// draft is the text of a plant file while it is written, one line a row, with the places its parts came from.
type draft struct {
	text  strings.Builder
	line  int
	wide  int      // characters in the line so far
	spans [][]span // per line, in the order of their columns
}

// span says that the text from a column on came from a place.
type span struct {
	column int
	at     string
}

// put writes text that came from a place; at may be empty.
func (d *draft) put(text, at string) {
	if at != "" {
		for len(d.spans) <= d.line {
			d.spans = append(d.spans, nil)
		}
		d.spans[d.line] = append(d.spans[d.line], span{d.wide + 1, at})
	}
	d.text.WriteString(text)
	d.wide += utf8.RuneCountInString(text)
}

func (d *draft) end() {
	d.text.WriteByte('\n')
	d.line, d.wide = d.line+1, 0
}

// origin returns where the text at a line and column of the draft, both from 1, came from.
func (d *draft) origin(line, column int) string {
	at := ""
	if line < 1 || line > len(d.spans) {
		return at
	}
	for _, s := range d.spans[line-1] {
		if s.column > column {
			break
		}
		at = s.at
	}
	return at
}

// plant turns what came in into the text of a plant file and reads it. The plant's Text is that text.
func (b *book) plant() (*isolation.Plant, error) {
	if err := b.err(); err != nil {
		return nil, err
	}
	d := b.write()
	p, err := plantfile.Read(b.file, []byte(d.text.String()))
	var es *plantfile.FileErrors
	if !errors.As(err, &es) {
		return p, err
	}
	for _, e := range es.List {
		b.refuse(d.origin(e.Line, e.Column), "%s", d.retell(e.Words))
	}
	b.more += es.More
	return nil, b.err()
}

var lineInWords = regexp.MustCompile(`\bin line (\d+)\b`)

// retell puts the place that the person knows where the words name a line of the draft.
func (d *draft) retell(words string) string {
	return lineInWords.ReplaceAllStringFunc(words, func(s string) string {
		n, err := strconv.Atoi(lineInWords.FindStringSubmatch(s)[1])
		if at := d.origin(n, 1<<20); err == nil && n <= len(d.spans) && len(d.spans[n-1]) > 0 {
			return "at " + d.spans[n-1][0].at
		} else if at != "" {
			return "at " + at
		}
		return s
	})
}

// write returns the draft of everything.
func (b *book) write() *draft {
	d := &draft{}
	for _, r := range b.rows["plant"] {
		if c, ok := r.cells["plant"]; ok {
			d.put("plant: ", "")
			d.put(scalar(c.text, words), c.at)
			d.end()
		}
	}
	if len(b.leftOut) > 0 {
		d.put("# left out: "+strings.Join(b.leftOut, ", "), "")
		d.end()
	}
	if rows := b.rows["fluids"]; len(rows) > 0 {
		d.put("fluids:", "")
		d.end()
		for _, r := range rows {
			d.fluid(r)
		}
	}
	for _, s := range []*sheet{&nodeSheet, &linkSheet, &machineSheet, &jobSheet} {
		if len(b.rows[s.name]) == 0 {
			continue
		}
		d.put(s.name+":", "")
		d.end()
		for _, r := range b.rows[s.name] {
			d.put("  - {", r.at)
			d.fields(s, r)
			for _, inner := range within[s] {
				d.within(inner, b.rowsWithin(inner, r.cells["id"].text))
			}
			d.put("}", "")
			d.end()
		}
	}
	return d
}

// fields writes the cells of one row as keys and values, in the order of the sheet's columns.
func (d *draft) fields(s *sheet, r row) {
	first, isWithin := true, slices.Contains([]*sheet{&storedSheet, &liveSheet, &deviationSheet, &gasSheet, &holdSheet}, s)
	key := func(name, at string) {
		if !first {
			d.put(", ", "")
		}
		first = false
		d.put(name+": ", at)
	}
	for _, c := range s.columns {
		v, ok := r.cells[c.name]
		switch {
		case !ok || (isWithin && c.name == s.columns[0].name):
		case s == &nodeSheet && slices.Contains([]string{"deck", "frame", "side"}, c.name):
		case s == &linkSheet && strings.HasPrefix(c.name, "invert_"):
		case c.holds == list:
			key(c.name, v.at)
			d.put(listOf(v.text, s == &deviationSheet || s == &jobSheet && c.name != "opens" && c.name != "kept_off"), v.at)
		default:
			key(c.name, v.at)
			d.put(scalar(v.text, c.holds), v.at)
		}
		if s == &nodeSheet && c.name == "name" {
			d.group(r, key, place)
		}
		if s == &linkSheet && c.name == "length_m" {
			d.group(r, key, inverts)
		}
	}
}

// together is several columns that are one key of the plant file: named members in braces, or a list in brackets.
type together struct {
	key     string
	named   bool
	columns []string
}

var (
	place   = together{"place", true, []string{"deck", "frame", "side"}}
	inverts = together{"invert_m", false, []string{"invert_a_m", "invert_b_m"}}
)

// group writes the cells of several columns as one key.
func (d *draft) group(r row, key func(name, at string), g together) {
	var filled []string
	for _, m := range g.columns {
		if _, ok := r.cells[m]; ok {
			filled = append(filled, m)
		}
	}
	if len(filled) == 0 {
		return
	}
	open, end := "[", "]"
	if g.named {
		open, end = "{", "}"
	}
	key(g.key, r.cells[filled[0]].at)
	d.put(open, "")
	for i, m := range filled {
		c := r.cells[m]
		if i > 0 {
			d.put(", ", "")
		}
		if g.named {
			d.put(m+": ", c.at)
		}
		holds := figure
		if m == "side" {
			holds = words
		}
		d.put(scalar(c.text, holds), c.at)
	}
	d.put(end, "")
}

// rowsWithin returns the rows of a sheet that belong to the row with an id of the sheet about it.
func (b *book) rowsWithin(s *sheet, id string) []row {
	var out []row
	for _, r := range b.rows[s.name] {
		if r.cells[s.columns[0].name].text == id {
			out = append(out, r)
		}
	}
	return out
}

// within writes rows as the list that stands inside another row.
func (d *draft) within(s *sheet, rows []row) {
	if len(rows) == 0 {
		return
	}
	d.put(", "+s.name+": [", "")
	for i, r := range rows {
		if i > 0 {
			d.put(", ", "")
		}
		d.put("{", r.at)
		d.fields(s, r)
		d.put("}", "")
	}
	d.put("]", "")
}

// fluid writes one row of the table of fluids.
func (d *draft) fluid(r row) {
	d.put("  ", r.at)
	d.put(scalar(r.cells["fluid"].text, words), r.cells["fluid"].at)
	d.put(": {", "")
	first := true
	key := func(name, at string) {
		if !first {
			d.put(", ", "")
		}
		first = false
		d.put(name+": ", at)
	}
	for _, c := range fluidSheet.columns {
		if v, ok := r.cells[c.name]; ok && (c.name == "family" || c.name == "density_15" || c.name == "tension") {
			key(c.name, v.at)
			d.put(scalar(v.text, c.holds), v.at)
		}
	}
	if points := viscosityPoints(r); len(points) > 0 {
		key("viscosity", r.at)
		d.put("[", "")
		for i, p := range points {
			if i > 0 {
				d.put(", ", "")
			}
			d.put("{", p[0].at)
			for j, name := range []string{"at", "cst"} {
				if p[j].text == "" {
					continue
				}
				if j == 1 && p[0].text != "" {
					d.put(", ", "")
				}
				d.put(name+": ", p[j].at)
				d.put(scalar(p[j].text, figure), p[j].at)
			}
			d.put("}", "")
		}
		d.put("]", "")
	}
	d.put("}", "")
	d.end()
}

// viscosityPoints returns the pairs of temperature and viscosity of which at least one figure is filled in.
func viscosityPoints(r row) [][2]cell {
	var out [][2]cell
	for _, n := range []string{"1", "2"} {
		at, cst := r.cells["at_"+n], r.cells["cst_"+n]
		if at.text == "" && cst.text == "" {
			continue
		}
		out = append(out, [2]cell{at, cst})
	}
	return out
}

var (
	plainWords  = regexp.MustCompile(`^\pL[\pL\pM\pN _./+()°³²µ-]*$`)
	plainFigure = regexp.MustCompile(`^[+-]?[0-9.][0-9.eE+-]*$`)
	notWords    = []string{"true", "false", "null", "yes", "no", "on", "off"}
)

// scalar writes one value so that YAML reads back what the cell holds: plain where that is safe, quoted elsewhere.
func scalar(s string, holds content) string {
	s = strings.TrimSpace(s)
	switch {
	case holds == figure && plainFigure.MatchString(s):
		return s
	case holds == flag && slices.Contains([]string{"true", "yes", "1"}, strings.ToLower(s)):
		return "true"
	case holds == flag && slices.Contains([]string{"false", "no", "0"}, strings.ToLower(s)):
		return "false"
	case plainWords.MatchString(s) && !slices.Contains(notWords, strings.ToLower(s)) && utf8.RuneCountInString(s) < 200:
		return s
	}
	return quoted(s)
}

// quoted writes a double-quoted YAML text; JSON's way of quoting is valid YAML.
func quoted(s string) string {
	var b strings.Builder
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(strings.ToValidUTF8(s, "\ufffd")); err != nil {
		return fmt.Sprintf("%q", s)
	}
	return strings.TrimSuffix(b.String(), "\n")
}

// listOf writes a cell that holds several texts as a YAML list: sentences one a line, ids between commas, semicolons,
// spaces or line ends.
func listOf(s string, sentences bool) string {
	split := func(c rune) bool { return c == '\n' || c == '\r' }
	if !sentences {
		split = func(c rune) bool { return strings.ContainsRune(";, \t\n\r", c) }
	}
	var out []string
	for _, m := range strings.FieldsFunc(s, split) {
		if m = strings.TrimSpace(m); m != "" {
			out = append(out, scalar(m, words))
		}
	}
	return "[" + strings.Join(out, ", ") + "]"
}
