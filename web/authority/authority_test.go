package authority

import (
	"crypto/tls"
	"crypto/x509"
	"errors"
	"io/fs"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"runtime"
	"testing"
	"time"
)

var now = time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)

func TestPhoneThatTrustsTheAuthorityReachesTheServer(t *testing.T) {
	a, err := Make(t.TempDir(), []string{"127.0.0.1", "stillwatch.ship"}, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	cert, err := a.Server([]string{"127.0.0.1", "stillwatch.ship"}, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	server := httptest.NewUnstartedServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) {}))
	server.TLS = &tls.Config{Certificates: []tls.Certificate{cert}}
	server.StartTLS()
	defer server.Close()

	roots := x509.NewCertPool()
	if !roots.AppendCertsFromPEM(a.PEM()) {
		t.Fatal("the authority's PEM is not taken")
	}
	client := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots}}}
	resp, err := client.Get(server.URL)
	if err != nil {
		t.Fatalf("a phone that trusts the authority is turned away: %v", err)
	}
	_ = resp.Body.Close()
	if resp, err := http.Get(server.URL); err == nil {
		_ = resp.Body.Close()
		t.Error("a phone that does not trust the authority is let through without a warning")
	}
}

func TestAuthorityVouchesForNobodyElse(t *testing.T) {
	for _, tc := range []struct {
		name  string
		made  []string
		asked string
	}{
		{"another name", []string{"stillwatch.ship"}, "bank.example"},
		{"another address", []string{"10.0.0.5"}, "10.0.0.6"},
		{"a name where only an address was given", []string{"10.0.0.5"}, "bank.example"},
		{"an address where only a name was given", []string{"stillwatch.ship"}, "10.0.0.5"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			a, err := Make(t.TempDir(), tc.made, now)
			if err != nil {
				t.Fatal(err)
			}
			if _, err := a.Server([]string{tc.asked}, now); err == nil {
				t.Errorf("an authority made for %v vouches for %s", tc.made, tc.asked)
			}
		})
	}
}

func TestSecondAuthorityIsNotMadeOverTheFirst(t *testing.T) {
	dir := t.TempDir()
	first, err := Make(dir, []string{"10.0.0.5"}, now)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Make(dir, []string{"10.0.0.5"}, now); !errors.Is(err, ErrExists) {
		t.Fatalf("Make over an authority = %v, want ErrExists", err)
	}
	again, err := Open(dir)
	if err != nil || again.Fingerprint() != first.Fingerprint() {
		t.Errorf("the first authority is not there any more: %v", err)
	}
}

func TestKeyIsForItsOwnerOnly(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("file modes do not say who may read a file on Windows")
	}
	dir := t.TempDir()
	if _, err := Make(dir, []string{"10.0.0.5"}, now); err != nil {
		t.Fatal(err)
	}
	info, err := os.Stat(filepath.Join(dir, rootKeyFile))
	if err != nil {
		t.Fatal(err)
	}
	if got := info.Mode().Perm(); got != fs.FileMode(0o600) {
		t.Errorf("key file mode = %v, want 0600", got)
	}
}

func TestMissingAuthorityIsSaid(t *testing.T) {
	if _, err := Open(t.TempDir()); !errors.Is(err, ErrMissing) {
		t.Errorf("Open of an empty folder = %v, want ErrMissing", err)
	}
	if _, err := Make(t.TempDir(), nil, now); err == nil {
		t.Error("an authority for nobody was made")
	}
}
