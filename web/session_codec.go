package web

import (
	"encoding/binary"
	"errors"
	"fmt"
	"time"

	"github.com/alexedwards/scs/v2"
)

// sessionCodec writes what a session remembers: texts and whole numbers, and until when it lives. It is read for every
// request of every phone, and scs's own codec, which must learn the form of its data anew each time, took a tenth of a
// tag's page. What that one wrote before is read as ever. It is a scs.Codec.
//
// The form: codecMark, the deadline in nanoseconds since 1970, then of each value its name, its kind and itself.
type sessionCodec struct{}

// codecMark begins what sessionCodec writes; no gob begins with it, since a gob begins with a message's length and then
// the negative number of a type.
const codecMark = "\x00sw1"

// Kinds of values in a session.
const (
	codecText   = 't'
	codecNumber = 'n'
)

// Encode writes a session. A value that is neither a text nor an int64 is an error.
func (sessionCodec) Encode(deadline time.Time, values map[string]any) ([]byte, error) {
	out := binary.AppendVarint([]byte(codecMark), deadline.UnixNano())
	text := func(s string) { out = append(binary.AppendUvarint(out, uint64(len(s))), s...) }
	for name, value := range values {
		text(name)
		switch v := value.(type) {
		case string:
			out = append(out, codecText)
			text(v)
		case int64:
			out = append(out, codecNumber)
			out = binary.AppendVarint(out, v)
		default:
			return nil, fmt.Errorf("keep %s in a session: a %T is neither a text nor a number", name, value)
		}
	}
	return out, nil
}

// errSessionBytes says that the bytes of a session are not what was written.
var errSessionBytes = errors.New("the bytes of a session are damaged")

// Decode reads what Encode, or scs's own codec, wrote.
func (sessionCodec) Decode(b []byte) (deadline time.Time, values map[string]any, err error) {
	if len(b) < len(codecMark) || string(b[:len(codecMark)]) != codecMark {
		return scs.GobCodec{}.Decode(b)
	}
	r := sessionReader{rest: b[len(codecMark):]}
	deadline = time.Unix(0, r.number()).UTC()
	values = map[string]any{}
	for len(r.rest) > 0 && !r.failed {
		name := r.text()
		switch r.kind() {
		case codecText:
			values[name] = r.text()
		case codecNumber:
			values[name] = r.number()
		default:
			r.failed = true
		}
	}
	if r.failed {
		return time.Time{}, nil, errSessionBytes
	}
	return deadline, values, nil
}

// sessionReader walks the bytes of a session. Once it has failed, what it gives means nothing.
type sessionReader struct {
	rest   []byte
	failed bool
}

func (r *sessionReader) number() int64 {
	n, size := binary.Varint(r.rest)
	if size <= 0 {
		r.rest, r.failed = nil, true
		return 0
	}
	r.rest = r.rest[size:]
	return n
}

func (r *sessionReader) text() string {
	n, size := binary.Uvarint(r.rest)
	if size <= 0 || n > uint64(len(r.rest)-size) {
		r.rest, r.failed = nil, true
		return ""
	}
	out := string(r.rest[size : size+int(n)])
	r.rest = r.rest[size+int(n):]
	return out
}

func (r *sessionReader) kind() byte {
	if len(r.rest) == 0 {
		r.failed = true
		return 0
	}
	k := r.rest[0]
	r.rest = r.rest[1:]
	return k
}
