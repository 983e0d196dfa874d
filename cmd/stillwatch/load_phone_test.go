package main

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"strconv"
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
	out     bytes.Buffer
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

// reply is what of an answer a phone looks at; its body lies in the phone until the next.
type reply struct {
	status   int
	location string
}

// exchange sends a request and reads the answer into body, which is good until the next.
func (p *loadPhone) exchange(method, path, form, accept string) (reply, error) {
	p.l.asked.Add(1)
	p.out.Reset()
	fmt.Fprintf(&p.out, "%s %s HTTP/1.1\r\nHost: %s\r\nOrigin: %s\r\n", method, path,
		strings.TrimPrefix(p.l.base, "http://"), p.l.base)
	for name, value := range p.cookies {
		p.out.WriteString("Cookie: " + name + "=" + value + "\r\n")
	}
	if accept != "" {
		p.out.WriteString("Accept: " + accept + "\r\n")
	}
	if method == http.MethodPost {
		fmt.Fprintf(&p.out, "Content-Type: application/x-www-form-urlencoded\r\nContent-Length: %d\r\n", len(form))
	}
	p.out.WriteString("\r\n" + form)
	if err := p.conn.SetDeadline(time.Now().Add(phonePatience)); err != nil {
		return reply{}, err
	}
	if _, err := p.conn.Write(p.out.Bytes()); err != nil {
		return reply{}, err
	}
	return p.read()
}

// read reads an answer, which must say how long its body is.
func (p *loadPhone) read() (reply, error) {
	line, err := p.in.ReadString('\n')
	if err != nil {
		return reply{}, err
	}
	var r reply
	if _, err := fmt.Sscanf(line, "HTTP/1.1 %d", &r.status); err != nil {
		return r, fmt.Errorf("an answer begins with %q", line)
	}
	size := -1
	for {
		line, err := p.in.ReadSlice('\n')
		if err != nil {
			return r, err
		}
		name, value, named := bytes.Cut(bytes.TrimSpace(line), []byte(": "))
		if !named {
			break
		}
		switch string(name) {
		case "Content-Length":
			if size, err = strconv.Atoi(string(value)); err != nil {
				return r, err
			}
		case "Location":
			r.location = string(value)
		case "Set-Cookie":
			k, err := http.ParseSetCookie(string(value))
			if err != nil {
				return r, err
			}
			p.cookies[k.Name] = k.Value
		}
	}
	if size < 0 {
		return r, errors.New("an answer does not say how long it is")
	}
	p.body.Reset()
	_, err = io.CopyN(&p.body, p.in, int64(size))
	return r, err
}

// page asks for a page, or sends a form, and follows to the page that shows what came of it, as a browser does. What is
// not a page, or alerts, is an error.
func (p *loadPhone) page(method, path, form string) ([]byte, error) {
	resp, err := p.exchange(method, path, form, "")
	if err == nil && resp.status == http.StatusSeeOther {
		method, path = http.MethodGet, resp.location
		resp, err = p.exchange(method, path, "", "")
	}
	if err != nil {
		return nil, fmt.Errorf("%s %s: %w", method, path, err)
	}
	if resp.status != http.StatusOK || bytes.Contains(p.body.Bytes(), []byte(`role="alert"`)) {
		return nil, fmt.Errorf("%s %s: status %d", method, path, resp.status)
	}
	return p.body.Bytes(), nil
}

func (p *loadPhone) post(path string, v url.Values) error {
	_, err := p.page(http.MethodPost, path, v.Encode())
	return err
}

// formIn returns the address of the form to fit or remove that a tag's page offers, "" if it offers none.
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

// scan opens a tag's page and returns the form that it offers, "" if it is not the tag's turn.
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
	if resp.status != http.StatusOK || !bytes.Contains(p.body.Bytes(), []byte(`"entry":`)) {
		return fmt.Errorf("%s: status %d: %s", path, resp.status, p.body.Bytes())
	}
	return nil
}
