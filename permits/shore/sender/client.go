package sender

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"strings"
	"time"

	"stillwatch/permits/register"
	"stillwatch/permits/shore/wire"
)

// Client asks one shore for one ship.
type Client struct {
	shore string // address, without a slash at its end
	by    wire.Signer
	http  *http.Client
}

// answerWithin is how long one exchange may take: a segment over a link of some kilobytes a second.
const answerWithin = 5 * time.Minute

// mostAnswer bounds what a shore may say.
const mostAnswer = 16 << 20

// NewClient returns a client for a shore's address. It goes over TLS, but for this computer itself: what a ship sends
// says who works where.
func NewClient(address string, by wire.Signer) (*Client, error) {
	u, err := url.Parse(strings.TrimRight(address, "/"))
	if err != nil || u.Host == "" || u.Path != "" || u.RawQuery != "" || u.User != nil {
		return nil, fmt.Errorf("the shore's address %q is not of the form https://HOST", address)
	}
	if u.Scheme != "https" && !(u.Scheme == "http" && isLoopback(u.Hostname())) {
		return nil, fmt.Errorf("the shore's address %q does not begin with https://, and it is another computer", address)
	}
	return &Client{shore: u.String(), by: by, http: &http.Client{Timeout: answerWithin,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}, nil
}

func isLoopback(host string) bool {
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// Refused is a no of the shore.
type Refused struct{ wire.Answer }

// Error returns why.
func (r *Refused) Error() string { return r.Words }

// Position asks what the shore has.
func (c *Client) Position(ctx context.Context) (wire.Answer, error) {
	return c.answer(ctx, http.MethodGet, wire.PathPosition, nil)
}

// Send sends a parcel.
func (c *Client) Send(ctx context.Context, p wire.Parcel) (wire.Answer, error) {
	body, err := wire.Pack(p)
	if err != nil {
		return wire.Answer{}, err
	}
	return c.answer(ctx, http.MethodPost, wire.PathSegment, body)
}

// Enrol has the ship's key taken by a one-time code.
func (c *Client) Enrol(ctx context.Context, code string) (wire.Answer, error) {
	act, err := c.by.Sign(wire.EnrolText(code, c.by.PublicKey()))
	if err != nil {
		return wire.Answer{}, err
	}
	body, err := json.Marshal(wire.EnrolRequest{Code: code, Act: string(act)})
	if err != nil {
		return wire.Answer{}, err
	}
	return c.answer(ctx, http.MethodPost, wire.PathEnrol, body)
}

// ReplaceKey has a new key taken by an act that the old and the new one have signed.
func (c *Client) ReplaceKey(ctx context.Context, act []byte) (wire.Answer, error) {
	return c.answer(ctx, http.MethodPost, wire.PathKey, act)
}

// Sisters asks for the other ships; with a name, for what that ship has in force that is not the same. It returns
// lines.
func (c *Client) Sisters(ctx context.Context, with string) ([]string, error) {
	path := wire.PathSisters
	if with != "" {
		path += "?" + url.Values{"with": {with}}.Encode()
	}
	text, err := c.ask(ctx, http.MethodGet, path, nil)
	var told wire.Sisters
	if err == nil {
		err = json.Unmarshal(text, &told)
	}
	return told.Lines, err
}

// Draft asks for a draft of the ship's own plant file with one more job, which another ship has.
func (c *Client) Draft(ctx context.Context, from, job string) ([]byte, error) {
	return c.ask(ctx, http.MethodGet, wire.PathDraft+"?"+url.Values{"from": {from}, "job": {job}}.Encode(), nil)
}

func (c *Client) answer(ctx context.Context, method, path string, body []byte) (a wire.Answer, err error) {
	text, err := c.ask(ctx, method, path, body)
	var no *Refused
	if err != nil && !errors.As(err, &no) {
		return a, err
	}
	if no != nil {
		return no.Answer, no
	}
	if err := json.Unmarshal(text, &a); err != nil {
		return a, fmt.Errorf("ask the shore: its answer makes no sense: %w", err)
	}
	return a, nil
}

// ask makes one signed request and returns what the shore says.
func (c *Client) ask(ctx context.Context, method, path string, body []byte) ([]byte, error) {
	r, err := http.NewRequestWithContext(ctx, method, c.shore+path, bytes.NewReader(body))
	if err != nil {
		return nil, fmt.Errorf("ask the shore: %w", err)
	}
	if err := wire.SignRequest(r, c.by, body); err != nil {
		return nil, err
	}
	got, err := c.http.Do(r)
	if err != nil {
		return nil, fmt.Errorf("ask the shore: %w", err)
	}
	defer got.Body.Close() // read only
	text, err := io.ReadAll(io.LimitReader(got.Body, mostAnswer))
	if err != nil {
		return nil, fmt.Errorf("ask the shore: %w", err)
	}
	if got.StatusCode == http.StatusOK {
		return text, nil
	}
	var a wire.Answer
	if json.Unmarshal(text, &a) != nil || a.Refused == "" {
		return nil, fmt.Errorf("ask the shore: it answers %s", got.Status)
	}
	return nil, &Refused{a}
}

// segmentFrom is what goes to the shore next: the entries that it lacks. If it has more than the register, that is said
// with the head that it told.
func segmentFrom(ctx context.Context, reg *register.Register, a wire.Answer, most register.Bounds) (wire.Parcel,
	error) {
	p := wire.Parcel{}
	from := a.Size
	if size := reg.Head().Size; from > size {
		from, p.Told = size, []byte(a.Head)
	}
	var err error
	p.Segment, err = reg.Segment(ctx, from, most)
	return p, err
}
