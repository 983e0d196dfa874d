package web

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"stillwatch/permits"
	"stillwatch/web/screens"
)

// Body limits, in bytes. A plain form has a few fields; a file is at most what package isolation reads, with its
// wrapping.
const (
	formLimit = 64 << 10
	fileLimit = 9 << 20
	drainMost = 64 << 20 // of a body that is too large: read away, so that the answer reaches the sender
)

// form is what was posted: fields as text, read into figures by the methods below. The first field that makes no sense
// is kept as a fault; the others read as zero.
type form struct {
	url.Values
	fault *permits.Refusal
}

// readForm reads the posted fields, whichever way they were wrapped. A body above the route's limit, or one that is no
// form, is a refusal.
func readForm(c *gin.Context, limit int64) (*form, error) {
	r := c.Request
	if r.ContentLength > limit {
		return nil, tooLarge(r.Body, limit)
	}
	body := r.Body
	r.Body = http.MaxBytesReader(c.Writer, r.Body, limit)
	var err error
	if strings.HasPrefix(r.Header.Get("Content-Type"), "multipart/form-data") {
		err = r.ParseMultipartForm(limit)
	} else {
		err = r.ParseForm()
	}
	var over *http.MaxBytesError
	switch {
	case errors.As(err, &over):
		return nil, tooLarge(body, limit)
	case err != nil:
		return nil, &permits.Refusal{Kind: permits.Invalid, Gate: "form",
			What: "What was sent is not a form that can be read.", Opens: "Open the page again and send its form."}
	}
	return &form{Values: r.PostForm}, nil
}

// filesAtOnce is how many files are taken at once. Each may take some 30 MB of memory while it is read, for as long as
// its sender likes within the server's time for reading; 400 that are sent by halves must not fill the server.
const filesAtOnce = 4

// readBody reads the posted fields within the route's limit; 0 is formLimit.
func (s *Server) readBody(c *gin.Context, limit int64) (*form, error) {
	if limit <= formLimit {
		return readForm(c, formLimit)
	}
	select {
	case s.files <- struct{}{}:
		defer func() { <-s.files }()
		return readForm(c, limit)
	default:
		return nil, tooManyBodies{&permits.Refusal{Kind: permits.Refused, Gate: "form",
			What: "Other files are being taken at this moment.", Opens: "Send it again in a minute."}}
	}
}

// tooManyBodies is the refusal of a file while others are read; it has a status of its own.
type tooManyBodies struct{ *permits.Refusal }

// Unwrap returns the refusal itself.
func (b tooManyBodies) Unwrap() error { return b.Refusal }

// bodyTooLarge is the refusal of a body above its limit; it has a status of its own.
type bodyTooLarge struct{ *permits.Refusal }

// Unwrap returns the refusal itself.
func (b bodyTooLarge) Unwrap() error { return b.Refusal }

func tooLarge(body io.Reader, limit int64) error {
	_, _ = io.CopyN(io.Discard, body, drainMost) // whatever comes of it: the answer is the same
	size := fmt.Sprintf("%d KB", limit>>10)
	if limit >= 1<<20 {
		size = fmt.Sprintf("%d MB", limit>>20)
	}
	return bodyTooLarge{&permits.Refusal{Kind: permits.Invalid, Gate: "form",
		What:  "What was sent is too large: at most " + size + " are taken here.",
		Opens: "Send less, or choose the right file."}}
}

// wrong keeps the first fault.
func (f *form) wrong(field, what string, args ...any) {
	if f.fault == nil {
		f.fault = &permits.Refusal{Kind: permits.Invalid, Gate: "form", Field: field, What: fmt.Sprintf(what, args...),
			Opens: "Correct it and send the form again."}
	}
}

// text returns a field without the blanks around it.
func (f *form) text(field string) string { return strings.TrimSpace(f.Get(field)) }

var figurePattern = regexp.MustCompile(`^[+-]?[0-9]{1,9}([.,][0-9]{1,6})?$`)

// number reads a figure as people write it: a comma or a point before the decimals, no exponent, nothing else.
func (f *form) number(field, name string) float64 {
	text := f.text(field)
	if !figurePattern.MatchString(text) {
		if text == "" {
			f.wrong(field, "%s is missing.", name)
		} else {
			f.wrong(field, "%s must be a number, such as 12.5; %q is none.", name, screens.Shorten(text, 20))
		}
		return 0
	}
	v, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
	if err != nil {
		f.wrong(field, "%s must be a number.", name)
	}
	return v
}

// count reads a whole number.
func (f *form) count(field, name string) int {
	n, err := strconv.Atoi(f.text(field))
	if err != nil {
		f.wrong(field, "%s must be a whole number.", name)
	}
	return n
}

// countOr is count for a field that may be left out.
func (f *form) countOr(field string, otherwise int) int {
	if f.text(field) == "" {
		return otherwise
	}
	return f.count(field, field)
}

// clock reads a time of day, 15:04, as the last such moment that is not after now, by the ship's clock.
func (f *form) clock(field, name string, now time.Time) time.Time {
	of, err := time.Parse("15:04", f.text(field))
	if err != nil {
		f.wrong(field, "%s must be a time of the day, such as 14:05.", name)
		return time.Time{}
	}
	now = now.Local()
	at := time.Date(now.Year(), now.Month(), now.Day(), of.Hour(), of.Minute(), 0, 0, time.Local)
	if at.After(now) {
		at = at.AddDate(0, 0, -1)
	}
	return at.UTC() // as every time in the log
}

// name reads a person's name or rank as the books keep it.
func (f *form) name(field string) string {
	name, err := permits.AsName(field, f.Get(field))
	var no *permits.Refusal
	if errors.As(err, &no) && f.fault == nil {
		f.fault = no
	}
	return name
}

// yes reads a box that was ticked.
func (f *form) yes(field string) bool {
	switch f.text(field) {
	case "yes", "on", "1", "true":
		return true
	}
	return false
}

var actIDPattern = regexp.MustCompile(`^[A-Za-z0-9_-]{16,64}$`)

// actID returns the id that the form was rendered with.
func (f *form) actID() permits.ActID {
	id := f.text("act_id")
	if !actIDPattern.MatchString(id) {
		f.wrong("act_id", "The form carries no act id, so it cannot be known whether it was sent before.")
		return ""
	}
	return permits.ActID(id)
}
