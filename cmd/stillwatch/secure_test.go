package main

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"io"
	"log/slog"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"stillwatch/cmd/stillwatch/line"
	"stillwatch/web/authority"
)

func testAuthority(t *testing.T, data string, hosts ...string) *authority.Authority {
	t.Helper()
	root, err := authority.Make(line.AuthorityFolder(data), hosts, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	return root
}

// writePair writes a certificate of the authority as files from elsewhere.
func writePair(t *testing.T, root *authority.Authority, cert, key string) *tls.Certificate {
	t.Helper()
	made, err := root.Server([]string{"127.0.0.1"}, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	secret, err := x509.MarshalPKCS8PrivateKey(made.PrivateKey)
	if err != nil {
		t.Fatal(err)
	}
	for name, block := range map[string]*pem.Block{cert: {Type: "CERTIFICATE", Bytes: made.Certificate[0]},
		key: {Type: "PRIVATE KEY", Bytes: secret}} {
		if err := os.WriteFile(name, pem.EncodeToMemory(block), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return &made
}

func TestOwnCertificateIsMadeAnewBeforeItEnds(t *testing.T) {
	root := testAuthority(t, t.TempDir(), "127.0.0.1")
	own := &ownCertificate{root: root, hosts: []string{"127.0.0.1"}, log: slog.New(slog.DiscardHandler)}
	now := time.Now()
	for range 30 { // ten years and some: the program is never restarted
		cert, err := own.at(now)
		if err != nil {
			t.Fatal(err)
		}
		if now.Before(root.Until()) && !now.Before(cert.Leaf.NotAfter) {
			t.Fatalf("at %s the server shows a certificate that ended at %s", now, cert.Leaf.NotAfter)
		}
		again, _ := own.at(now.Add(time.Hour))
		if again != cert && now.Add(time.Hour).Before(cert.Leaf.NotAfter.Add(-renewBefore)) {
			t.Fatal("a certificate that holds was made anew")
		}
		now = now.Add(120 * 24 * time.Hour)
	}
}

func TestRenewedCertificateIsTakenWithoutARestart(t *testing.T) {
	dir := t.TempDir()
	root := testAuthority(t, dir, "127.0.0.1")
	chain, key := filepath.Join(dir, "server.pem"), filepath.Join(dir, "server.key")
	files := authority.NewFiles(chain, key, slog.New(slog.DiscardHandler))
	if _, err := files.At(time.Now()); err == nil || !strings.Contains(err.Error(), "is not there") {
		t.Fatalf("at() without files = %v, want that they are not there", err)
	}
	now := time.Now()
	first := writePair(t, root, chain, key)
	shows := func(want *tls.Certificate, when string) {
		t.Helper()
		now = now.Add(2 * time.Minute)
		got, err := files.At(now)
		if err != nil || string(got.Certificate[0]) != string(want.Certificate[0]) {
			t.Errorf("%s the server shows another certificate, or %v", when, err)
		}
	}
	shows(first, "at start")
	if err := os.WriteFile(chain, []byte("half a certifi"), 0o600); err != nil {
		t.Fatal(err)
	}
	touch(t, chain, now.Add(time.Hour))
	shows(first, "while the new one is half written")
	second := writePair(t, root, chain, key)
	touch(t, chain, now.Add(2*time.Hour))
	shows(second, "after the renewal")
}

func touch(t *testing.T, file string, at time.Time) {
	t.Helper()
	if err := os.Chtimes(file, at, at); err != nil {
		t.Fatal(err)
	}
}

func TestContradictingFlagsAreRefused(t *testing.T) {
	for _, tc := range []struct{ name, line, want string }{
		{"a certificate without its key", "--cert a.pem", "go together"},
		{"a key without its certificate", "--cert-key a.key", "go together"},
		{"two authorities", "--tls --cert a.pem --cert-key a.key", "choose one"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			var told strings.Builder
			args := append(strings.Fields("serve "+tc.line), "--data", t.TempDir())
			if status := run(args, io.Discard, &told); status != 1 || !strings.Contains(told.String(), tc.want) {
				t.Errorf("serve %s = %d, %q, want 1 and %q", tc.line, status, told.String(), tc.want)
			}
		})
	}
}

// lineReader returns what a server prints, as it prints it.
type lineReader struct{ lines chan string }

func (l lineReader) Write(p []byte) (int, error) {
	for line := range strings.Lines(string(p)) {
		l.lines <- strings.TrimSpace(line)
	}
	return len(p), nil
}

// addressIn returns the address at the end of a printed line.
func addressIn(line string) string { return line[strings.LastIndex(line, " ")+1:] }

// TestServeAnswersPlainlyAndOverTLS runs the command itself on loopback, with an authority that does not know one of
// the server's names.
func TestServeAnswersPlainlyAndOverTLS(t *testing.T) {
	data := t.TempDir()
	root := testAuthority(t, data, "127.0.0.1")
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	printed := lineReader{make(chan string, 10)}
	ended := make(chan error, 1)
	c := serveConfig{listen: "127.0.0.1:0", listenTLS: "127.0.0.1:0", data: data, tls: true, hosts: "new-name.ship"}
	go func() { ended <- serve(ctx, c, printed, slog.New(slog.DiscardHandler)) }()
	var plain, safe string
	for safe == "" {
		select {
		case err := <-ended:
			t.Fatalf("serve() = %v before it was told to stop", err)
		case line := <-printed.lines:
			if plain == "" {
				plain = addressIn(line)
			} else {
				safe = addressIn(line)
			}
		}
	}
	pool := x509.NewCertPool()
	pool.AppendCertsFromPEM(root.PEM())
	transport := &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool}, ForceAttemptHTTP2: true}
	defer transport.CloseIdleConnections()
	phone := &http.Client{Transport: transport}
	for _, address := range []string{plain + "/first-run", safe + "/first-run", plain + "/trust", safe + "/trust"} {
		resp, err := phone.Get(address)
		if err != nil {
			t.Fatal(err)
		}
		_ = resp.Body.Close()
		if resp.StatusCode != http.StatusOK {
			t.Errorf("GET %s = %d, want 200", address, resp.StatusCode)
		}
	}
	if !strings.HasPrefix(plain, "http://") || !strings.HasPrefix(safe, "https://") {
		t.Errorf("printed addresses %q and %q, want a plain and a secure one", plain, safe)
	}
	stop()
	if err := <-ended; err != nil {
		t.Errorf("serve() after it was told to stop = %v, want nil", err)
	}
}
