package plantfile

import (
	"errors"
	"fmt"
	"strings"

	"stillwatch/isolation"
)

// ErrTakeOver is wrapped by the errors of TakeJob for a job that cannot be taken over as it stands.
var ErrTakeOver = errors.New("the job cannot be taken over")

// TakeJob returns a plant with one more job, which a sister ship's plant file has: the draft of a plant file, for
// somebody to look at. The job's own words are taken as they stand there, and nothing else of the plant becomes
// another. An error wraps ErrTakeOver; where the job names what this plant has not, it wraps *FileErrors too, with
// the lines of the draft.
func TakeJob(own, sister *isolation.Plant, id string) (*isolation.Plant, error) {
	job := sister.Job(id)
	switch {
	case job == nil:
		return nil, fmt.Errorf("the sister ship has no job %s: %w", id, ErrTakeOver)
	case own.Job(id) != nil:
		return nil, fmt.Errorf("this ship has a job %s of its own: %w", id, ErrTakeOver)
	}
	block := itemAt(linesOf(sister.Text), job.Line)
	if block == nil {
		return nil, fmt.Errorf("job %s stands in its list in a way that is not read here: %w", id, ErrTakeOver)
	}
	draft, err := Read("draft.yaml", []byte(strings.Join(withJob(own, block), "\n")))
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrTakeOver, err)
	}
	for _, d := range Differences(own, draft) {
		if d.Of != "job" || d.ID != id || d.Fate != Added {
			return nil, fmt.Errorf("taking it over would change more: %s: %w", d, ErrTakeOver)
		}
	}
	return draft, nil
}

func linesOf(text []byte) []string {
	return strings.Split(strings.ReplaceAll(string(text), "\r\n", "\n"), "\n")
}

// indentOf returns how far a line is indented; -1 for one that says nothing.
func indentOf(line string) int {
	said := strings.TrimLeft(line, " ")
	if strings.TrimSpace(said) == "" || said[0] == '#' {
		return -1
	}
	return len(line) - len(said)
}

// itemAt returns the lines of the item of a list that begins on a line, counted from 1, without the list's indentation;
// nil where no item begins there.
func itemAt(lines []string, line int) []string {
	if line < 1 || line > len(lines) {
		return nil
	}
	first := lines[line-1]
	by := indentOf(first)
	if by < 0 || !strings.HasPrefix(first[by:], "- ") {
		return nil
	}
	end := endOfItem(lines, line-1, by)
	block := make([]string, 0, end-line+1)
	for _, l := range lines[line-1 : end] {
		block = append(block, strings.TrimRight(l[min(by, len(l)):], " "))
	}
	return block
}

// endOfItem returns the place behind the last line that belongs to an item of a list.
func endOfItem(lines []string, at, by int) int {
	end := at + 1
	for i := end; i < len(lines); i++ {
		switch in := indentOf(lines[i]); {
		case in < 0:
			continue
		case in <= by:
			return end
		}
		end = i + 1
	}
	return end
}

// withJob returns the lines of a plant file with a job behind those that it has.
func withJob(p *isolation.Plant, block []string) []string {
	lines := linesOf(p.Text)
	at, by := len(lines), 2
	for at > 0 && strings.TrimSpace(lines[at-1]) == "" {
		at--
	}
	if n := len(p.Jobs); n > 0 {
		first := p.Jobs[n-1].Line - 1
		by = max(indentOf(lines[first]), 0)
		at = endOfItem(lines, first, by)
	} else {
		block = append([]string{"jobs:"}, block...)
	}
	out := append([]string(nil), lines[:at]...)
	for _, l := range block {
		if l != "" && l != "jobs:" {
			l = strings.Repeat(" ", by) + l
		}
		out = append(out, l)
	}
	return append(append(out, lines[at:]...), "")
}
