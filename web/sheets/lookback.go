package sheets

import (
	"strconv"
	"strings"
	"time"

	"stillwatch/permits"
	"stillwatch/permits/lookback"
	"stillwatch/permits/paper"
	"stillwatch/permits/register"
	"stillwatch/web/screens"
)

// Table is what is exported: for a spreadsheet every column, on paper those that have a share of its width.
type Table struct {
	Head []string
	Rows [][]lookback.Cell
	Part paper.ReportPart
}

// field is one column of a table of Rs.
type field[R any] struct {
	head  string
	share float64 // of the paper's width; 0: not on paper
	cell  func(R) lookback.Cell
	print func(R) string // nil: as the cell
}

func tableOf[R any](heading string, fields []field[R], list []R) Table {
	t := Table{Part: paper.ReportPart{Heading: heading, None: "None."}}
	for _, f := range fields {
		t.Head = append(t.Head, f.head)
		if f.share > 0 {
			t.Part.Columns = append(t.Part.Columns, paper.ReportColumn{Head: f.head, Share: f.share})
		}
	}
	for _, r := range list {
		row, printed := make([]lookback.Cell, len(fields)), []string(nil)
		for i, f := range fields {
			row[i] = f.cell(r)
			switch {
			case f.share == 0:
			case f.print != nil:
				printed = append(printed, f.print(r))
			default:
				printed = append(printed, row[i].Words())
			}
		}
		t.Rows, t.Part.Rows = append(t.Rows, row), append(t.Part.Rows, printed)
	}
	return t
}

// onPaper returns a time as papers have it: in the ship's zone, with the offset.
func onPaper(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Local().Format("2006-01-02 15:04 -07:00")
}

// timed is a column of times.
func timed[R any](head string, share float64, of func(R) time.Time) field[R] {
	return field[R]{head, share, func(r R) lookback.Cell { return lookback.Moment(of(r), time.Local) },
		func(r R) string { return onPaper(of(r)) }}
}

// said is a column of words.
func said[R any](head string, share float64, of func(R) string) field[R] {
	return field[R]{head, share, func(r R) lookback.Cell { return lookback.Text(of(r)) }, of}
}

// whole is a column of whole numbers.
func whole[R any](head string, share float64, of func(R) int64) field[R] {
	return field[R]{head, share, func(r R) lookback.Cell { return lookback.Whole(of(r)) }, nil}
}

// Permits puts permits into a table.
func Permits(list []register.PermitLine, name func(permits.PersonID) string) Table {
	type line = register.PermitLine
	return tableOf("Permits", []field[line]{
		whole("Permit", 8, func(l line) int64 { return int64(l.ID) }),
		said("State", 10, func(l line) string { return l.State.String() }),
		said("Machine", 0, func(l line) string { return l.Machine }),
		said("Machine's name", 16, func(l line) string { return l.MachineName }),
		said("Job", 0, func(l line) string { return l.Job }),
		said("Title", 18, func(l line) string { return l.Title }),
		said("Work", 22, func(l line) string { return l.Work }),
		said("Exposure", 0, func(l line) string { return string(l.Exposure) }),
		said("Kinds of work", 0, func(l line) string { return l.Kinds }),
		said("Requested by", 12, func(l line) string { return name(l.RequestedBy) }),
		timed("Requested", 13, func(l line) time.Time { return l.RequestedAt }),
		timed("Runs until", 13, func(l line) time.Time { return l.Until }),
		timed("Last change", 0, func(l line) time.Time { return l.Changed }),
		whole("Locks and tags on", 8, func(l line) int64 { return int64(l.LocksOn) }),
		whole("Locks and tags planned", 0, func(l line) int64 { return int64(l.Locks) }),
		whole("Signed on", 0, func(l line) int64 { return int64(l.SignedOn) }),
	}, list)
}

// History puts entries of the log into a table.
func History(list []screens.EntryLine) Table {
	type line = screens.EntryLine
	return tableOf("Entries of the log, newest first", []field[line]{
		whole("Entry", 7, func(l line) int64 { return l.N }),
		timed("When", 17, func(l line) time.Time { return l.At }),
		said("Who", 13, func(l line) string { return l.Who }),
		said("Signed as", 0, func(l line) string { return string(l.Role) }),
		said("Kind", 0, func(l line) string { return string(l.Kind) }),
		said("Refused", 0, func(l line) string { return screens.Choose(l.Refused, "yes", "") }),
		said("What", 48, func(l line) string { return screens.Choose(l.Refused, "REFUSED: ", "") + l.Words }),
		said("Found", 0, func(l line) string { return screens.FoundWords(l.Found) }),
		{"Permit", 8, func(l line) lookback.Cell {
			if l.Permit == 0 {
				return lookback.Text("")
			}
			return lookback.Whole(int64(l.Permit))
		}, nil},
		said("State after", 10, func(l line) string {
			if l.To == 0 {
				return ""
			}
			return l.To.String()
		}),
	}, list)
}

// Figures puts the figures of a time into one table for a spreadsheet.
func Figures(parts []screens.FigurePart) Table {
	type row struct {
		part string
		row  screens.FigureRow
	}
	var rows []row
	for _, p := range parts {
		for _, r := range p.Rows {
			rows = append(rows, row{p.Title, r})
		}
	}
	return tableOf("Figures", []field[row]{
		said("Figure", 1, func(r row) string { return r.part }),
		said("Of", 1, func(r row) string { return r.row.Name }),
		{"Amount", 1, func(r row) lookback.Cell {
			if r.row.None {
				return lookback.Text("")
			}
			return lookback.Decimal(r.row.Value, 2)
		}, nil},
		said("Unit", 1, func(r row) string { return r.row.Unit }),
		said("In words", 1, func(r row) string { return r.row.Words }),
		said("Note", 1, func(r row) string { return flagged(r.row) }),
	}, rows)
}

// flagged is a row's note, after the word for what is beyond what it may be.
func flagged(r screens.FigureRow) string {
	if !r.Over {
		return r.Note
	}
	return strings.TrimSuffix(strings.ToUpper(r.Flag)+": "+r.Note, ": ")
}

// FigureParts puts the figures on paper, with their bars.
func FigureParts(parts []screens.FigurePart) []paper.ReportPart {
	var out []paper.ReportPart
	for _, p := range parts {
		part := paper.ReportPart{Heading: p.Title, Note: p.Says, None: p.None,
			Columns: []paper.ReportColumn{{Head: p.Of, Share: 50}, {Head: p.Quantity, Share: 20}, {Head: "Note", Share: 30}}}
		for _, r := range p.Rows {
			part.Bars = append(part.Bars, paper.ReportBar{Name: r.Name, Words: r.Words, Value: r.Value, Over: r.Over})
			part.Rows = append(part.Rows, []string{r.Name, r.Words, flagged(r)})
		}
		out = append(out, part)
	}
	return out
}

// Period says from when to when a report looks.
func Period(from, to time.Time) paper.Fact {
	return paper.Fact{Label: "From, to", Text: onPaper(from) + " – " + onPaper(to)}
}

// CountFact says how many there are, and whether there are more.
func CountFact(n, most int) paper.Fact {
	words := strconv.Itoa(n)
	if n >= most {
		words += ", the newest; there may be more"
	}
	return paper.Fact{Label: "How many", Text: words}
}
