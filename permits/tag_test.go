package permits

import (
	"crypto/rand"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// TestCheckCharacterAgreesWithPublishedNumber uses the identifier that the Global Release Identifier's handbook prints
// as its example, A1-2425G-ABC1234002-M, whose last character is an ISO/IEC 7064 MOD 37,36 check (from memory).
func TestCheckCharacterAgreesWithPublishedNumber(t *testing.T) {
	if got := checkCharacter("A12425GABC1234002"); got != 'M' {
		t.Errorf("checkCharacter(A12425GABC1234002) = %c, want M", got)
	}
}

func TestCodeReadsBackAsPrintedAndTyped(t *testing.T) {
	for range 200 {
		code, err := NewTagCode(rand.Reader)
		if err != nil {
			t.Fatal(err)
		}
		for _, typed := range []string{code.Text(), code.Spoken(), strings.ToLower(code.Spoken()), " " +
			strings.ReplaceAll(code.Spoken(), "0", "o"), strings.ReplaceAll(code.Text(), "1", "l")} {
			if got, err := ParseTagCode(typed); err != nil || got != code {
				t.Fatalf("ParseTagCode(%q) = %q, %v, want %q", typed, got.Text(), err, code.Text())
			}
		}
	}
}

// TestOneWrongCharacterIsFound is what ISO/IEC 7064's hybrid systems promise of every single substitution (from
// memory).
func TestOneWrongCharacterIsFound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[0-9A-HJKMNP-TV-Z]{16}`).Draw(t, "code")
		full := text + string(checkCharacter(text))
		if !strings.Contains(codeAlphabet, full[16:]) {
			t.Skip("NewTagCode never makes this code")
		}
		i := rapid.IntRange(0, 15).Draw(t, "at")
		c := codeAlphabet[rapid.IntRange(0, 31).Draw(t, "character")]
		if c == full[i] {
			return
		}
		wrong := full[:i] + string(c) + full[i+1:]
		if _, err := ParseTagCode(wrong); err == nil {
			t.Fatalf("%s with one character changed was taken", full)
		}
	})
}

func TestCodeNeverPrintsItself(t *testing.T) {
	code, err := NewTagCode(rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	if strings.Contains(code.String(), code.Text()) {
		t.Errorf("String() gives the code away: %s", code)
	}
}

func FuzzParseTagCode(f *testing.F) {
	for _, seed := range []string{"", "7Q4M-9K2X-ABCD-EFGH-J", "ol1", "É", "0000000000000000000"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, typed string) {
		code, err := ParseTagCode(typed)
		if err != nil {
			return
		}
		if again, err := ParseTagCode(code.Spoken()); err != nil || again != code {
			t.Fatalf("ParseTagCode(%q).Spoken() does not read back: %v", typed, err)
		}
	})
}
