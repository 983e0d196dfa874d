package exchange

import (
	"fmt"
	"strings"
)

// RowError is one thing that is wrong in a workbook or a drawn graph. At says where: "nodes!F12" is a cell, "nodes row
// 12" a row, "line 40" a line of a GraphML file; empty for the whole file.
type RowError struct{ File, At, Words string }

// Error returns file, place and words.
func (e RowError) Error() string {
	if e.At == "" {
		return e.File + ": " + e.Words
	}
	return e.File + ": " + e.At + ": " + e.Words
}

// RowErrors is everything that was found wrong, in the order found; More counts what was found beyond.
type RowErrors struct {
	List []RowError
	More int
}

// Error returns the texts of all, one a line.
func (es *RowErrors) Error() string {
	var b strings.Builder
	for i, e := range es.List {
		if i > 0 {
			b.WriteByte('\n')
		}
		b.WriteString(e.Error())
	}
	if es.More > 0 {
		fmt.Fprintf(&b, "\nand %d more", es.More)
	}
	return b.String()
}

// Unwrap returns the single errors, so that errors.As finds a RowError.
func (es *RowErrors) Unwrap() []error {
	out := make([]error, len(es.List))
	for i, e := range es.List {
		out[i] = e
	}
	return out
}

const mostFaults = 20

// refuse notes one fault.
func (b *book) refuse(at, format string, args ...any) {
	if len(b.faults) >= mostFaults {
		b.more++
		return
	}
	b.faults = append(b.faults, RowError{b.file, at, fmt.Sprintf(format, args...)})
}

func (b *book) err() error {
	if len(b.faults) == 0 {
		return nil
	}
	return &RowErrors{List: b.faults, More: b.more}
}
