// Package wire is what a ship and the shore say to each other, as bytes: segments of the log, requests signed by the
// ship's key, answers. Both sides use it, so that neither has its own idea of the form.
//
// A segment goes as one gzip stream: a line of JSON that says what it is, then one line an entry, its bytes as they
// are in the log. An entry's bytes hold no line end, since JSON writes it as two characters.
//
// Every request says in a header which key signs it, and carries in another a note signed by that key over method, path
// and the SHA-256 of the body. Nothing in it must be fresh: whoever sends an old request again gets the old answer, and
// changes nothing.
package wire

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"

	"golang.org/x/mod/sumdb/tlog"

	"stillwatch/permits/register"
)

// The addresses at which the shore answers ships.
const (
	PathEnrol    = "/ship/enrol"
	PathPosition = "/ship/position"
	PathSegment  = "/ship/segment"
	PathKey      = "/ship/key"
	PathSisters  = "/ship/sisters" // names; with ?with=NAME what is not the same
	PathDraft    = "/ship/draft"   // ?from=NAME&job=ID
)

// Usual is how much a ship puts into one segment: some seconds of a slow link.
var Usual = register.Bounds{Entries: 2000, Bytes: 1 << 20}

// What the shore takes at most: packed, and unpacked. The longest entry holds a plant file, with all its escapes.
const (
	MostPacked = 16 << 20
	mostPlain  = 64 << 20
)

// segmentTop is the first line of a segment.
type segmentTop struct {
	Format int         `json:"stillwatch_segment"`
	From   int64       `json:"from"`
	To     int64       `json:"to"`
	Since  string      `json:"since,omitempty"`
	Proof  []tlog.Hash `json:"proof,omitempty"`
	Head   string      `json:"head"`
	Told   string      `json:"told,omitempty"`
}

const segmentFormat = 1

// Parcel is a segment, and the head that the shore has told the ship, if the ship's log contradicts it.
type Parcel struct {
	register.Segment
	Told []byte // signed; nil: there is no contradiction
}

// Pack returns the bytes of a parcel.
func Pack(p Parcel) ([]byte, error) {
	top, err := json.Marshal(segmentTop{segmentFormat, p.From, p.To, p.Since, p.Proof, string(p.Head), string(p.Told)})
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	out := gzip.NewWriter(&b)
	for _, line := range append([][]byte{top}, p.Entries...) {
		if bytes.IndexByte(line, '\n') >= 0 {
			return nil, errors.New("pack a segment: an entry has a line end in it")
		}
		if _, err = out.Write(line); err == nil {
			_, err = out.Write([]byte{'\n'})
		}
		if err != nil {
			return nil, err
		}
	}
	if err := out.Close(); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// ErrTorn says that what came is no whole segment.
var ErrTorn = errors.New("what came is not a whole segment")

// Unpack is the inverse of Pack. It reads no more than an honest ship sends.
func Unpack(packed []byte) (p Parcel, err error) {
	z, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		return p, fmt.Errorf("%w: %w", ErrTorn, err)
	}
	limited := &io.LimitedReader{R: z, N: mostPlain + 1}
	in := bufio.NewReaderSize(limited, 1<<16)
	first, err := in.ReadBytes('\n')
	if err != nil {
		return p, fmt.Errorf("%w: its first line: %w", ErrTorn, err)
	}
	var top segmentTop
	if err := json.Unmarshal(first, &top); err != nil || top.Format != segmentFormat {
		return p, fmt.Errorf("%w: its first line is not that of a segment", ErrTorn)
	}
	p.Segment = register.Segment{From: top.From, To: top.To, Since: top.Since, Proof: top.Proof, Head: []byte(top.Head)}
	if top.Told != "" {
		p.Told = []byte(top.Told)
	}
	for {
		line, err := in.ReadBytes('\n')
		if errors.Is(err, io.EOF) && len(line) == 0 {
			break
		}
		if err != nil {
			return p, fmt.Errorf("%w: entry %d: %w", ErrTorn, p.From+int64(len(p.Entries)), err)
		}
		p.Entries = append(p.Entries, line[:len(line)-1])
	}
	switch {
	case limited.N <= 0:
		return p, fmt.Errorf("%w: it is longer than %d bytes", ErrTorn, mostPlain)
	case int64(len(p.Entries)) != p.To-p.From:
		return p, fmt.Errorf("%w: it has %d entries, and says that it goes from %d to %d", ErrTorn, len(p.Entries),
			p.From, p.To)
	}
	return p, nil
}

// Kinds of refusal. They are only ever added.
const (
	RefusedKey     = "unknown key" // no ship is enrolled with it
	RefusedRequest = "request"     // the request is not signed by the key that it names
	RefusedCode    = "code"        // it enrols nothing
	RefusedTorn    = "torn"        // no whole segment
	RefusedForged  = "forged"      // head, proof and entries do not belong together
	RefusedGap     = "gap"         // entries before it have not come yet
	RefusedOverlap = "overlap"     // some of its entries are ashore and some are not
	RefusedGate    = "gate"        // an entry that no gate would have let through
	RefusedNewer   = "newer"       // the ship's program is newer than the shore's
	RefusedFork    = "fork"        // the log is not the one of which the shore has the beginning
	RefusedBack    = "rolled back" // the log is shorter than it was
	RefusedSister  = "sister"      // there is no such ship, or no draft can be made
)

// Answer is what the shore says.
type Answer struct {
	Ship    string `json:"ship,omitempty"` // name under which it is enrolled
	Size    int64  `json:"size"`           // entries ashore: what the ship need not keep for the shore any more
	Head    string `json:"head,omitempty"` // signed by the ship itself, of so many
	Refused string `json:"refused,omitempty"`
	Words   string `json:"words,omitempty"` // why, in a sentence
	Alarm   string `json:"alarm,omitempty"` // that nobody has explained, in a sentence
}

// Sisters is what the shore says of other ships: text for people.
type Sisters struct {
	Lines []string `json:"lines"`
}

// EnrolRequest asks the shore to take a key for the ship that a code was made for.
type EnrolRequest struct {
	Code string `json:"code"`
	Act  string `json:"act"` // EnrolText, signed by the key
}

// EnrolText is what the ship's key signs to be enrolled.
func EnrolText(code, key string) string {
	return "stillwatch enrol\n" + CodeDigest(code) + "\n" + key + "\n"
}

// NewKeyOf reads the new key from the act that replaces a key; ok is false for any text that register.NewKeyText does
// not make.
func NewKeyOf(text, old string) (key string, ok bool) {
	key, ok = strings.CutPrefix(text, "stillwatch new key\n"+old+"\n")
	key = strings.TrimSuffix(key, "\n")
	return key, ok && text == register.NewKeyText(old, key)
}

// CodeDigest returns the SHA-256 of a one-time code, as people type it: without spaces and hyphens, in capitals.
func CodeDigest(code string) string {
	code = strings.ToUpper(strings.NewReplacer(" ", "", "-", "").Replace(code))
	sum := sha256.Sum256([]byte(code))
	return hex.EncodeToString(sum[:])
}

// Headers of a request.
const (
	headerKey    = "Stillwatch-Key"
	headerSigned = "Stillwatch-Signed"
)

func requestText(method, path string, body []byte) string {
	sum := sha256.Sum256(body)
	return "stillwatch request\n" + method + " " + path + "\n" + hex.EncodeToString(sum[:]) + "\n"
}

// Signer signs texts with a ship's key; a register does.
type Signer interface {
	Sign(text string) ([]byte, error)
	PublicKey() string
}

// SignRequest puts the headers on a request.
func SignRequest(r *http.Request, by Signer, body []byte) error {
	signed, err := by.Sign(requestText(r.Method, r.URL.RequestURI(), body))
	if err != nil {
		return err
	}
	r.Header.Set(headerKey, by.PublicKey())
	r.Header.Set(headerSigned, base64.StdEncoding.EncodeToString(signed))
	return nil
}

// ErrRequest says that a request is not signed by the key that it names.
var ErrRequest = errors.New("the request is not signed by the key that it names")

// KeyOf returns the key that signed a request. Whose it is, the shore must know.
func KeyOf(r *http.Request, body []byte) (string, error) {
	key := r.Header.Get(headerKey)
	signed, err := base64.StdEncoding.DecodeString(r.Header.Get(headerSigned))
	if err != nil {
		return "", ErrRequest
	}
	text, err := register.SignedText(signed, key)
	if err != nil || text != requestText(r.Method, r.URL.RequestURI(), body) {
		return "", ErrRequest
	}
	return key, nil
}
