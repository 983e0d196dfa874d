package permits

import (
	"encoding/json"
	"time"
	"unicode/utf8"

	"stillwatch/isolation"
)

// readPlain reads an entry that stands exactly as Encode writes one, which every entry of a sound log does: the keys in
// their order, no blanks, no escapes in the short texts. It walks the bytes once, where encoding/json walks them five
// times, and whatever it does not expect it leaves to that: ok is false. What it does read it reads as encoding/json
// would; FuzzPlainEntryIsReadAsAnyOther compares the two.
func readPlain(n int64, text []byte) (e Entry, ok bool) {
	r := plainReader{rest: text}
	e.N = n
	r.expect(`{"at":`)
	e.At = r.time()
	r.expect(`,"act_id":`)
	e.ActID = ActID(r.text())
	r.expect(`,"kind":`)
	row, known := actOf(Kind(r.bytes()))
	if !known {
		return Entry{}, false
	}
	e.Kind = row.kind
	if r.has(`,"permit":`) {
		e.Permit = PermitID(r.number())
	}
	if r.has(`,"by":`) {
		e.By = PersonID(r.text())
	}
	if r.has(`,"signed":`) {
		e.Signed = r.signature()
	}
	if r.has(`,"to":`) && e.To.UnmarshalText(r.bytes()) != nil {
		return Entry{}, false
	}
	if r.has(`,"found":`) {
		e.Found = r.findings()
	}
	r.expect(`,"act":`)
	if r.failed || len(r.rest) < 2 || r.rest[len(r.rest)-1] != '}' {
		return Entry{}, false
	}
	var err error
	e.Act, err = row.decode(r.rest[:len(r.rest)-1]) // anything but one value, up to the last brace, is an error here
	return e, err == nil
}

// plainReader walks the bytes of an entry. After the first byte that Encode would not have put there it has failed, and
// what it gives then means nothing.
type plainReader struct {
	rest   []byte
	failed bool
}

// has steps over a word if it stands there.
func (r *plainReader) has(word string) bool {
	if len(r.rest) < len(word) || string(r.rest[:len(word)]) != word {
		return false
	}
	r.rest = r.rest[len(word):]
	return true
}

// expect steps over a word that must stand there.
func (r *plainReader) expect(word string) {
	if !r.has(word) {
		r.failed = true
	}
}

// bytes reads a text in quotes that says what it says without escapes.
func (r *plainReader) bytes() []byte {
	if r.expect(`"`); r.failed {
		return nil
	}
	ascii := true
	for i, c := range r.rest {
		switch {
		case c == '"':
			out := r.rest[:i]
			r.rest = r.rest[i+1:]
			r.failed = !ascii && !utf8.Valid(out)
			return out
		case c < ' ' || c == '\\':
			r.failed = true
			return nil
		case c >= utf8.RuneSelf:
			ascii = false
		}
	}
	r.failed = true
	return nil
}

func (r *plainReader) text() string { return string(r.bytes()) }

// number reads a whole number from 0 on.
func (r *plainReader) number() (n int64) {
	digits := 0
	for digits < len(r.rest) && '0' <= r.rest[digits] && r.rest[digits] <= '9' {
		n = n*10 + int64(r.rest[digits]-'0')
		digits++
	}
	if digits == 0 || digits > 18 || digits > 1 && r.rest[0] == '0' {
		r.failed = true
		return 0
	}
	r.rest = r.rest[digits:]
	return n
}

// time reads a moment.
func (r *plainReader) time() (t time.Time) {
	quoted := r.rest
	inside := r.bytes()
	if r.failed || t.UnmarshalJSON(quoted[:len(inside)+2]) != nil {
		r.failed = true
		return time.Time{}
	}
	return t
}

// role reads a role, without a text of its own for one that is known.
func (r *plainReader) role() Role {
	said := r.bytes()
	for _, known := range [...]Role{Officer, Technician, Crew, ChiefEngineer, Master} {
		if string(said) == string(known) {
			return known
		}
	}
	return Role(said)
}

// signature reads what Signature.MarshalJSON writes of somebody who may sign.
func (r *plainReader) signature() (s Signature) {
	r.expect(`{"by":{"id":`)
	s.by.ID = PersonID(r.text())
	r.expect(`,"name":`)
	s.by.Name = r.text()
	if r.has(`,"rank":`) {
		s.by.Rank = r.text()
	}
	r.expect(`,"roles":[`)
	for more := !r.failed; more && !r.failed; more = r.has(`,`) {
		s.by.Roles = append(s.by.Roles, r.role())
	}
	r.expect(`]},"role":`)
	s.role = r.role()
	r.expect(`,"at":`)
	s.at = r.time()
	r.expect(`}`)
	return s
}

// findings reads the verdicts, whose form is their package's.
func (r *plainReader) findings() (found []isolation.Finding) {
	end := valueEnd(r.rest)
	if json.Unmarshal(r.rest[:end], &found) != nil {
		r.failed = true
		return nil
	}
	r.rest = r.rest[end:]
	return found
}

// valueEnd returns how many bytes the list at the beginning of text takes, if it is one; whether it is looks the reader
// to whom the bytes are given.
func valueEnd(text []byte) int {
	depth, quoted := 0, false
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case quoted && c == '\\':
			i++
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == '[' || c == '{':
			depth++
		case c == ']' || c == '}':
			if depth--; depth <= 0 {
				return i + 1
			}
		}
	}
	return len(text)
}
