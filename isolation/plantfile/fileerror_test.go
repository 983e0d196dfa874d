package plantfile

import (
	"strings"
	"testing"
	"unicode/utf8"
)

func TestTheMarkStandsUnderTheWord(t *testing.T) {
	for name, line := range map[string]string{
		"plain":             "  - {id: V1, kind: HERE}",
		"letters of two":    "  - {id: V1, name: Größe é, kind: HERE}",
		"tabs":              "  - {id: V1,\tkind:\tHERE}",
		"far to the right":  strings.Repeat("ä", 900) + "HERE" + strings.Repeat("x", 900),
		"at the very start": "HERE: 1",
		"carriage return":   "kind: HERE\r",
	} {
		r := newReport("f", []byte("before\n"+line+"\nafter"))
		column := 1 + utf8.RuneCountInString(line[:strings.Index(line, "HERE")])
		rows := strings.Split(r.excerpt(2, column), "\n")
		if len(rows) < 3 {
			t.Errorf("%s: excerpt has %d rows, want the line, its mark and its neighbours:\n%s", name, len(rows),
				strings.Join(rows, "\n"))
			continue
		}
		for i, row := range rows {
			at := strings.Index(row, "^")
			if at < 0 {
				continue
			}
			above := []rune(rows[i-1])
			k := utf8.RuneCountInString(row[:at])
			if k+4 > len(above) || string(above[k:k+4]) != "HERE" {
				t.Errorf("%s: the mark is not under the word:\n%s", name, strings.Join(rows, "\n"))
			}
		}
	}
}

func TestAnExcerptCannotDisturbATerminal(t *testing.T) {
	r := newReport("f", []byte("a\x1b[31m\x07\u202eb"))
	if got := r.excerpt(1, 1); strings.ContainsAny(got, "\x1b\x07\u202e") {
		t.Errorf("excerpt = %q, want no control characters", got)
	}
}

func TestAPlaceOutsideTheFileHasNoExcerpt(t *testing.T) {
	r := newReport("f", []byte("a\nb"))
	for _, line := range []int{-1, 0, 3} {
		if got := r.excerpt(line, 1); got != "" {
			t.Errorf("excerpt(line %d) = %q, want none", line, got)
		}
	}
}
