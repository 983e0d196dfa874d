package exchange

import (
	"bytes"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"stillwatch/isolation"
)

// listColumns are the columns that are known of a valve list, and the heads under which yards write them (common
// practice, no source). The others are passed over and named in a comment of the plant.
var listColumns = map[string][]string{
	"id":       {"tag", "tag no", "tag number", "valve", "valve no", "valve number", "id", "no", "item"},
	"name":     {"description", "service", "name", "function"},
	"type":     {"type", "kind", "valve type"},
	"dn":       {"dn", "size", "nominal size", "bore", "nb"},
	"deck":     {"deck"},
	"frame":    {"frame", "fr", "fr no"},
	"side":     {"side", "p/s"},
	"normal":   {"normal", "normal position", "position", "no/nc"},
	"lockable": {"lockable", "lock", "locking device"},
	"from":     {"from", "inlet", "upstream"},
	"to":       {"to", "outlet", "downstream"},
}

// listTypes are the words of the trade for what a valve is, longest first where one is part of another (common
// practice, no source). What may shut by itself is not a point. Any other word is asked about: a screw-down non-return
// valve, for one, is a point in some hands and a check valve in others.
var listTypes = []struct {
	word string
	kind isolation.Kind
}{
	{"screw-down", ""}, {"screw down", ""}, {"sdnr", ""}, {"storm", ""}, {"control", ""}, {"solenoid", ""}, {"remote", ""},
	{"quick-closing", ""}, {"quick closing", ""}, {"three-way", ""}, {"3-way", ""},
	{"non-return", isolation.CheckValve}, {"non return", isolation.CheckValve}, {"check", isolation.CheckValve},
	{"nrv", isolation.CheckValve}, {"relief", isolation.CheckValve}, {"safety", isolation.CheckValve},
	{"spectacle", isolation.Blank}, {"blind", isolation.Blank}, {"blank", isolation.Blank},
	{"ball", isolation.Valve}, {"gate", isolation.Valve}, {"globe", isolation.Valve}, {"butterfly", isolation.Valve},
	{"needle", isolation.Valve}, {"plug", isolation.Valve}, {"diaphragm", isolation.Valve},
}

// listPositions are the trade's short words for the position in service.
var listPositions = map[string]string{"no": "open", "nc": "closed", "lo": "open", "lc": "closed", "open": "open",
	"closed": "closed", "shut": "closed", "fitted": "fitted", "removed": "removed"}

// listSides are the short words for the sides.
var listSides = map[string]string{"p": "port", "s": "starboard", "c": "centre"}

// ReadValveList reads a plain list of valves, one a row below the heads of its columns, from a workbook's first sheet
// (.xlsx) or from comma- or semicolon-separated values, with what a person has answered. What lies on the two sides of
// a valve is asked where the list has no columns from and to: a list alone joins nothing. Errors wrap *RowErrors.
func ReadValveList(name string, data []byte, answers Answers) (*Imported, error) {
	if len(data) > mostPacked {
		return nil, fmt.Errorf("read list %s: it has more than %d bytes, the most that is read", name, mostPacked)
	}
	read := readTable
	if strings.HasSuffix(strings.ToLower(name), ".xlsx") {
		read = readFirstSheet
	}
	t, err := read(name, data)
	if err != nil {
		return nil, fmt.Errorf("read list: %w", err)
	}
	l := &valveList{survey: newSurvey(name, answers), column: map[string]string{},
		joined: map[[2]string]bool{}}
	l.headed(t.heads)
	if err := l.err(); err != nil {
		return nil, fmt.Errorf("read list: %w", err)
	}
	for _, r := range t.rows {
		l.valve(r)
	}
	l.beside()
	l.fluids()
	out, err := l.result()
	if err != nil {
		return nil, fmt.Errorf("read list: %w", err)
	}
	return out, nil
}

// readFirstSheet reads the first sheet of a workbook as a table.
func readFirstSheet(name string, data []byte) (t *table, err error) {
	defer func() {
		if v := recover(); v != nil {
			t, err = nil, fmt.Errorf("%s: it cannot be unpacked: %v", name, v)
		}
	}()
	f, err := excelize.OpenReader(bytes.NewReader(data), excelize.Options{UnzipSizeLimit: mostUnpacked,
		UnzipXMLSizeLimit: mostUnpacked, RawCellValue: true})
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	defer f.Close()
	title := f.GetSheetName(0)
	rows, err := f.Rows(title)
	if err != nil {
		return nil, fmt.Errorf("%s: sheet %s: %w", name, title, err)
	}
	defer rows.Close()
	t = &table{}
	for n := 1; rows.Next(); n++ {
		if n > mostRows {
			return nil, fmt.Errorf("%s: more than %d rows", name, mostRows)
		}
		cells, err := rows.Columns()
		if err != nil {
			return nil, fmt.Errorf("%s: sheet %s: %w", name, title, err)
		}
		if n == 1 {
			for _, c := range cells {
				t.heads = append(t.heads, strings.ToLower(strings.TrimSpace(c)))
			}
			continue
		}
		r := row{at: lineAt(n), cells: map[string]cell{}}
		for i, c := range cells {
			if c = strings.TrimSpace(c); c != "" && i < len(t.heads) {
				r.cells[t.heads[i]] = cell{c, lineAt(n)}
			}
		}
		if len(r.cells) > 0 {
			t.rows = append(t.rows, r)
		}
	}
	return t, rows.Error()
}

// valveList is a list while it is read.
type valveList struct {
	*survey
	column  map[string]string // the head that stands over each known column
	outside []besideValve
	joined  map[[2]string]bool
}

// besideValve is a thing that lies beside a valve and is no valve of the list.
type besideValve struct {
	name string
	line int
}

// headed finds the known columns among the heads.
func (l *valveList) headed(heads []string) {
	for _, h := range heads {
		plain := strings.TrimRight(strings.ReplaceAll(h, ".", ""), " ")
		known := ""
		for c, names := range listColumns {
			if slices.Contains(names, plain) {
				known = c
			}
		}
		switch {
		case known == "" && h != "":
			l.leftOut = append(l.leftOut, notInIDs.ReplaceAllString(h, " "))
		case known != "" && l.column[known] != "":
			l.refuse("line 1", "the columns %q and %q both say the %s", l.column[known], h, known)
		case known != "":
			l.column[known] = h
		}
	}
	if l.column["id"] == "" {
		l.refuse("line 1", "no column says the tag of each valve; known heads are %s", strings.Join(listColumns["id"], ", "))
	}
}

func lineOf(r row) int {
	n, _ := strconv.Atoi(strings.TrimPrefix(r.at, "line "))
	return n
}

// valve makes a node of a row, with a link on each side.
func (l *valveList) valve(in row) {
	said := func(c string) string { return in.cells[l.column[c]].text }
	id, line := said("id"), lineOf(in)
	if id == "" {
		l.refuse(in.at, "the row has no tag")
		return
	}
	kind := isolation.Kind("")
	for _, t := range listTypes {
		if strings.Contains(strings.ToLower(said("type")), t.word) {
			kind = t.kind
			break
		}
	}
	r := l.node(line, id, kind, said("name"))
	if kind == "" {
		c, ok := l.ask(needed(line, id, "kind", fmt.Sprintf("The list calls it %q. What is it "+
			"to somebody who isolates", said("type"))), "valve", "check-valve", "automatic-valve", "blank", "spool", "plug")
		if !ok {
			return
		}
		kind = isolation.ParseKind(strings.ToLower(c.text))
		r.cells["kind"] = c
	}
	for _, c := range []string{"deck", "frame", "side"} {
		if v := said(c); v != "" {
			r.cells[c] = cell{firstOf(listSides[strings.ToLower(v)], v), in.at}
		}
	}
	if kind.IsPoint() {
		l.pointHands(line, r, kind, listPositions[strings.ToLower(said("normal"))], strings.ToLower(said("lockable")))
	}
	l.add("nodes", r)
	for _, side := range []string{"from", "to"} {
		l.side(line, id, side, said(side), said("dn"))
	}
}

// side joins a valve to what lies on one side of it.
func (l *valveList) side(line int, id, side, beside, dn string) {
	if beside == "" {
		c, ok := l.ask(needed(line, id, side, "What lies on its one side ("+side+"): a "+
			"valve's tag, or a short name for the pipe, tank or machine there"))
		if !ok {
			return
		}
		beside = c.text
	}
	beside = strings.Trim(notInIDs.ReplaceAllString(beside, "-"), "-")
	l.outside = append(l.outside, besideValve{beside, line})
	if l.joined[[2]string{beside, id}] {
		return // the other valve's row says the same
	}
	l.joined[[2]string{id, beside}] = true
	dn = strings.TrimSpace(strings.TrimPrefix(strings.ToUpper(dn), "DN"))
	l.join(line, id, beside, dn, "")
}

// beside asks what the things are that lie beside valves and are none.
func (l *valveList) beside() {
	for _, o := range l.outside {
		if _, there := l.ids[o.name]; there {
			continue
		}
		c, ok := l.ask(needed(o.line, o.name, "kind", "What is it: a pipe between valves "+
			"(junction), something that is opened for work (vessel), or where energy comes from (source)"), "junction", "vessel",
			"source")
		if !ok {
			l.ids[o.name] = o.line
			continue
		}
		switch kind := strings.ToLower(c.text); kind {
		case "source":
			l.source(o.line, o.name, "It is called a source")
		case "vessel":
			l.add("nodes", l.node(o.line, o.name, isolation.Vessel, ""))
			l.machine(o.line, o.name, o.name, []string{o.name}, []string{o.name})
		default:
			l.add("nodes", l.node(o.line, o.name, isolation.Junction, ""))
		}
	}
}
