package web

import (
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestHealthSaysWhetherTheLogCanBeWritten takes the database away, as a disk that was pulled out does.
func TestHealthSaysWhetherTheLogCanBeWritten(t *testing.T) {
	a := ship(t)
	c := a.browser()
	if got := c.get("/healthz"); got.status != http.StatusOK || !strings.HasPrefix(got.body, "ok\nlog ") {
		t.Fatalf("GET /healthz = %d %q, want 200 and ok", got.status, got.body)
	}
	files, err := filepath.Glob(filepath.Join(a.reg.Dir(), "*.db"))
	if err != nil || len(files) != 1 {
		t.Fatalf("databases in the data folder = %v, %v, want one", files, err)
	}
	if err := os.Rename(files[0], files[0]+".away"); err != nil {
		t.Skip("an open database cannot be moved here: ", err)
	}
	got := c.get("/healthz")
	if got.status != http.StatusServiceUnavailable || !strings.Contains(got.body, "lost") {
		t.Errorf("GET /healthz without the database = %d %q, want 503 and words", got.status, got.body)
	}
	if strings.Contains(got.body, a.reg.Dir()) {
		t.Errorf("GET /healthz tells a stranger where the data lie: %q", got.body)
	}
	if err := os.Rename(files[0]+".away", files[0]); err != nil {
		t.Fatal(err)
	}
	if got := c.get("/healthz"); got.status != http.StatusOK {
		t.Errorf("GET /healthz with the database back = %d, want 200", got.status)
	}
}
