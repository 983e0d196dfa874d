package paper

import (
	"bytes"
	"errors"
	"io"
	"reflect"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

func timeDuration(ns int64) time.Duration { return time.Duration(ns) }

// fill puts text into every string of a struct but addresses and codes, which have a
// form of their own, and the words of positions that have a symbol.
func fill(v reflect.Value, text string) {
	switch v.Kind() {
	case reflect.String:
		v.SetString(text)
	case reflect.Struct:
		if v.Type() == reflect.TypeFor[time.Time]() || v.Type() == reflect.TypeFor[Position]() {
			return
		}
		for i := range v.NumField() {
			if name := v.Type().Field(i).Name; name != "URL" && name != "Code" {
				fill(v.Field(i), text)
			}
		}
	case reflect.Slice:
		for i := range v.Len() {
			fill(v.Index(i), text)
		}
	case reflect.Pointer:
		if !v.IsNil() {
			fill(v.Elem(), text)
		}
	case reflect.Interface: // a drawing's op: a copy is filled
		op := reflect.New(v.Elem().Type()).Elem()
		op.Set(v.Elem())
		fill(op, text)
		v.Set(op)
	}
}

// write prints s with every string replaced by text.
func filledPaper[S any](w io.Writer, write func(io.Writer, S) error, s S, text string) error {
	fill(reflect.ValueOf(&s).Elem(), text)
	return write(w, s)
}

// filled are all papers with text in each of their strings.
func filled(t *testing.T, text string) map[string][]byte {
	t.Helper()
	papers := map[string][]byte{}
	for name, write := range filledWriters(text) {
		var b bytes.Buffer
		if err := write(&b); err != nil {
			t.Fatalf("%s filled with %q: %v", name, text, err)
		}
		papers[name] = b.Bytes()
	}
	return papers
}

func filledWriters(text string) map[string]func(io.Writer) error {
	return map[string]func(io.Writer) error{
		"locktags":    func(w io.Writer) error { return filledPaper(w, WriteLockTags, cannedTags(4), text) },
		"pointlabels": func(w io.Writer) error { return filledPaper(w, WritePointLabels, cannedLabels(3), text) },
		"plan": func(w io.Writer) error {
			s := cannedPlan()
			s.Diagram = nil // the words of a diagram stand where the caller puts them
			return filledPaper(w, WritePlan, s, text)
		},
		"permit":   func(w io.Writer) error { return filledPaper(w, WritePermit, cannedPermit(), text) },
		"handover": func(w io.Writer) error { return filledPaper(w, WriteHandover, cannedHandover(), text) },
		"report":   func(w io.Writer) error { return filledPaper(w, WriteReport, cannedReport(), text) },
		"audit":    func(w io.Writer) error { return filledPaper(w, WriteAudit, cannedAudit(), text) },
		"scan":     func(w io.Writer) error { return filledPaper(w, WriteScanSheet, cannedScan(), text) },
	}
}

// FuzzTextNeverBreaksAPaper: whatever stands in the fields, a paper is printed or
// refused as incomplete; nothing panics and no half paper is written.
func FuzzTextNeverBreaksAPaper(f *testing.F) {
	for _, s := range []string{"", " ", "Tiếng Việt: dầu đốt", "клапан", "βαλβίδα", "\U0001F525 fire", "a\x00b\xff\xfe",
		"{nb}", "e\u0301\u0302\u0303",
		"\u202eTUHS", "שלום", "\uffff\ufffe", strings.Repeat("W", 900), "(\\)", "x\ty\nz", "\ufeff\u200b", "→ ± · °C"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 5000 {
			t.Skip("longer than any field of the register")
		}
		for name, write := range filledWriters(text) {
			var b bytes.Buffer
			err := write(&b)
			switch {
			case err != nil && (!errors.Is(err, ErrIncomplete) || b.Len() > 0):
				t.Errorf("%s filled with %q: %v, %d bytes written", name, text, err, b.Len())
			case err == nil && !bytes.HasPrefix(b.Bytes(), []byte("%PDF-")):
				t.Errorf("%s filled with %q is no PDF", name, text)
			}
		}
	})
}

// The PDF library writes into the font it is given; under -race this fails if two
// papers share one.
func TestPapersPrintedAtOnceDoNotMeet(t *testing.T) {
	want := printed(t, WriteLockTags, cannedTags(3))
	var wait sync.WaitGroup
	for range 4 {
		wait.Go(func() {
			var b bytes.Buffer
			if err := WriteLockTags(&b, cannedTags(3)); err != nil || !bytes.Equal(b.Bytes(), want) {
				t.Errorf("tags printed beside others: error %v, same bytes %t", err, bytes.Equal(b.Bytes(), want))
			}
		})
	}
	wait.Wait()
}

func TestPapersThatSayTooLittleAreRefused(t *testing.T) {
	tag := func(change func(*LockTag)) error {
		s := cannedTags(2)
		change(&s.Tags[1])
		return WriteLockTags(io.Discard, s)
	}
	plan := func(change func(*PlanSheet)) error {
		s := cannedPlan()
		change(&s)
		return WritePlan(io.Discard, s)
	}
	permit := func(change func(*PermitSheet)) error {
		s := cannedPermit()
		change(&s)
		return WritePermit(io.Discard, s)
	}
	undated := cannedTags(1)
	undated.PrintedAt = time.Time{}
	for name, err := range map[string]error{
		"no date":               WriteLockTags(io.Discard, undated),
		"no tags":               WriteLockTags(io.Discard, LockTagSheet{Stamp: cannedStamp()}),
		"tag without position":  tag(func(t *LockTag) { t.Held = Position{} }),
		"word without a mark":   tag(func(t *LockTag) { t.Held = Position{Word: "shut"} }),
		"mark without a word":   tag(func(t *LockTag) { t.Held = Position{Mark: OtherWord} }),
		"mark that is none":     tag(func(t *LockTag) { t.Held = Position{Mark: markCount} }),
		"tag without clearance": tag(func(t *LockTag) { t.Clearance = Position{} }),
		"tag without point":     tag(func(t *LockTag) { t.Point = "" }),
		"tag without code":      tag(func(t *LockTag) { t.Code = "" }),
		"code of another tag":   tag(func(t *LockTag) { t.Code = cannedTags(1).Tags[0].Code }),
		"code in small letters": tag(func(t *LockTag) { t.Code = strings.ToLower(t.Code) }),
		"code too long to read": tag(func(t *LockTag) { t.Code = strings.Repeat("A", 25); t.URL += t.Code }),
		"proof that is shut":    tag(func(t *LockTag) { t.Proves, t.Held = true, Position{Mark: ValveShut, Word: "SHUT"} }),
		"tag without address":   tag(func(t *LockTag) { t.URL = " " }),
		"tag without permit":    tag(func(t *LockTag) { t.Permit = "" }),
		"step beyond the last":  tag(func(t *LockTag) { t.Step = 3 }),
		"label without code": WritePointLabels(io.Discard,
			PointLabelSheet{Stamp: cannedStamp(), Labels: []PointLabel{{Point: "X", URL: "X"}}}),
		"no labels":                 WritePointLabels(io.Discard, PointLabelSheet{Stamp: cannedStamp()}),
		"plan of nothing":           plan(func(s *PlanSheet) { s.Steps = nil }),
		"steps and uncut path":      plan(func(s *PlanSheet) { s.Uncut = [][]string{{"a", "b"}} }),
		"plan not checked":          plan(func(s *PlanSheet) { s.Checked = " " }),
		"demand not met":            plan(func(s *PlanSheet) { s.Sources[2].Met = false }),
		"step without position":     plan(func(s *PlanSheet) { s.Steps[3].Held = Position{} }),
		"drawing without extent":    plan(func(s *PlanSheet) { s.Diagram.Width = 0 }),
		"permit without number":     permit(func(s *PermitSheet) { s.Number = "" }),
		"permit without state":      permit(func(s *PermitSheet) { s.State = "" }),
		"lock record without place": permit(func(s *PermitSheet) { s.Locks[0].Clearance = Position{} }),
		"audit without position": WriteAudit(io.Discard, AuditSheet{Stamp: cannedStamp(),
			Tags: []AuditTag{{Permit: "1", Point: "V1"}}}),
		"handover without state": WriteHandover(io.Discard, HandoverSheet{Stamp: cannedStamp(),
			Permits: []OpenPermit{{Number: "1"}}}),
	} {
		if !errors.Is(err, ErrIncomplete) {
			t.Errorf("%s: error = %v, want %v", name, err, ErrIncomplete)
		}
	}
}

func TestCleanKeepsScriptsAndMarksWhatIsLost(t *testing.T) {
	for _, tc := range []struct {
		in, want string
		lost     int
	}{
		{"S1-V1", "S1-V1", 0},
		{"  a \t b\n", "a b", 0},
		{"Tie\u0302\u0301ng Vie\u0323\u0302t", "Tiếng Việt", 0}, // decomposed, as some keyboards send it
		{"\u202eTUHS\u202c", "TUHS", 0},
		{"pump \U0001F525", "pump ?", 1},
		{"a\xffb", "a�b", 0},
		{"שלום", "????", 4},
		{"Å→±·°≤Ω", "Å→±·°≤Ω", 0},
		{"船", "?", 1},
		{"\uffff", "?", 1},
	} {
		got, lost := clean(tc.in)
		if got != tc.want || lost != tc.lost {
			t.Errorf("clean(%q) = %q, %d lost, want %q, %d", tc.in, got, lost, tc.want, tc.lost)
		}
	}
}

func TestFontsCoverTheCrewsScripts(t *testing.T) {
	for name, text := range map[string]string{
		"Latin":      "ÀÁÂÃÄÅÆÇÈÉÊËÌÍÎÏÐÑÒÓÔÕÖØÙÚÛÜÝÞßąćęłńśźżčďěňřšťůžăâîșțğışĦħŁłŒœ",
		"Vietnamese": "ĂÂĐÊÔƠƯăâđêôơưàảãáạằẳẵắặầẩẫấậèẻẽéẹềểễếệìỉĩíịòỏõóọồổỗốộờởỡớợùủũúụừửữứựỳỷỹýỵ",
		"Cyrillic":   "АБВГДЕЁЖЗИЙКЛМНОПРСТУФХЦЧШЩЪЫЬЭЮЯабвгдеёжзийклмнопрстуфхцчшщъыьэюяЄєІіЇїҐґ",
		"Greek":      "ΑΒΓΔΕΖΗΘΙΚΛΜΝΞΟΠΡΣΤΥΦΧΨΩαβγδεζηθικλμνξοπρσςτυφχψωάέήίόύώ",
		"signs":      "←→↑↓±×÷·°≤≥≠≈µΩ√∞∅§¶–—…“”‘’«»€£₂³²½✓✗⚠□■",
	} {
		if got, lost := clean(text); lost > 0 {
			t.Errorf("%s: %d signs lost: %s", name, lost, got)
		}
	}
	if !covered.has('A') || covered.has('船') {
		t.Error("coverage says that A is missing or that 船 is there")
	}
}

func TestCoverageRefusesABrokenFont(t *testing.T) {
	for _, font := range []string{"", "\x00\x01\x00\x00\x00", monoTTF[:200], strings.Repeat("\x00", 64)} {
		if s, err := cmapRunes([]byte(font)); err == nil {
			t.Errorf("cmapRunes(%d bytes of a font) = %v, want an error", len(font), s != nil)
		}
	}
}

func TestLostSignsAreExplainedAtTheFoot(t *testing.T) {
	const note = "? = a sign that this printer's fonts lack"
	s := cannedHandover()
	if text := textLayer(t, printed(t, WriteHandover, s)); strings.Contains(text, note) {
		t.Errorf("paper without lost signs says %q", note)
	}
	s.Remarks = []string{"pump \U0001F525"}
	if text := textLayer(t, printed(t, WriteHandover, s)); !strings.Contains(text, note) ||
		!strings.Contains(text, "pump ?") {
		t.Errorf("paper with a lost sign does not say %q", note)
	}
}

func TestCodeIsGroupedForReadingAloud(t *testing.T) {
	for code, want := range map[string]string{"": "", "A": "A", "AB": "A-B", "7K3MQ2XD9PTR4": "7K3M Q2XD 9PTR-4",
		"7K3M-Q2XD 9PTR-4": "7K3M Q2XD 9PTR-4", "ABCDE": "ABCD-E"} {
		if diff := cmp.Diff(want, groupCode(code)); diff != "" {
			t.Errorf("groupCode(%q) (-want +got):\n%s", code, diff)
		}
	}
}
