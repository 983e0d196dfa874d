package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"stillwatch/cmd/stillwatch/line"
	"stillwatch/isolation"
	"stillwatch/isolation/exchange"
)

// asking is what an import that asks is told: where the answers are, and where its questions go.
type asking struct {
	answers, questions string
	list               bool // the workbook is a plain list of valves
}

// asks reports whether a file is one that leaves questions: a diagram from outside, or a list of valves.
func (a asking) asks(path string, data []byte) bool {
	switch strings.ToLower(filepath.Ext(path)) {
	case ".csv":
		return true
	case ".xlsx":
		return a.list
	case ".xml":
		return isDiagram(data)
	}
	return false
}

// isDiagram looks for the first element of a diagram in the exchange schema.
func isDiagram(data []byte) bool {
	return bytes.Contains(data[:min(len(data), 4096)], []byte("<PlantModel"))
}

// importAsking imports what leaves questions. It returns no plant and no error when the questions were written and some
// that are needed have no answer yet.
func (a asking) importAsking(path string, data []byte, errOut io.Writer) (*isolation.Plant, error) {
	var answers exchange.Answers
	if a.answers != "" {
		text, err := readUpTo(a.answers, 8<<20)
		if err == nil {
			answers, err = exchange.ReadAnswers(a.answers, text)
		}
		if err != nil {
			return nil, err
		}
	}
	read := exchange.ReadValveList
	if isDiagram(data) {
		read = exchange.ReadDrawing
	}
	got, err := read(path, data, answers)
	if err != nil {
		return nil, err
	}
	if a.questions != "" {
		var text bytes.Buffer
		if err := exchange.WriteQuestions(&text, got.Questions); err != nil {
			return nil, err
		}
		if err := line.WriteNewBytes(a.questions, text.Bytes()); err != nil {
			return nil, err
		}
		fmt.Fprintf(errOut, "wrote %s: %d questions, %d of them need an answer before there is a plant.\n"+
			"Fill in the column answer, then run the import with --answers %s\n", a.questions, len(got.Questions), got.Open,
			a.questions)
		return got.Plant, nil
	}
	if got.Open == 0 {
		return got.Plant, nil
	}
	return nil, openQuestions(got)
}

// openQuestions names the first questions that need an answer.
func openQuestions(got *exchange.Imported) error {
	const most = 10
	var b strings.Builder
	fmt.Fprintf(&b, "%d questions need an answer before there is a plant; write them all with --questions FILE.csv\n",
		got.Open)
	told := 0
	for _, q := range got.Questions {
		if q.Needed && q.Answer == "" && told < most {
			told++
			fmt.Fprintf(&b, "  line %d, %s, %s: %s\n", q.Line, q.ID, q.Field, q.Ask)
		}
	}
	if got.Open > told {
		fmt.Fprintf(&b, "  and %d more", got.Open-told)
	}
	return errors.New(strings.TrimRight(b.String(), "\n"))
}
