package exchange

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"stillwatch/isolation"
)

// Question is something that a drawing or a list does not say and a person must, or may. It is never answered by a
// guess: while a needed one is open there is no plant.
type Question struct {
	Line   int    // of the drawing or list
	ID     string // the thing that is asked about
	Field  string // what is asked of it
	Ask    string // in words, with the answers that are taken
	Needed bool   // without it no plant is made; else what is not known is left unsaid, and plans say so
	Answer string
}

// needed is a question without whose answer there is no plant.
func needed(line int, id, field, ask string) Question {
	return Question{Line: line, ID: id, Field: field, Ask: ask, Needed: true}
}

// ifKnown is a question whose answer may stay unsaid.
func ifKnown(line int, id, field, ask string) Question {
	return Question{Line: line, ID: id, Field: field, Ask: ask}
}

// Imported is what came of a drawing or a list.
type Imported struct {
	Plant     *isolation.Plant // nil while a needed question is open
	Questions []Question       // all, with their answers, in the order of the drawing
	Open      int              // needed questions without an answer
}

// Answers is what a person has filled in, by thing and field.
type Answers struct {
	file string
	rows map[[2]string]cell
}

// The columns of a file of questions, as WriteQuestions writes and ReadAnswers reads it.
var questionColumns = []string{"line", "id", "field", "needed", "question", "answer"}

// mostAnswers is how large a file of answers may be, bytes.
const mostAnswers = 4 << 20

// WriteQuestions writes questions as a table of comma-separated values, with a column answer to fill in. ReadAnswers
// reads it back.
func WriteQuestions(w io.Writer, list []Question) error {
	out := csv.NewWriter(w)
	if err := out.Write(questionColumns); err != nil {
		return err
	}
	for _, q := range list {
		mark := "if known"
		if q.Needed {
			mark = "yes"
		}
		if err := out.Write([]string{strconv.Itoa(q.Line), q.ID, q.Field, mark, q.Ask, q.Answer}); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// ReadAnswers reads a filled-in file of questions: id, field and answer count, the other columns are for the reader.
// Commas or semicolons may part the columns, as spreadsheets save them. Errors wrap *RowErrors, which name the line.
func ReadAnswers(name string, data []byte) (Answers, error) {
	b := &book{file: name}
	a := Answers{file: name, rows: map[[2]string]cell{}}
	if len(data) > mostAnswers {
		return a, fmt.Errorf("read answers %s: it has more than %d bytes", name, mostAnswers)
	}
	table, err := readTable(name, data)
	if err != nil {
		return a, fmt.Errorf("read answers: %w", err)
	}
	for _, want := range []string{"id", "field", "answer"} {
		if !slices.Contains(table.heads, want) {
			b.refuse("line 1", "there is no column %q; the first line names them: %s", want, strings.Join(questionColumns, ", "))
		}
	}
	for _, r := range table.rows {
		key := [2]string{r.cells["id"].text, r.cells["field"].text}
		c, ok := r.cells["answer"]
		if !ok {
			continue
		}
		if first, twice := a.rows[key]; twice && first.text != c.text {
			b.refuse(r.at, "%s of %s is answered %q here and %q at %s", key[1], key[0], c.text, first.text, first.at)
		}
		a.rows[key] = cell{c.text, name + " " + r.at}
	}
	if err := b.err(); err != nil {
		return a, fmt.Errorf("read answers: %w", err)
	}
	return a, nil
}

// table is a file of comma-separated values: the names of its columns, and its rows by those names.
type table struct {
	heads []string
	rows  []row
}

// readTable reads comma- or semicolon-separated values whose first line names the columns.
func readTable(name string, data []byte) (*table, error) {
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	b := &book{file: name}
	first, _, _ := bytes.Cut(data, []byte("\n"))
	in := csv.NewReader(bytes.NewReader(data))
	in.FieldsPerRecord = -1
	if bytes.Count(first, []byte(";")) > bytes.Count(first, []byte(",")) {
		in.Comma = ';'
	}
	t := &table{}
	for len(t.rows) <= mostRows {
		cells, err := in.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			b.refuse("", "not comma-separated values: %s", err)
			break
		}
		line, _ := in.FieldPos(0)
		at := fmt.Sprintf("line %d", line)
		if t.heads == nil {
			for _, c := range cells {
				t.heads = append(t.heads, strings.ToLower(strings.TrimSpace(c)))
			}
			continue
		}
		r := row{at: at, cells: map[string]cell{}}
		for i, c := range cells {
			if c = strings.TrimSpace(c); c == "" {
				continue
			}
			if i >= len(t.heads) {
				b.refuse(at, "there are %d cells here and %d columns in the first line", len(cells), len(t.heads))
				break
			}
			r.cells[t.heads[i]] = cell{c, at}
		}
		if len(r.cells) > 0 {
			t.rows = append(t.rows, r)
		}
	}
	if len(t.rows) > mostRows {
		b.refuse("", "more than %d rows", mostRows)
	}
	if len(t.rows) == 0 && len(b.faults) == 0 {
		b.refuse("", "it has no rows below the names of its columns")
	}
	return t, b.err()
}

// survey is a plant in the making: rows from a drawing or a list, and what had to be asked.
type survey struct {
	*book
	answers Answers
	asked   map[[2]string]bool
	list    []Question
	open    int
	ids     map[string]int // ids of nodes, and the line of each
}

func newSurvey(file string, answers Answers) *survey {
	return &survey{book: &book{file: file, rows: map[string][]row{}}, answers: answers, asked: map[[2]string]bool{},
		ids: map[string]int{}}
}

// ask asks a question once and returns its answer; ok is false while it is open, or was answered with a word that is
// not taken, which is refused.
func (s *survey) ask(q Question, taken ...string) (c cell, ok bool) {
	key := [2]string{q.ID, q.Field}
	if len(taken) > 0 {
		q.Ask += ": " + strings.Join(taken, ", ")
	}
	if c, ok = s.answers.rows[key]; ok && len(taken) > 0 && !slices.ContainsFunc(taken, func(w string) bool {
		return strings.EqualFold(w, c.text)
	}) {
		s.refuse(c.at, "%s of %s cannot be %q; it is one of %s", q.Field, q.ID, c.text, strings.Join(taken, ", "))
		ok = false
	}
	if !s.asked[key] {
		s.asked[key] = true
		q.Answer = c.text
		s.list = append(s.list, q)
		if q.Needed && c.text == "" {
			s.open++
		}
	}
	return c, ok
}

// fill asks for a cell of a row.
func (s *survey) fill(r row, q Question, taken ...string) {
	if c, ok := s.ask(q, taken...); ok {
		r.cells[q.Field] = c
	}
}

// node begins a node; an id that is there already is refused.
func (s *survey) node(line int, id string, kind isolation.Kind, name string) row {
	at := lineAt(line)
	if first, twice := s.ids[id]; twice {
		s.refuse(at, "the id %s stands already in line %d", id, first)
	}
	s.ids[id] = line
	r := row{at: at, cells: map[string]cell{"id": {id, at}, "kind": {string(kind), at}}}
	if name != "" && name != id {
		r.cells["name"] = cell{name, at}
	}
	return r
}

func (s *survey) add(sheet string, r row) { s.rows[sheet] = append(s.rows[sheet], r) }

func lineAt(n int) string { return fmt.Sprintf("line %d", n) }

// result is the plant, or what is still to be asked. An answer to a question that nobody asked is refused: it was meant
// for another drawing, or its id is misspelt.
func (s *survey) result() (*Imported, error) {
	for key, c := range s.answers.rows {
		if !s.asked[key] {
			s.refuse(c.at, "nothing is asked about %s of %q", key[1], key[0])
		}
	}
	slices.SortFunc(s.faults, func(a, b RowError) int { return strings.Compare(a.At, b.At) })
	if err := s.err(); err != nil {
		return nil, err
	}
	slices.SortStableFunc(s.list, func(a, b Question) int { return a.Line - b.Line })
	out := &Imported{Questions: s.list, Open: s.open}
	if s.open > 0 {
		return out, nil
	}
	p, err := s.plant()
	out.Plant = p
	return out, err
}

// pointHands asks what matters to the person who closes a point, unless the drawing or list says it: its position in
// service and whether a lock goes on.
func (s *survey) pointHands(line int, r row, kind isolation.Kind, normal, lockable string) {
	id := r.cells["id"].text
	positions := []string{string(kind.Passing()), string(kind.Isolating())}
	if slices.Contains(positions, normal) {
		r.cells["normal"] = cell{normal, r.at}
	} else {
		s.fill(r, needed(line, id, "normal", "In which position does it stand in service"),
			positions...)
	}
	if lockable == "yes" || lockable == "no" {
		r.cells["lockable"] = cell{lockable, r.at}
	} else {
		s.fill(r, needed(line, id, "lockable", "Can a lock be put on it"), "yes", "no")
	}
	if strings.EqualFold(r.cells["lockable"].text, "no") {
		s.fill(r, needed(line, id, "measure", "What is done more where no lock goes on"))
	}
	s.place(line, r)
}

func (s *survey) place(line int, r row) {
	id := r.cells["id"].text
	for _, p := range []struct{ field, ask string }{{"deck", "On which deck, counted from the tank top upward"},
		{"frame", "At which frame"}, {"side", "On which side: port, starboard or centre"}} {
		if _, said := r.cells[p.field]; !said {
			s.fill(r, ifKnown(line, id, p.field, p.ask))
		}
	}
}

// source asks whether energy comes from where a drawing ends, which, and whether a valve beyond shuts it off. Until
// somebody says no, it may come.
func (s *survey) source(line int, id, what string) {
	c, ok := s.ask(needed(line, id, "energy", what+". Which energy can come from "+
		"there, also against the usual flow (such as fuel, steam, cooling water, electrical), or none"))
	if !ok {
		return
	}
	if strings.EqualFold(c.text, "none") {
		s.add("nodes", s.node(line, id, isolation.Junction, ""))
		return
	}
	valve, behind := s.ask(ifKnown(line, id, "valve", "Which valve shuts it off there, beyond what is "+
		"drawn: its tag"))
	own := id
	if behind {
		own += "-beyond"
		s.add("nodes", s.node(line, id, isolation.Junction, ""))
		v := s.node(line, valve.text, isolation.Valve, "")
		s.pointHands(line, v, isolation.Valve, "", "")
		s.add("nodes", v)
		s.join(line, id, valve.text, "", "")
		s.join(line, valve.text, own, "", "")
	}
	r := s.node(line, own, isolation.Source, "")
	r.cells["energy"] = c
	if e, known := isolation.ParseEnergy(c.text); known && e.Flows() {
		s.flows(line, id, r, true)
	} else if known && e.Nature() == isolation.Current {
		s.fill(r, needed(line, id, "volt", "At how many volts"))
	}
	s.add("nodes", r)
}

// flows asks for the state of what flows, under an id.
func (s *survey) flows(line int, id string, r row, pressure bool) {
	if pressure {
		s.fill(r, needed(line, id, "gauge_bar", "At which pressure at most, bar gauge"))
		s.fill(r, needed(line, id, "temp_c", "How hot at most, °C"))
	}
	s.fill(r, ifKnown(line, id, "fluid", "Which fluid, by a short name"))
	s.fill(r, ifKnown(line, id, "elevation_m", "Level of its bottom, m above the base line"))
}

// fluids asks what the named fluids are like, each once.
func (s *survey) fluids() {
	for _, r := range slices.Clone(s.rows["nodes"]) {
		c, named := r.cells["fluid"]
		if !named || s.asked[[2]string{c.text, "density_15"}] {
			continue
		}
		n, _ := strconv.Atoi(strings.TrimPrefix(r.at, "line "))
		f := row{at: r.at, cells: map[string]cell{"fluid": c}}
		s.fill(f, needed(n, c.text, "density_15", "The fluid's density at 15 °C, kg/m³"))
		for _, q := range []struct{ field, ask string }{{"family", "The fluid's family, such as residual fuel"},
			{"at_1", "A temperature at which its viscosity is known, °C"}, {"cst_1", "Its viscosity there, cSt"},
			{"at_2", "A second temperature, °C"}, {"cst_2", "Its viscosity there, cSt"},
			{"tension", "Its surface tension, N/m"}} {
			s.fill(f, ifKnown(n, c.text, q.field, q.ask))
		}
		s.add("fluids", f)
	}
}

// join links two nodes. Pipes ask for their run; run is the id under which they do, or "".
func (s *survey) join(line int, a, b, boreMM, run string) {
	at := lineAt(line)
	r := row{at: at, cells: map[string]cell{"a": {a, at}, "b": {b, at}}}
	if boreMM != "" {
		r.cells["bore_mm"] = cell{boreMM, at}
	}
	if run != "" {
		if boreMM == "" {
			s.fill(r, ifKnown(line, run, "bore_mm", "How wide is the pipe from "+a+" to "+b+" inside, mm"))
		}
		for _, q := range []struct{ field, ask string }{
			{"length_m", "How long is the pipe from " + a + " to " + b + ", m"},
			{"invert_a_m", "Level of the pipe's bottom at " + a + ", m above the base line"},
			{"invert_b_m", "The same at " + b}} {
			s.fill(r, ifKnown(line, run, q.field, q.ask))
		}
	}
	s.add("links", r)
}

// machine makes a machine, and a job if somebody says how people are exposed when it is opened.
func (s *survey) machine(line int, id, name string, nodes, opens []string) {
	at := lineAt(line)
	s.add("machines", row{at: at, cells: map[string]cell{"id": {id, at}, "name": {name, at},
		"nodes": {strings.Join(nodes, ", "), at}}})
	c, ok := s.ask(ifKnown(line, id, "exposure", "How are people exposed when it is opened; no job is "+
		"made of it where this stays empty"), "outside", "open", "enter", "hot work")
	if !ok || len(opens) == 0 {
		return
	}
	s.add("jobs", row{at: at, cells: map[string]cell{"id": {id + "-open", at}, "machine": {id, at},
		"title": {"Open " + name, at}, "opens": {strings.Join(opens, ", "), at}, "exposure": c}})
}
