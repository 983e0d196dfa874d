package exchange

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
)

// ReadGraphML reads a drawn graph (GraphML, as graph editors save it). Attributes have the names of the columns of a
// workbook (see WriteTemplate), and "label" counts as the name where there is no other.
//
// A node is a node of the plant; its attribute id is its id, or else the id of its element. Some kinds are not nodes of
// the plant: machine, job, fluid and stored, with the attributes of those sheets (stored energy says its kind in an
// attribute stored). An edge is a link; from a job it says what the job opens, from a machine what belongs to it, and
// so does drawing nodes inside a machine. An arrow alone never makes a link one-way or an air gap, because editors
// draw arrows unasked: only one_way = true and air_gap = true do.
//
// Attributes that only matter to the drawing are left out and named in a comment of the plant's Text; one that looks
// like a misspelt column is refused. Errors wrap *RowErrors, which name the line.
func ReadGraphML(name string, data []byte) (*isolation.Plant, error) {
	if len(data) > plantfile.MaxFileBytes {
		return nil, fmt.Errorf("read graph %s: it has %d bytes; the largest that is read has %d", name, len(data),
			plantfile.MaxFileBytes)
	}
	g := &graph{book: &book{file: name, rows: map[string][]row{}}, d: xml.NewDecoder(bytes.NewReader(data)),
		keys: map[string]attribute{}, ids: map[string]*element{}}
	g.d.CharsetReader = func(charset string, _ io.Reader) (io.Reader, error) {
		return nil, fmt.Errorf("the file is in %s; save it as UTF-8", charset)
	}
	if err := g.read(); err != nil {
		line, _ := g.d.InputPos()
		g.refuse(fmt.Sprintf("line %d", line), "%s", err)
	}
	g.sortOut()
	if len(g.faults) == 0 && len(g.rows["nodes"]) == 0 {
		g.refuse("", "the graph has no nodes")
	}
	if len(g.faults) == 0 {
		g.complete()
	}
	p, err := g.plant()
	if err != nil {
		return nil, fmt.Errorf("read graph: %w", err)
	}
	return p, nil
}

// attribute is what a <key> element declares.
type attribute struct{ name, domain, preset string }

// element is one <node>, <edge> or <graph> as it was drawn.
type element struct {
	at             string
	xmlID          string
	source, target string
	inside         string // the node element that it is drawn in
	data           map[string]cell
	edge, graph    bool
}

// graph is a drawn graph while it is read.
type graph struct {
	*book
	d     *xml.Decoder
	keys  map[string]attribute
	ids   map[string]*element
	elems []*element
	open  []*element // node and graph elements around the place being read
}

const deepestGraph = 60

func (g *graph) here() string {
	line, _ := g.d.InputPos()
	return fmt.Sprintf("line %d", line)
}

// read walks the XML once. What it does not know it passes over with all that is inside.
func (g *graph) read() error {
	seen := false
	for {
		t, err := g.d.Token()
		switch {
		case errors.Is(err, io.EOF) && !seen:
			return fmt.Errorf("there is no <graphml> in it")
		case errors.Is(err, io.EOF):
			return nil
		case err != nil:
			return fmt.Errorf("not XML: %w", err)
		}
		switch t := t.(type) {
		case xml.StartElement:
			if !isGraphML(t.Name.Space) {
				if err := g.d.Skip(); err != nil {
					return fmt.Errorf("not XML: %w", err)
				}
				continue
			}
			if !seen && t.Name.Local != "graphml" {
				return fmt.Errorf("it begins with <%s>, not with <graphml>", t.Name.Local)
			}
			seen = true
			if err := g.start(t); err != nil {
				return err
			}
		case xml.EndElement:
			if n := len(g.open); n > 0 && (t.Name.Local == "node" || t.Name.Local == "graph" || t.Name.Local == "edge") {
				g.open = g.open[:n-1]
			}
		}
	}
}

// isGraphML reports whether an element is GraphML's own and not an editor's.
func isGraphML(space string) bool {
	return space == "" || strings.Contains(space, "graphml.graphdrawing.org")
}

// start takes one element in.
func (g *graph) start(t xml.StartElement) error {
	switch t.Name.Local {
	case "graphml":
		return nil
	case "key":
		return g.key(t)
	case "graph", "node", "edge":
		if len(g.open) > deepestGraph {
			return fmt.Errorf("graphs inside graphs, more than %d deep", deepestGraph)
		}
		e := &element{at: g.here(), xmlID: attr(t, "id"), source: attr(t, "source"), target: attr(t, "target"),
			data: map[string]cell{}, edge: t.Name.Local == "edge", graph: t.Name.Local == "graph"}
		for i := len(g.open) - 1; i >= 0 && e.inside == ""; i-- {
			if g.ids[g.open[i].xmlID] == g.open[i] {
				e.inside = g.open[i].xmlID
			}
		}
		g.open = append(g.open, e)
		if e.graph {
			return nil
		}
		return g.take(e)
	case "data":
		return g.data(t)
	case "hyperedge":
		g.refuse(g.here(), "a hyperedge joins many nodes at once; draw a junction with an edge to each")
	}
	return g.d.Skip()
}

// take notes a node or edge.
func (g *graph) take(e *element) error {
	if !e.edge {
		if e.xmlID == "" {
			g.refuse(e.at, "the node has no id")
		} else if first, twice := g.ids[e.xmlID]; twice {
			g.refuse(e.at, "the id %q is already that of the node at %s", e.xmlID, first.at)
		} else {
			g.ids[e.xmlID] = e
		}
	}
	g.elems = append(g.elems, e)
	return nil
}

func attr(t xml.StartElement, name string) string {
	for _, a := range t.Attr {
		if a.Name.Local == name && a.Name.Space == "" {
			return strings.TrimSpace(a.Value)
		}
	}
	return ""
}

// key reads the declaration of an attribute with its preset value.
func (g *graph) key(t xml.StartElement) error {
	var k struct {
		Default string `xml:"default"`
	}
	if err := g.d.DecodeElement(&k, &t); err != nil {
		return fmt.Errorf("not XML: %w", err)
	}
	name := ""
	for _, a := range t.Attr {
		if a.Name.Local == "attr.name" {
			name = strings.ToLower(strings.TrimSpace(a.Value))
		}
	}
	g.keys[attr(t, "id")] = attribute{name, attr(t, "for"), strings.TrimSpace(k.Default)}
	return nil
}

// data reads one attribute of the innermost element.
func (g *graph) data(t xml.StartElement) error {
	at := g.here()
	var v struct {
		Text string `xml:",chardata"`
	}
	if err := g.d.DecodeElement(&v, &t); err != nil {
		return fmt.Errorf("not XML: %w", err)
	}
	k, declared := g.keys[attr(t, "key")]
	text := strings.TrimSpace(v.Text)
	if len(g.open) == 0 || !declared || k.name == "" || text == "" {
		return nil
	}
	e := g.open[len(g.open)-1]
	e.data[k.name] = cell{text, at}
	if e.graph && k.name == "plant" {
		g.rows["plant"] = []row{{at, map[string]cell{"plant": {text, at}}}}
	}
	return nil
}

// kindOf returns what an element's kind attribute says, "" for an edge.
func (e *element) kindOf() string {
	if e.edge {
		return ""
	}
	return strings.ToLower(e.data["kind"].text)
}

// sheetOf tells which sheet a node belongs on.
func (e *element) sheetOf() *sheet {
	switch e.kindOf() {
	case "machine":
		return &machineSheet
	case "job":
		return &jobSheet
	case "fluid":
		return &fluidSheet
	case "stored":
		return &storedSheet
	}
	return &nodeSheet
}

// painted returns the id that people see.
func (e *element) painted() cell {
	if c, ok := e.data["id"]; ok {
		return c
	}
	return cell{e.xmlID, e.at}
}

// sortOut brings elements onto their sheets: first nodes and the like, then what edges and nesting say of them.
func (g *graph) sortOut() {
	rows := map[string]*row{}
	var order []*element
	for _, e := range g.elems {
		if e.edge {
			continue
		}
		r := g.rowOf(e, e.sheetOf())
		rows[e.xmlID] = &r
		order = append(order, e)
	}
	for _, e := range g.elems {
		if e.edge {
			g.edge(e, rows)
		} else if box := g.ids[e.inside]; box != nil && box.kindOf() == "machine" && e.sheetOf() == &nodeSheet {
			join(rows[box.xmlID], "nodes", e.painted().text, e.at)
		} else if box != nil && box.kindOf() == "machine" && e.sheetOf() == &storedSheet {
			rows[e.xmlID].cells["machine"] = box.painted()
		}
	}
	for _, e := range order {
		g.rows[e.sheetOf().name] = append(g.rows[e.sheetOf().name], *rows[e.xmlID])
	}
	slices.Sort(g.leftOut)
	g.leftOut = slices.Compact(g.leftOut)
}

// rowOf takes an element's attributes over into a row of its sheet.
func (g *graph) rowOf(e *element, s *sheet) row {
	r := row{at: e.at, cells: map[string]cell{}}
	for _, name := range sortedKeys(e.data) {
		c := e.data[name]
		switch {
		case s.column(name) != nil:
			r.cells[name] = c
		case name == "kind" || name == "id" || name == "stored" || name == "label" || name == "plant":
		default:
			g.strange(name, c.at, s)
		}
	}
	g.presets(e, s, r)
	if s == &linkSheet {
		return r
	}
	key := "id"
	switch s {
	case &fluidSheet:
		key = "fluid"
	case &storedSheet:
		key = ""
		if r.cells["kind"] = e.data["stored"]; r.cells["kind"].text == "" {
			g.refuse(e.at, "a stored energy says its kind in the attribute stored: rotation, heat, charge, gas, spring, "+
				"weight or liquid")
		}
	}
	if key != "" {
		r.cells[key] = e.painted()
	}
	title := "name"
	if s == &jobSheet {
		title = "title"
	}
	if _, stated := r.cells[title]; !stated && s.column(title) != nil && e.data["label"].text != "" {
		r.cells[title] = e.data["label"]
	}
	return r
}

// presets fills in what the declaration of an attribute says of every element that does not say it itself, where it
// says something about the element at all.
func (g *graph) presets(e *element, s *sheet, r row) {
	for _, k := range g.keys {
		if _, stated := r.cells[k.name]; stated || k.preset == "" || s.column(k.name) == nil {
			continue
		}
		if (e.edge && k.domain == "node") || (!e.edge && k.domain == "edge") || k.domain == "graph" {
			continue
		}
		key := k.name
		if key == "deck" || key == "frame" || key == "side" {
			key = "place"
		}
		if s == &nodeSheet && !plantfile.Says(isolation.ParseKind(e.data["kind"].text), key) {
			continue
		}
		r.cells[k.name] = cell{k.preset, e.at}
	}
}

// strange leaves an attribute of the drawing out, unless it looks like a misspelt column.
func (g *graph) strange(name, at string, s *sheet) {
	if near := plantfile.Nearest(name, s.names()); near != "" {
		g.refuse(at, "unknown attribute %q; did you mean %q? Rename or remove it", name, near)
		return
	}
	g.leftOut = append(g.leftOut, strings.Join(strings.Fields(name), " "))
}

// edge makes a link, or notes what a job opens or a machine holds.
func (g *graph) edge(e *element, rows map[string]*row) {
	ends := [2]*element{g.ids[e.source], g.ids[e.target]}
	for i, id := range []string{e.source, e.target} {
		if ends[i] == nil {
			g.refuse(e.at, "the edge ends at %q, which is not a node", id)
		}
	}
	if ends[0] == nil || ends[1] == nil {
		return
	}
	if ends[0].sheetOf() == &nodeSheet && ends[1].sheetOf() == &nodeSheet {
		r := g.rowOf(e, &linkSheet)
		r.cells["a"], r.cells["b"] = cell{ends[0].painted().text, e.at}, cell{ends[1].painted().text, e.at}
		g.rows["links"] = append(g.rows["links"], r)
		return
	}
	if ends[0].sheetOf() == &nodeSheet {
		ends[0], ends[1] = ends[1], ends[0]
	}
	from, to := rows[ends[0].xmlID], ends[1]
	switch a, b := ends[0].sheetOf(), to.sheetOf(); {
	case a == &jobSheet && b == &nodeSheet:
		join(from, "opens", to.painted().text, e.at)
	case a == &machineSheet && b == &nodeSheet:
		join(from, "nodes", to.painted().text, e.at)
	case a == &jobSheet && b == &machineSheet:
		from.cells["machine"] = to.painted()
	case a == &machineSheet && b == &jobSheet:
		rows[to.xmlID].cells["machine"] = ends[0].painted()
	case a == &storedSheet && b == &machineSheet:
		from.cells["machine"] = to.painted()
	case a == &machineSheet && b == &storedSheet:
		rows[to.xmlID].cells["machine"] = ends[0].painted()
	default:
		g.refuse(e.at, "an edge between a %s and a %s says nothing", ends[0].kindOf(), to.kindOf())
	}
}

// join adds an id to a cell that holds a list.
func join(r *row, column, id, at string) {
	c := r.cells[column]
	if c.text == "" {
		c.at = at
	} else {
		c.text += ", "
	}
	if !slices.Contains(strings.Split(c.text, ", "), id) {
		c.text += id
		r.cells[column] = c
	}
}

func sortedKeys(m map[string]cell) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}
