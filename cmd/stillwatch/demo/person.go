package demo

import (
	"bytes"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"strings"
	"time"

	"golang.org/x/net/html"
)

// demoPerson is one of the demo's crew with a browser of their own: they read pages, fill in the forms they find
// there and send them, and know nothing of the program's inside.
type demoPerson struct {
	id, name, Pin string
	base          string
	client        *http.Client
}

// NewDemoPerson returns somebody of the crew with a device of their own.
func NewDemoPerson(base, id, name, pin string) (*demoPerson, error) {
	jar, err := cookiejar.New(nil)
	if err != nil {
		return nil, err
	}
	return &demoPerson{id: id, name: name, Pin: pin, base: base, client: &http.Client{Jar: shipTimeJar{jar}}}, nil
}

// shipTimeJar keeps cookies as a device does whose clock goes with the ship's. The clock of this computer is ahead of
// it by up to a day and more, and would call a session over before it began; the server itself ends sessions in time.
type shipTimeJar struct{ *cookiejar.Jar }

// SetCookies keeps each cookie until it is taken back.
func (j shipTimeJar) SetCookies(u *url.URL, cookies []*http.Cookie) {
	for _, c := range cookies {
		if c.Value != "" {
			c.MaxAge, c.Expires, c.RawExpires = 0, time.Time{}, ""
		}
	}
	j.Jar.SetCookies(u, cookies)
}

// Answer is a page that came back.
type Answer struct {
	Status int
	path   string // where it was found in the end
	Page   *html.Node
	Bytes  []byte
}

// Open reads a page.
func (p *demoPerson) Open(ctx context.Context, path string) (Answer, error) {
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, p.base+path, nil)
	if err != nil {
		return Answer{}, err
	}
	return p.do(req)
}

func (p *demoPerson) do(req *http.Request) (Answer, error) {
	resp, err := p.client.Do(req)
	if err != nil {
		return Answer{}, err
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	if err != nil {
		return Answer{}, err
	}
	a := Answer{Status: resp.StatusCode, path: resp.Request.URL.Path, Bytes: body}
	if strings.HasPrefix(resp.Header.Get("Content-Type"), "text/html") {
		if a.Page, err = html.Parse(bytes.NewReader(body)); err != nil {
			return Answer{}, err
		}
	}
	return a, nil
}

// errNoForm says that a page has no form for an act: the page itself does not offer it.
var errNoForm = errors.New("the page has no such form")

// send finds on the page at path the form that goes to action, fills in the fields, keeps what the form brings along,
// and sends it.
func (p *demoPerson) send(ctx context.Context, path, action string, fields map[string]string) (Answer, error) {
	a, err := p.Open(ctx, path)
	if err != nil {
		return Answer{}, err
	}
	if a.Page == nil {
		return Answer{}, fmt.Errorf("read %s: not a page (status %d)", path, a.Status)
	}
	form := findForm(a.Page, action)
	if form == nil {
		return Answer{}, fmt.Errorf("send %s from %s (status %d): %w", action, path, a.Status, errNoForm)
	}
	values := hiddenFields(form)
	for name, value := range fields {
		values.Set(name, value)
	}
	return p.Post(ctx, action, values)
}

// insist sends a form like send, and also where the page does not offer it: as somebody does who kept an old page open.
func (p *demoPerson) insist(ctx context.Context, path, action string, fields map[string]string) (Answer, error) {
	a, err := p.send(ctx, path, action, fields)
	if !errors.Is(err, errNoForm) {
		return a, err
	}
	values := url.Values{"act_id": {rand.Text()}}
	for name, value := range fields {
		values.Set(name, value)
	}
	return p.Post(ctx, action, values)
}

// Post sends a form without looking for it on a page, as somebody would who kept an old page open.
func (p *demoPerson) Post(ctx context.Context, action string, values url.Values) (Answer, error) {
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, p.base+action, strings.NewReader(values.Encode()))
	if err != nil {
		return Answer{}, err
	}
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	req.Header.Set("Origin", p.base)
	return p.do(req)
}

// Refusal returns the words of the refusal on a page: its sentences, without the box around them; "" if there is none.
func (a Answer) Refusal() string {
	if a.Page == nil {
		return ""
	}
	var words []string
	for box := range a.Page.Descendants() {
		if attribute(box, "role") != "alert" {
			continue
		}
		for n := range box.Descendants() {
			if n.Type == html.ElementNode && n.Data == "p" && !hasLink(n) {
				words = append(words, Text(n))
			}
		}
	}
	return strings.Join(words, " ")
}

func hasLink(n *html.Node) bool {
	for d := range n.Descendants() {
		if d.Type == html.ElementNode && d.Data == "a" {
			return true
		}
	}
	return false
}

func findForm(page *html.Node, action string) *html.Node {
	for n := range page.Descendants() {
		if n.Type == html.ElementNode && n.Data == "form" && attribute(n, "action") == action {
			return n
		}
	}
	return nil
}

// hiddenFields returns what a form brings along by itself: its hidden inputs.
func hiddenFields(form *html.Node) url.Values {
	values := url.Values{}
	for n := range form.Descendants() {
		if n.Type == html.ElementNode && n.Data == "input" && attribute(n, "type") == "hidden" {
			values.Set(attribute(n, "name"), attribute(n, "value"))
		}
	}
	return values
}

func attribute(n *html.Node, name string) string {
	for _, a := range n.Attr {
		if a.Key == name {
			return a.Val
		}
	}
	return ""
}

// Text returns the words inside a node, with single blanks.
func Text(n *html.Node) string {
	var b strings.Builder
	for d := range n.Descendants() {
		if d.Type == html.TextNode {
			b.WriteString(d.Data + " ")
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}
