package main

import (
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// TestTheReleaseIsTold builds the program as a release is built and asks for its version.
func TestTheReleaseIsTold(t *testing.T) {
	program := filepath.Join(t.TempDir(), "stillwatch")
	build := exec.Command("go", "build", "-ldflags", "-X stillwatch/cmd/stillwatch/line.release=9.8.7", "-o", program, ".")
	if said, err := build.CombinedOutput(); err != nil {
		t.Fatalf("go build = %v\n%s", err, said)
	}
	said, err := exec.Command(program, "version").CombinedOutput()
	if err != nil || strings.TrimSpace(string(said)) != "stillwatch 9.8.7" {
		t.Errorf("version = %q, %v, want the release", said, err)
	}
}
