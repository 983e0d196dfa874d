package main

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"time"

	"stillwatch/permits"
)

// loadPhone is one device with its own connection and cookies, on which somebody is signed in. It asks with as little
// work as can be, since it shares the processors with the server that is measured: no client of net/http, which hands
// every request to two more goroutines, and of a page it looks only for the words that it needs.
type loadPhone struct {
	l       *load
	person  permits.PersonID
	hands   sync.Mutex // a phone does one thing at a time
	conn    net.Conn
	in      *bufio.Reader
	body    bytes.Buffer
	cookies map[string]string
	walk    string // the walk that is open on it
}

// phonePatience is how long a phone waits for an answer.
const phonePatience = 30 * time.Second

func (l *load) dial(person permits.PersonID) (*loadPhone, error) {
	conn, err := net.Dial("tcp", strings.TrimPrefix(l.base, "http://"))
	if err != nil {
		return nil, err
	}
	return &loadPhone{l: l, person: person, conn: conn, in: bufio.NewReader(conn), cookies: map[string]string{}}, nil
}

// exchange sends a request and reads the answer into body, which is good until the next.
func (p *loadPhone) exchange(method, path, form, accept string) (*http.Response, error) {
	p.l.asked.Add(1)
	var b strings.Builder
	fmt.Fprintf(&b, "%s %s HTTP/1.1\r\nHost: %s\r\nOrigin: %s\r\n", method, path, strings.TrimPrefix(p.l.base, "http://"), p.l.base)
	for name, value := range p.cookies {
		b.WriteString("Cookie: " + name + "=" + value + "\r\n")
	}
	if accept != "" {
		b.WriteString("Accept: " + accept + "\r\n")
	}
	if method == http.MethodPost {
		fmt.Fprintf(&b, "Content-Type: application/x-www-form-urlencoded\r\nContent-Length: %d\r\n", len(form))
	}
	b.WriteString("\r\n" + form)
	if err := p.conn.SetDeadline(time.Now().Add(phonePatience)); err != nil {
		return nil, err
	}
	if _, err := io.WriteString(p.conn, b.String()); err != nil {
		return nil, err
	}
	resp, err := http.ReadResponse(p.in, nil)
	if err != nil {
		return nil, err
	}
	for _, c := range resp.Cookies() {
		p.cookies[c.Name] = c.Value
	}
	p.body.Reset()
	_, err = p.body.ReadFrom(resp.Body)
	return resp, err
}

// page asks for a page, or sends a form, and follows to the page that shows what came of it, as a browser does. What is
// not a page, or alerts, is an error.
func (p *loadPhone) page(method, path, form string) ([]byte, error) {
	resp, err := p.exchange(method, path, form, "")
	if err == nil && resp.StatusCode == http.StatusSeeOther {
		method, path = http.MethodGet, resp.Header.Get("Location")
		resp, err = p.exchange(method, path, "", "")
	}
	if err != nil {
		return nil, fmt.Errorf("%s %s: %w", method, path, err)
	}
	if resp.StatusCode != http.StatusOK || bytes.Contains(p.body.Bytes(), []byte(`role="alert"`)) {
		return nil, fmt.Errorf("%s %s: status %d", method, path, resp.StatusCode)
	}
	return p.body.Bytes(), nil
}

func (p *loadPhone) post(path string, v url.Values) error {
	_, err := p.page(http.MethodPost, path, v.Encode())
	return err
}

// formIn gives the address of the form to fit or remove that a tag's page offers, "" if it offers none.
func formIn(page []byte) string {
	for {
		_, rest, found := bytes.Cut(page, []byte(`action="/T/`))
		if !found {
			return ""
		}
		address, _, _ := bytes.Cut(rest, []byte(`"`))
		if bytes.HasSuffix(address, []byte("/fit")) || bytes.HasSuffix(address, []byte("/remove")) {
			return "/T/" + string(address)
		}
		page = rest
	}
}

// scan opens a tag's page and gives the form that it offers, "" if it is not the tag's turn.
func (p *loadPhone) scan(path string) (string, error) {
	p.hands.Lock()
	defer p.hands.Unlock()
	began := time.Now()
	page, err := p.page(http.MethodGet, path, "")
	p.l.scans.add(began)
	return formIn(page), err
}

// send sends a form as the walk's page does, and takes a short answer instead of a page.
func (p *loadPhone) send(path string, v url.Values) error {
	resp, err := p.exchange(http.MethodPost, path, v.Encode(), "application/json")
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	if resp.StatusCode != http.StatusOK || !bytes.Contains(p.body.Bytes(), []byte(`"entry":`)) {
		return fmt.Errorf("%s: status %d: %s", path, resp.StatusCode, p.body.Bytes())
	}
	return nil
}
