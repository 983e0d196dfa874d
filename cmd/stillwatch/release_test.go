package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
)

// builtRelease is the release that the built program is told to be.
const builtRelease = "9.8.7"

// builtOnce is the program as a release is built, made for the first test that asks; TestMain throws it away.
var builtOnce = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "stillwatch-built-")
	if err != nil {
		return "", err
	}
	program := filepath.Join(dir, "stillwatch")
	build := exec.Command("go", "build", "-ldflags", "-X stillwatch/cmd/stillwatch/line.release="+builtRelease, "-o",
		program, ".")
	if said, err := build.CombinedOutput(); err != nil {
		return "", fmt.Errorf("go build: %w\n%s", err, said)
	}
	builtFolder = dir
	return program, nil
})

// builtFolder is where builtOnce has put the program, or "".
var builtFolder string

// buildProgram builds the program as it is delivered: the test's own would bring other settings of the collector.
func buildProgram(t testing.TB) string {
	t.Helper()
	program, err := builtOnce()
	if err != nil {
		t.Fatal(err)
	}
	return program
}

// TestTheReleaseIsTold asks the program that was built as a release is built for its version.
func TestTheReleaseIsTold(t *testing.T) {
	said, err := exec.Command(buildProgram(t), "version").CombinedOutput()
	if err != nil || strings.TrimSpace(string(said)) != "stillwatch "+builtRelease {
		t.Errorf("version = %q, %v, want the release", said, err)
	}
}
