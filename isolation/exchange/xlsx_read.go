package exchange

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"

	"stillwatch/isolation"
)

// The most that is read of a workbook, so that a small file that unpacks to a huge one cannot exhaust the machine.
const (
	mostPacked   = 16 << 20
	mostUnpacked = 128 << 20
	mostRows     = 100_000
	mostColumns  = 200
)

// ReadXLSX reads a workbook with the sheets nodes, links, machines, stored, jobs, live, fluids and plant, of which only
// nodes must be there. The first row of each names its columns (see WriteTemplate); empty rows don't count; a sheet
// whose name begins with "notes" is left alone, any other unknown sheet or column is refused. The plant's Text is the
// plant file that the workbook makes. Errors wrap *RowErrors, which name sheet and cell.
func ReadXLSX(name string, data []byte) (p *isolation.Plant, err error) {
	defer func() {
		if v := recover(); v != nil {
			p, err = nil, fmt.Errorf("read workbook %s: it cannot be unpacked: %v", name, v)
		}
	}()
	if len(data) > mostPacked {
		return nil, fmt.Errorf("read workbook %s: it has %d bytes; the largest that is read has %d", name, len(data),
			mostPacked)
	}
	f, err := excelize.OpenReader(bytes.NewReader(data), excelize.Options{UnzipSizeLimit: mostUnpacked,
		UnzipXMLSizeLimit: mostUnpacked, RawCellValue: true})
	if err != nil {
		return nil, fmt.Errorf("read workbook %s: %w", name, err)
	}
	defer f.Close()
	b := &book{file: name, rows: map[string][]row{}}
	for _, title := range f.GetSheetList() {
		if err := b.takeSheet(f, title); err != nil {
			return nil, fmt.Errorf("read workbook %s: sheet %s: %w", name, title, err)
		}
	}
	b.complete()
	if p, err = b.plant(); err != nil {
		return nil, fmt.Errorf("read workbook: %w", err)
	}
	return p, nil
}

// complete refuses what no single cell can be blamed for.
func (b *book) complete() {
	if len(b.rows["nodes"]) == 0 && len(b.faults) == 0 {
		b.refuse("", "the sheet nodes has no rows; it lists everything that the plant is made of")
	}
	for _, outer := range sheets {
		ids := map[string]bool{}
		for _, r := range b.rows[outer.name] {
			ids[r.cells["id"].text] = true
		}
		for _, inner := range within[outer] {
			owner := inner.columns[0].name
			for _, r := range b.rows[inner.name] {
				if id := r.cells[owner]; !ids[id.text] {
					b.refuse(firstOf(id.at, r.at), "the row belongs to %s %q, which is not on the sheet %s", owner, id.text,
						outer.name)
				}
			}
		}
	}
	for _, r := range b.rows["fluids"] {
		if r.cells["fluid"].text == "" {
			b.refuse(r.at, "the fluid has no name in the column fluid")
		}
	}
}

func firstOf(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

// takeSheet reads one sheet's rows.
func (b *book) takeSheet(f *excelize.File, title string) error {
	s := sheetNamed(title)
	if s == nil {
		if !strings.HasPrefix(strings.ToLower(title), "notes") {
			b.refuse(title, "unknown sheet; known are %s, and any whose name begins with notes",
				strings.Join(sheetNames(), ", "))
		}
		return nil
	}
	rows, err := f.Rows(title)
	if err != nil {
		return err
	}
	defer rows.Close()
	var heads []string
	for n := 1; rows.Next(); n++ {
		if n > mostRows {
			b.refuse(fmt.Sprintf("%s row %d", title, n), "more than %d rows", mostRows)
			return nil
		}
		cells, err := rows.Columns()
		if err != nil {
			return err
		}
		if n == 1 {
			heads = b.heads(s, title, cells)
			continue
		}
		b.takeRow(s, title, heads, n, cells)
	}
	return rows.Error()
}

func sheetNamed(title string) *sheet {
	for _, s := range sheets {
		if strings.EqualFold(strings.TrimSpace(title), s.name) {
			return s
		}
	}
	return nil
}

func sheetNames() []string {
	out := make([]string, len(sheets))
	for i, s := range sheets {
		out[i] = s.name
	}
	return out
}

// heads reads the first row: the names of the columns.
func (b *book) heads(s *sheet, title string, cells []string) []string {
	if len(cells) > mostColumns {
		b.refuse(title+" row 1", "more than %d columns", mostColumns)
		cells = cells[:mostColumns]
	}
	heads := make([]string, len(cells))
	for i, c := range cells {
		name := strings.ToLower(strings.TrimSpace(c))
		switch {
		case name == "":
		case s.column(name) == nil:
			b.refuse(cellName(title, i, 1), "unknown column %q; known are %s", c, strings.Join(s.names(), ", "))
		case slices.Contains(heads, name):
			b.refuse(cellName(title, i, 1), "the column %q stands here twice", name)
		default:
			heads[i] = name
		}
	}
	return heads
}

// takeRow reads one row below the first. A filled cell below an empty head is refused: nobody knows what it means.
func (b *book) takeRow(s *sheet, title string, heads []string, n int, cells []string) {
	r := row{at: fmt.Sprintf("%s row %d", title, n), cells: map[string]cell{}}
	for i, c := range cells {
		if c = strings.TrimSpace(c); c == "" {
			continue
		}
		if i >= len(heads) || heads[i] == "" {
			if i < mostColumns && len(b.faults) < mostFaults {
				b.refuse(cellName(title, i, n), "the cell holds something, but its column has no known name in the first row")
			}
			continue
		}
		r.cells[heads[i]] = cell{c, cellName(title, i, n)}
	}
	if len(r.cells) > 0 {
		b.rows[s.name] = append(b.rows[s.name], r)
	}
}

// cellName returns "nodes!F12" for column index 5, row 12.
func cellName(title string, column, row int) string {
	at, err := excelize.CoordinatesToCellName(column+1, row)
	if err != nil {
		return fmt.Sprintf("%s row %d", title, row)
	}
	return title + "!" + at
}
