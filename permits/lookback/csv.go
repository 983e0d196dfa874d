package lookback

import (
	"encoding/csv"
	"io"
	"regexp"
	"strconv"
	"strings"
	"time"
)

// Cell is one field of a table. Only Text, Whole and Moment make one, so that no text reaches a spreadsheet unguarded.
type Cell struct{ text string }

// Text returns words as a cell that no spreadsheet takes for a formula.
func Text(s string) Cell { return Cell{guarded(s)} }

// Whole returns a whole number as a cell.
func Whole(n int64) Cell { return Cell{strconv.FormatInt(n, 10)} }

// Decimal returns a figure as a cell, with a point and at most so many decimals.
func Decimal(v float64, decimals int) Cell { return Cell{strconv.FormatFloat(v, 'f', decimals, 64)} }

// Moment returns a time as a cell: in the ship's zone, with the offset from UTC (RFC 3339, which lets +00:00 stand for
// UTC); empty for none.
func Moment(t time.Time, zone *time.Location) Cell {
	if t.IsZero() {
		return Cell{}
	}
	return Cell{t.In(zone).Format("2006-01-02T15:04:05-07:00")}
}

// Words returns what the cell says.
func (c Cell) Words() string { return c.text }

// formula finds where a spreadsheet could take what follows for a formula: at the beginning of a field, and behind
// every sign that some spreadsheet takes for the end of one (OWASP, CSV injection, from memory: = + - @, a tab and line
// ends, and the wide forms of the signs).
var formula = regexp.MustCompile("(^|[;,|\"'])([\\s\\x{00A0}\\x{FEFF}]*)([=+\\-@\u2212\uFF1D\uFF0B\uFF0D\uFF20])")

// guarded returns a text without line ends and tabs, and with an apostrophe before each place that could begin a
// formula: a spreadsheet then shows it as it is.
func guarded(s string) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case r == '\t' || r == '\r' || r == '\n' || r == '\v' || r == '\f' || r == '\u2028' || r == '\u2029' || r == '\u0085':
			return ' '
		case r < ' ' || r == 0x7F:
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, "\uFFFD"))
	return formula.ReplaceAllString(s, "$1$2'$3")
}

// byteOrderMark tells spreadsheets that the file is UTF-8; without it some take names for another script.
const byteOrderMark = "\uFEFF"

// WriteCSV writes a table as RFC 4180 has it, in UTF-8: one line of headings, then the rows.
func WriteCSV(w io.Writer, head []string, rows [][]Cell) error {
	if _, err := io.WriteString(w, byteOrderMark); err != nil {
		return err
	}
	out := csv.NewWriter(w)
	out.UseCRLF = true
	if err := out.Write(head); err != nil {
		return err
	}
	for _, row := range rows {
		fields := make([]string, len(row))
		for i, c := range row {
			fields[i] = c.text
		}
		if err := out.Write(fields); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}
