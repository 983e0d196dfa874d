package plantfile

import (
	"fmt"
	"sort"
	"strings"
	"unicode/utf8"
)

// FileError is one thing that is wrong in a plant or rules file, at one place of it. Line and Column are 1-based and
// count characters, not bytes; both are 0 where the fault is the whole file's (too large, empty). Excerpt holds the
// words of the file around the place, with a mark under the column. People read Error as it is.
type FileError struct {
	File         string
	Line, Column int
	Words        string
	Excerpt      string
}

// Error returns "file:line:column: words" and, below it, the lines of the file around the place.
func (e *FileError) Error() string {
	at := e.File
	if e.Line > 0 {
		at = fmt.Sprintf("%s:%d:%d", e.File, e.Line, e.Column)
	}
	if e.Excerpt == "" {
		return at + ": " + e.Words
	}
	return at + ": " + e.Words + "\n" + e.Excerpt
}

// FileErrors is everything that was found wrong in one file, in the order of its lines: never empty where it is an
// error. More counts what was found beyond the ones kept.
type FileErrors struct {
	List []*FileError
	More int
}

// Error returns the texts of all, one below the other.
func (es *FileErrors) Error() string {
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

// Unwrap returns the single errors, so that errors.As finds a *FileError.
func (es *FileErrors) Unwrap() []error {
	out := make([]error, len(es.List))
	for i, e := range es.List {
		out[i] = e
	}
	return out
}

const (
	shownErrors  = 20  // of one file; a person mends those first
	keptErrors   = 400 // before sorting; what comes after is only counted
	excerptWidth = 120 // characters of a line shown around the place
)

// report gathers what is wrong in one file.
type report struct {
	file  string
	lines []string
	errs  []*FileError
	more  int
}

func newReport(file string, text []byte) *report {
	return &report{file: file, lines: strings.Split(strings.TrimPrefix(string(text), byteOrderMark), "\n")}
}

// full says that enough was found: costly advice is left out of what is found from here on.
func (r *report) full() bool { return len(r.errs) >= shownErrors }

// refuse notes one fault. Line 0 means the whole file.
func (r *report) refuse(line, column int, format string, args ...any) {
	if len(r.errs) >= keptErrors {
		r.more++
		return
	}
	r.errs = append(r.errs, &FileError{File: r.file, Line: line, Column: column, Words: fmt.Sprintf(format, args...)})
}

// err returns what was found as one error, in file order, or nil.
func (r *report) err() error {
	if len(r.errs) == 0 {
		return nil
	}
	sort.SliceStable(r.errs, func(i, j int) bool {
		a, b := r.errs[i], r.errs[j]
		if a.Line != b.Line {
			return a.Line < b.Line
		}
		return a.Column < b.Column
	})
	es := &FileErrors{List: r.errs, More: r.more}
	if len(es.List) > shownErrors {
		es.More += len(es.List) - shownErrors
		es.List = es.List[:shownErrors]
	}
	for _, e := range es.List {
		e.Excerpt = r.excerpt(e.Line, e.Column)
	}
	return es
}

// excerpt returns the line with the one before and after it, numbered, and a mark under the column.
func (r *report) excerpt(line, column int) string {
	if line < 1 || line > len(r.lines) {
		return ""
	}
	from := 0
	if column > excerptWidth-30 {
		from = column - excerptWidth/2
	}
	var b strings.Builder
	for n := max(1, line-1); n <= min(len(r.lines), line+1); n++ {
		text := window(r.lines[n-1], from)
		if n != line {
			if strings.TrimSpace(text) != "" {
				fmt.Fprintf(&b, "  %5d | %s\n", n, text)
			}
			continue
		}
		fmt.Fprintf(&b, "> %5d | %s\n", n, text)
		at := min(max(0, column-1-from), utf8.RuneCountInString(text))
		fmt.Fprintf(&b, "        | %s^\n", strings.Repeat(" ", at))
	}
	return strings.TrimRight(b.String(), "\n")
}

// window returns the part of a line that is shown, from a character on, with everything that could disturb a terminal
// made visible as a dot. A tab is one character wide, so that the mark below it is right.
func window(line string, from int) string {
	out := make([]rune, 0, excerptWidth)
	if from > 0 {
		out, from = append(out, '…'), from+1
	}
	i := 0
	for _, c := range strings.TrimRight(line, "\r") {
		if i++; i <= from {
			continue
		}
		if len(out) == excerptWidth {
			break
		}
		switch {
		case c == '\t':
			c = ' '
		case c < ' ' || c == 0x7f || (c >= 0x80 && c < 0xa0) || c == utf8.RuneError || isBidiControl(c):
			c = '·'
		}
		out = append(out, c)
	}
	return strings.TrimRight(string(out), " ")
}

// isBidiControl reports characters that change the order in which a line is shown (Unicode Annex 9) or show nothing:
// in a safety file they can only deceive.
func isBidiControl(c rune) bool {
	return c == 0x061c || (c >= 0x200b && c <= 0x200f) || (c >= 0x202a && c <= 0x202e) || (c >= 0x2060 && c <= 0x2069) ||
		c == 0xfeff
}
