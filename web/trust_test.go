package web

import (
	"bytes"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"io"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"stillwatch/permits"
	"stillwatch/web/authority"
	"stillwatch/web/screens"
)

// secured is a ship whose register is served twice: plainly, and over TLS by the ship's own authority.
type secured struct {
	*aboard
	plainURL, secureURL string
	authority           *authority.Authority
	https               *http.Client // a phone that trusts the authority; no cookies, no redirects followed
}

func securedShip(t *testing.T) *secured {
	t.Helper()
	a := ship(t)
	root, err := authority.Make(t.TempDir(), []string{"127.0.0.1"}, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	cert, err := root.Server([]string{"127.0.0.1"}, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	trust := &screens.Trust{PEM: root.PEM(), DER: root.DER(), Fingerprint: root.Fingerprint(), Until: root.Until(),
		Plain: "http://127.0.0.1:8080", Secure: "https://127.0.0.1:8443/"}
	a.web.cfg.Trust = trust
	logger := slog.New(slog.NewTextHandler(a.log, nil))
	twin, err := New(a.reg, Config{Now: a.clock, Logger: logger, Secure: true, Trust: trust})
	if err != nil {
		t.Fatal(err)
	}
	server := httptest.NewUnstartedServer(twin.Handler())
	server.TLS = &tls.Config{Certificates: []tls.Certificate{cert}, MinVersion: tls.VersionTLS12}
	server.EnableHTTP2 = true
	server.StartTLS()
	t.Cleanup(func() { twin.endAll(); server.Close() })
	roots := x509.NewCertPool()
	roots.AppendCertsFromPEM(root.PEM())
	transport := &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots}, ForceAttemptHTTP2: true}
	t.Cleanup(transport.CloseIdleConnections)
	return &secured{a, a.http.URL, server.URL, root, &http.Client{Transport: transport}}
}

// phone is a device that opens both addresses with one jar of cookies, as a browser does.
func (s *secured) phone() *http.Client {
	jar, err := cookiejar.New(nil)
	if err != nil {
		s.t.Fatal(err)
	}
	return &http.Client{Transport: s.https.Transport, Jar: jar}
}

func (s *secured) send(c *http.Client, base, path string, pairs ...string) (status int, body string) {
	s.t.Helper()
	req, err := http.NewRequest(http.MethodPost, base+path, strings.NewReader(fields(pairs...).Encode()))
	if err != nil {
		s.t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	req.Header.Set("Origin", base)
	return s.done(c.Do(req))
}

func (s *secured) open(c *http.Client, address string) (status int, body string) {
	s.t.Helper()
	return s.done(c.Get(address))
}

func (s *secured) done(resp *http.Response, err error) (status int, body string) {
	s.t.Helper()
	if err != nil {
		s.t.Fatal(err)
	}
	defer resp.Body.Close()
	text, err := io.ReadAll(resp.Body)
	if err != nil {
		s.t.Fatal(err)
	}
	return resp.StatusCode, string(text)
}

func (s *secured) isSignedIn(c *http.Client, base string) bool {
	s.t.Helper()
	_, body := s.open(c, base+"/pin")
	return strings.Contains(body, `name="old_pin"`)
}

// TestPlainAndSecureSessionsDoNotFight signs one browser in as two people, one on each side.
func TestPlainAndSecureSessionsDoNotFight(t *testing.T) {
	s := securedShip(t)
	c := s.phone()
	s.send(c, s.secureURL, "/sign-in", "person", "tech", "pin", testPINs["tech"])
	s.send(c, s.plainURL, "/sign-in", "person", "oow", "pin", testPINs["oow"])
	for base, want := range map[string]string{s.secureURL: "Fitter One", s.plainURL: "Officer One"} {
		if _, body := s.open(c, base+"/pin"); !strings.Contains(body, "Sign out "+want) {
			t.Errorf("the session at %s is not that of %s", base, want)
		}
	}
	s.send(c, s.plainURL, "/sign-out")
	if s.isSignedIn(c, s.plainURL) || !s.isSignedIn(c, s.secureURL) {
		t.Error("signing out on the plain side ended the other side's session, or not its own")
	}
	_, body := s.open(s.phone(), s.plainURL+"/sign-in")
	if !strings.Contains(body, "Sign in") {
		t.Error("the plain side does not offer signing in")
	}
}

func TestSecureCookiesNeverGoOverThePlainLine(t *testing.T) {
	s := securedShip(t)
	c := s.phone()
	c.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	req, _ := http.NewRequest(http.MethodPost, s.secureURL+"/sign-in",
		strings.NewReader(fields("person", "tech", "pin", testPINs["tech"]).Encode()))
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	req.Header.Set("Origin", s.secureURL)
	resp, err := c.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	_ = resp.Body.Close()
	if resp.ProtoMajor != 2 {
		t.Errorf("the secure side speaks %s, want HTTP/2, for which open live pages are no burden", resp.Proto)
	}
	if got := resp.Header.Get("Strict-Transport-Security"); got != "" {
		t.Errorf("Strict-Transport-Security = %q, want none: the plain address does the whole job", got)
	}
	names := map[string]bool{}
	for _, k := range resp.Cookies() {
		names[k.Name] = true
		if !k.Secure || !k.HttpOnly || k.Path != "/" || k.Domain != "" || !strings.HasPrefix(k.Name, "__Host-") {
			t.Errorf("cookie %q: Secure %v, HttpOnly %v, Path %q, Domain %q, want a __Host- cookie", k.Name, k.Secure,
				k.HttpOnly, k.Path, k.Domain)
		}
	}
	if !names["__Host-stillwatch"] || !names["__Host-stillwatch-done"] {
		t.Errorf("cookies set = %v, want the session and the word of what was done", names)
	}
}

// TestPINChangedOnOneSideEndsSessionsOnTheOther is why the two servers share what they know of PINs.
func TestPINChangedOnOneSideEndsSessionsOnTheOther(t *testing.T) {
	s := securedShip(t)
	stolen := s.phone()
	s.send(stolen, s.secureURL, "/sign-in", "person", "tech", "pin", testPINs["tech"])
	if !s.isSignedIn(stolen, s.secureURL) { // also makes the secure side remember when the PIN was last set
		t.Fatal("signing in over TLS did not take")
	}
	s.wait(time.Second)
	chief := s.as("chief")
	chief.must(chief.post("/people/tech/pin", "new_pin", "357914", "new_pin_again", "357914", "pin", testPINs["chief"]),
		"/people")
	if s.isSignedIn(stolen, s.secureURL) {
		t.Error("a session of the secure side outlived the PIN that was changed on the plain side")
	}
}

func TestTrustPageGivesTheCertificateThatPhonesNeed(t *testing.T) {
	s := securedShip(t)
	c := s.phone()
	for _, base := range []string{s.plainURL, s.secureURL} {
		status, body := s.open(c, base+"/trust")
		for _, want := range []string{"http://127.0.0.1:8080/trust", "https://127.0.0.1:8443/", s.authority.Fingerprint(),
			"Certificate Trust Settings"} {
			if status != http.StatusOK || !strings.Contains(body, want) {
				t.Errorf("GET %s/trust = %d, without %q", base, status, want)
			}
		}
	}
	_, crt := s.open(c, s.plainURL+"/trust/authority.crt")
	_, text := s.open(c, s.plainURL+"/trust/authority.pem")
	block, rest := pem.Decode([]byte(text))
	if block == nil || len(bytes.TrimSpace(rest)) > 0 || !bytes.Equal(block.Bytes, []byte(crt)) {
		t.Fatal("the PEM file is not one certificate, or another than the DER file")
	}
	root, err := x509.ParseCertificate([]byte(crt))
	if err != nil || !root.IsCA {
		t.Fatalf("what is given to phones is no authority's certificate: %v", err)
	}
	pool := x509.NewCertPool()
	pool.AddCert(root)
	conn, err := tls.Dial("tcp", strings.TrimPrefix(s.secureURL, "https://"), &tls.Config{RootCAs: pool})
	if err != nil {
		t.Fatalf("a phone that trusts the certificate given is turned away: %v", err)
	}
	_ = conn.Close()
}

func TestOldTLSIsTurnedAway(t *testing.T) {
	s := securedShip(t)
	pool := x509.NewCertPool()
	pool.AppendCertsFromPEM(s.authority.PEM())
	conn, err := tls.Dial("tcp", strings.TrimPrefix(s.secureURL, "https://"),
		&tls.Config{RootCAs: pool, MinVersion: tls.VersionTLS10, MaxVersion: tls.VersionTLS11})
	if err == nil {
		_ = conn.Close()
		t.Error("TLS 1.1 was taken, want 1.2 at least")
	}
}

func TestWithoutAnAuthorityThereIsNothingToTrust(t *testing.T) {
	a := ship(t)
	for _, path := range []string{"/trust", "/trust/authority.crt", "/trust/authority.pem"} {
		if got := a.browser().get(path); got.status != http.StatusNotFound {
			t.Errorf("GET %s = %d, want 404", path, got.status)
		}
	}
}

// TestQROfTheTrustPageIsRead has an outside reader read the code as a screen shows it.
func TestQROfTheTrustPageIsRead(t *testing.T) {
	reader, err := exec.LookPath("zbarimg")
	if err != nil {
		t.Skip("zbarimg is not installed")
	}
	const address = "http://192.168.1.10:8080/trust"
	q, err := screens.DrawQR(address)
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "qr.pgm")
	if err := os.WriteFile(file, q.Pgm(8), 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(reader, "--quiet", "--raw", file).Output()
	if got := strings.TrimSpace(string(out)); err != nil || got != address {
		t.Errorf("zbarimg reads %q, %v, want %q", got, err, address)
	}
}

// TestSecondServerAnswersForTheSameRegister has an act of one side seen on the other.
func TestSecondServerAnswersForTheSameRegister(t *testing.T) {
	s := securedShip(t)
	c := s.phone()
	s.send(c, s.secureURL, "/sign-in", "person", "tech", "pin", testPINs["tech"])
	if status, body := s.send(c, s.secureURL, "/permits", "job", "P1-seal", "work",
		"Seal leaks: renew it"); status != http.StatusOK || strings.Contains(body, `role="alert"`) {
		t.Fatalf("requesting a permit over TLS ended with %d: %s", status, alert(body))
	}
	if got := s.permit(1).State(); got != permits.Draft {
		t.Errorf("State() = %s, want %s", got, permits.Draft)
	}
	if got := s.as("oow").get("/permits/1"); got.status != http.StatusOK {
		t.Errorf("GET /permits/1 on the plain side = %d, want 200", got.status)
	}
}
