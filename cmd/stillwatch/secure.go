package main

import (
	"crypto/tls"
	"fmt"
	"log/slog"
	"net"
	"slices"
	"strings"
	"sync"
	"time"

	"stillwatch/cmd/stillwatch/line"
	"stillwatch/web/authority"
	"stillwatch/web/screens"
)

// secureSide is what serving over TLS takes: a listener, its address, and the authority to be shown to phones, which is
// nil for a certificate from elsewhere.
type secureSide struct {
	listener net.Listener
	url      string
	trust    *screens.Trust
}

// openSecureSide listens for TLS. A missing authority or an unreadable certificate is an error; a name of this server
// that the authority was not made for is only told in the log, since a new address after a power cut must not keep the
// register from being served.
func openSecureSide(c serveConfig, hosts []string, base string, logger *slog.Logger) (*secureSide, error) {
	certificate, root, err := certificateFor(c, hosts, logger)
	if err != nil {
		return nil, err
	}
	l, err := net.Listen("tcp", c.listenTLS)
	if err != nil {
		return nil, fmt.Errorf("listen on %s: %w", c.listenTLS, err)
	}
	s := &secureSide{url: secureURL(l, base)}
	s.listener = tls.NewListener(l, &tls.Config{
		MinVersion:     tls.VersionTLS12,
		NextProtos:     []string{"h2", "http/1.1"}, // without h2 a browser has six lines, and a live page keeps one
		GetCertificate: func(*tls.ClientHelloInfo) (*tls.Certificate, error) { return certificate(time.Now()) },
	})
	if root != nil {
		s.trust = &screens.Trust{PEM: root.PEM(), DER: root.DER(), Fingerprint: root.Fingerprint(), Until: root.Until(),
			Plain: base, Secure: s.url + "/"}
	}
	return s, nil
}

func (s *secureSide) close() error {
	if s == nil {
		return nil
	}
	return s.listener.Close()
}

// secureURL returns the address of the secure pages: the host that tags carry, with the port of TLS.
func secureURL(l net.Listener, base string) string {
	host := line.HostList(base, "")[0]
	_, port, err := net.SplitHostPort(l.Addr().String())
	if err != nil {
		return "https://" + l.Addr().String()
	}
	return "https://" + net.JoinHostPort(strings.Trim(host, "[]"), port)
}

// certificate returns the certificate to show at a moment.
type certificate func(now time.Time) (*tls.Certificate, error)

// certificateFor finds the certificate that the flags ask for, and has it once, so that what is wrong is told at start.
func certificateFor(c serveConfig, hosts []string, logger *slog.Logger) (certificate, *authority.Authority, error) {
	if c.cert != "" {
		files := authority.NewFiles(c.cert, c.certKey, logger)
		_, err := files.At(time.Now())
		return files.At, nil, err
	}
	dir := line.AuthorityFolder(c.data)
	root, err := authority.Open(dir)
	if err != nil {
		return nil, nil, fmt.Errorf("serve over TLS: %s: %w", dir, err)
	}
	own := &ownCertificate{root: root, log: logger}
	for _, h := range tlsHosts(strings.Join(hosts, ",")) {
		if _, err := root.Server([]string{h}, time.Now()); err != nil {
			logger.Warn("phones will be warned at this address", "host", h, "err", err)
			continue
		}
		if !slices.Contains(own.hosts, h) {
			own.hosts = append(own.hosts, h)
		}
	}
	_, err = own.at(time.Now())
	return own.at, root, err
}

// renewBefore is how long before its end a certificate of the ship's own authority is made anew, while the program
// runs.
const renewBefore = 30 * 24 * time.Hour

// ownCertificate makes certificates by the ship's own authority.
type ownCertificate struct {
	root  *authority.Authority
	hosts []string
	log   *slog.Logger

	mu   sync.Mutex
	made *tls.Certificate
}

func (o *ownCertificate) at(now time.Time) (*tls.Certificate, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.made != nil && (now.Before(o.made.Leaf.NotAfter.Add(-renewBefore)) ||
		!o.made.Leaf.NotAfter.Before(o.root.Until())) {
		return o.made, nil
	}
	made, err := o.root.Server(o.hosts, now)
	if err != nil {
		return nil, fmt.Errorf("make the server's certificate: %w", err)
	}
	o.made = &made
	o.log.Info("server certificate made", "hosts", strings.Join(o.hosts, " "), "until",
		made.Leaf.NotAfter.Format(time.DateOnly))
	return o.made, nil
}
