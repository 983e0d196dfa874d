package main

import (
	"bytes"
	"os"
	"regexp"
	"strings"
	"testing"
)

func TestUnknownCommandIsToldWithTheList(t *testing.T) {
	for _, tc := range []struct {
		name     string
		args     []string
		want     int
		out, err string
	}{
		{"no word", nil, 1, "", "usage: stillwatch COMMAND"},
		{"no command", []string{"nonsense"}, 1, "", `there is no command "nonsense"`},
		{"help", []string{"help"}, 0, "usage: stillwatch COMMAND", ""},
		{"a flag that does not exist", []string{"serve", "--no-such-flag"}, 1, "", "no-such-flag"},
	} {
		var out, errOut bytes.Buffer
		got := run(tc.args, &out, &errOut)
		if got != tc.want || !strings.Contains(out.String(), tc.out) || !strings.Contains(errOut.String(), tc.err) {
			t.Errorf("%s: run(%q) = %d, %q, %q; want %d, %q, %q", tc.name, tc.args, got, out.String(), errOut.String(), tc.want,
				tc.out, tc.err)
		}
	}
}

var (
	shellPattern   = regexp.MustCompile("(?s)```sh\n(.*?)```")
	commandPattern = regexp.MustCompile("(?:\\./cmd/stillwatch|\\./stillwatch|[`(]stillwatch|^stillwatch) ([a-z]+)((?: " +
		"[^`#\n]*)?)")
	flagPattern = regexp.MustCompile(`--([a-z]+)`)
)

// TestCommandsInTheReadmeExist wants every command that README shows, with every option it shows, to be in the program.
func TestCommandsInTheReadmeExist(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	known := map[string]command{}
	for _, c := range commands() {
		known[c.name] = c
	}
	seen := 0
	for _, line := range strings.Split(string(text), "\n") {
		for _, m := range commandPattern.FindAllStringSubmatch(line, -1) {
			name, rest := m[1], m[2]
			seen++
			if name == "help" {
				continue
			}
			c, ok := known[name]
			if !ok {
				t.Errorf("README shows %q, which is no command", "stillwatch "+name)
				continue
			}
			var help strings.Builder
			args := []string{"--help"}
			if first, _, _ := strings.Cut(strings.TrimSpace(rest), " "); first != "" && first[0] >= 'a' && first[0] <= 'z' &&
				!strings.ContainsAny(first, "./") {
				args = []string{first, "--help"}
			}
			if got := c.run(args, &help, &help); got != 0 {
				t.Errorf("stillwatch %s %s = %d, want 0", name, strings.Join(args, " "), got)
			}
			for _, f := range flagPattern.FindAllStringSubmatch(rest, -1) {
				if !strings.Contains(help.String(), "-"+f[1]) {
					t.Errorf("README shows stillwatch %s --%s, which its help does not know", name, f[1])
				}
			}
		}
	}
	if blocks := shellPattern.FindAllString(string(text), -1); seen < 5 || len(blocks) < 2 {
		t.Errorf("README shows %d commands in %d blocks; the test does not read it any more", seen, len(blocks))
	}
}
