package permits

import (
	"crypto/sha256"
	"encoding/hex"
	"io"
	"strings"

	"stillwatch/isolation"
)

// TagCode is the unguessable code of a lock tag or a point label: sixteen characters of Crockford's base 32 (80 random
// bits) and one check character after ISO/IEC 7064 MOD 37,36. Only NewTagCode and ParseTagCode make one.
type TagCode struct{ text string }

// TagDigest is the SHA-256 of a code in lower-case hex. The log keeps digests, so that somebody who reads the log does
// not thereby hold the tags.
type TagDigest string

const (
	codeAlphabet = "0123456789ABCDEFGHJKMNPQRSTVWXYZ" // Crockford's base 32: no I, L, O, U
	codeRandom   = 16
	codeLength   = codeRandom + 1
)

// NewTagCode draws a code from random, which must be a cryptographic source. Codes whose check character would be easy
// to misread (I, L, O, U) are drawn again.
func NewTagCode(random io.Reader) (TagCode, error) {
	var raw [codeRandom]byte
	for {
		if _, err := io.ReadFull(random, raw[:]); err != nil {
			return TagCode{}, err
		}
		var text strings.Builder
		for _, b := range raw {
			text.WriteByte(codeAlphabet[b&31])
		}
		check := checkCharacter(text.String())
		if strings.IndexByte(codeAlphabet, check) >= 0 {
			return TagCode{text.String() + string(check)}, nil
		}
	}
}

// ParseTagCode reads a code as scanned or typed: any case, blanks and hyphens anywhere, and the letters that people
// take for digits (O for 0, I and L for 1). A wrong length or check character is an Invalid refusal that says which.
func ParseTagCode(typed string) (TagCode, error) {
	var text strings.Builder
	for _, c := range strings.ToUpper(typed) {
		switch c {
		case ' ', '-', '\t', '\n', '\r':
			continue
		case 'O':
			c = '0'
		case 'I', 'L':
			c = '1'
		}
		if !strings.ContainsRune(codeAlphabet, c) {
			return TagCode{}, invalid("code", "The code has a character that no tag has: %q.", c)
		}
		if text.Len() == codeLength {
			return TagCode{}, invalid("code", "The code is too long: a tag's code has %d characters.", codeLength)
		}
		text.WriteRune(c)
	}
	code := text.String()
	if len(code) < codeLength {
		return TagCode{}, invalid("code", "The code is too short: %d of %d characters.", len(code), codeLength)
	}
	if checkCharacter(code[:codeRandom]) != code[codeRandom] {
		return TagCode{}, invalid("code", "The check character does not fit: one character was misread or two were "+
			"swapped. Read the code again.")
	}
	return TagCode{code}, nil
}

// Text returns the code as the QR carries it: upper case, no separators.
func (c TagCode) Text() string { return c.text }

// IsZero reports whether there is no code.
func (c TagCode) IsZero() bool { return c.text == "" }

// Spoken returns the code in groups of four, as printed for reading aloud.
func (c TagCode) Spoken() string {
	var groups []string
	for i := 0; i < len(c.text); i += 4 {
		groups = append(groups, c.text[i:min(i+4, len(c.text))])
	}
	return strings.Join(groups, "-")
}

// Digest returns what the log keeps of the code.
func (c TagCode) Digest() TagDigest {
	sum := sha256.Sum256([]byte(c.text))
	return TagDigest(hex.EncodeToString(sum[:]))
}

// String never gives the code away: it is what a log line would print by mistake.
func (c TagCode) String() string { return "tag code (hidden)" }

// checkCharacter computes the check character of a text of 0–9 and A–Z by ISO/IEC 7064 MOD 37,36, the hybrid system
// with one check character.
func checkCharacter(text string) byte {
	const alphabet, m = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ", 36
	p := m
	for i := range len(text) {
		s := p + strings.IndexByte(alphabet, text[i])
		if s > m {
			s -= m
		}
		p = s * 2 % (m + 1)
	}
	return alphabet[(m+1-p)%m]
}

// Code is a code that an act issues: for the lock tag of a step, or for the label of a point.
type Code struct {
	Step   int // of a lock tag, from 1; 0 for a point label
	Point  isolation.NodeID
	Digest TagDigest // "" while it has not been drawn
}

// Issuing is an act that issues codes. Who sends it leaves the digests out; the register draws the codes, and only it
// fills them in.
type Issuing interface {
	Act
	// Codes returns what the act issues, in a fixed order; p is its permit, before or after the act.
	Codes(p Permit) []Code
	// WithCodes returns the act with the digests of these codes, and no others.
	WithCodes(codes []Code) Act
}

// AsSent returns an act without what the register has filled in. An act that comes again under the same id is the same
// one if both are equal as they were sent.
func AsSent(a Act) Act {
	i, issues := a.(Issuing)
	if !issues {
		return a
	}
	codes := i.Codes(Permit{})
	for n := range codes {
		codes[n].Digest = ""
	}
	return i.WithCodes(codes)
}
