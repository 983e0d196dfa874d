package main

import (
	"bytes"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/spf13/cobra"
)

func TestUnknownCommandIsToldWithTheList(t *testing.T) {
	for _, tc := range []struct {
		name     string
		args     []string
		want     int
		out, err string
	}{
		{"no word", nil, 1, "", "Available Commands"},
		{"no command", []string{"nonsense"}, 1, "", `there is no command "nonsense"`},
		{"nearly a command", []string{"log", "verfy"}, 1, "", "Did you mean verify?"},
		{"help", []string{"help"}, 0, "safety management system", ""},
		{"help of a command", []string{"help", "plan"}, 0, "stillwatch plan [flags]", ""},
		{"a flag that does not exist", []string{"serve", "--no-such-flag"}, 1, "",
			"stillwatch serve: there is no flag --no-such-flag here"},
		{"a long flag with one dash", []string{"plan", "-plant", "x"}, 1, "", "long names take two dashes"},
		{"a flag without value", []string{"key", "--data"}, 1, "", "--data needs a value"},
		{"a value that is none", []string{"unit", "--keep", "long"}, 1, "", `--keep: `},
		{"no file", []string{"plant", "check"}, 1, "", "stillwatch plant check: name the plant file"},
		{"two files", []string{"backup", "a", "b"}, 1, "", `"b" is not understood here`},
	} {
		var out, errOut bytes.Buffer
		got := run(tc.args, &out, &errOut)
		if got != tc.want || !strings.Contains(out.String(), tc.out) || !strings.Contains(errOut.String(), tc.err) {
			t.Errorf("%s: run(%q) = %d, %q, %q; want %d, %q, %q", tc.name, tc.args, got, out.String(), errOut.String(), tc.want,
				tc.out, tc.err)
		}
	}
}

func TestFlagsComeFromTheEnvironmentToo(t *testing.T) {
	t.Setenv("STILLWATCH_PLANT", plants+"tiny.yaml")
	t.Setenv("STILLWATCH_JOB", "none")
	var out, errOut bytes.Buffer
	if got := run([]string{"plan", "--job", "P1-seal"}, &out, &errOut); got != 0 {
		t.Errorf("plan with STILLWATCH_PLANT = %d, %s; want 0: the line goes before the environment", got, errOut.String())
	}
	t.Setenv("STILLWATCH_KEEP", "long")
	if got := run([]string{"unit"}, &out, &errOut); got != 1 ||
		!strings.Contains(errOut.String(), "STILLWATCH_KEEP: --keep") {
		t.Errorf("unit with STILLWATCH_KEEP=long = %d, %s; want 1 and the name", got, errOut.String())
	}
}

// TestTheShellCompletesJobs asks what a shell asks when somebody presses Tab.
func TestTheShellCompletesJobs(t *testing.T) {
	var out, errOut bytes.Buffer
	got := run([]string{"__complete", "plan", "--plant", plants + "tiny.yaml", "--job", ""}, &out, &errOut)
	if got != 0 || !strings.Contains(out.String(), "P1-seal\t") {
		t.Errorf("completion of --job = %d, %q, %s; want P1-seal", got, out.String(), errOut.String())
	}
	for _, shell := range []string{"bash", "zsh", "fish", "powershell"} {
		out.Reset()
		if got := run([]string{"completion", shell}, &out, &errOut); got != 0 || out.Len() < 1000 {
			t.Errorf("completion %s = %d with %d bytes, want a script", shell, got, out.Len())
		}
	}
}

// everyCommand returns each command of the program that can be run, the deepest too, but not those of the library.
func everyCommand(c *cobra.Command) []*cobra.Command {
	all := []*cobra.Command{c}
	for _, below := range c.Commands() {
		if below.Name() != "help" && below.Name() != "completion" {
			all = append(all, everyCommand(below)...)
		}
	}
	return all
}

func TestEveryCommandIsExplainedWithAnExampleThatItUnderstands(t *testing.T) {
	all := everyCommand(program())
	if len(all) < 20 {
		t.Fatalf("%d commands, want all of them", len(all))
	}
	for _, c := range all {
		if c.Short == "" || c.Example == "" {
			t.Errorf("%s: Short %q, Example %q, want both", c.CommandPath(), c.Short, c.Example)
		}
		for l := range strings.Lines(c.Example) {
			if wrong := notUnderstood(strings.TrimSpace(l)); wrong != "" {
				t.Errorf("%s shows %q: %s", c.CommandPath(), strings.TrimSpace(l), wrong)
			}
		}
	}
}

var flagPattern = regexp.MustCompile(`--([a-z0-9]+(?:-[a-z0-9]+)*)`)

// notUnderstood says what of a line that people are told to type is not in the program, "" if all is.
func notUnderstood(typed string) string {
	words := strings.Fields(typed)
	if words = words[slices.Index(words, "stillwatch")+1:]; len(words) > 0 && words[0] == "help" {
		return ""
	}
	c, _, err := program().Find(words)
	if err != nil || c.HasSubCommands() && c.HasParent() && !c.HasLocalFlags() {
		return "there is no such command"
	}
	for _, f := range flagPattern.FindAllStringSubmatch(typed, -1) {
		if c.Flags().Lookup(f[1]) == nil {
			return "there is no flag --" + f[1]
		}
	}
	return ""
}

var (
	shellPattern   = regexp.MustCompile("(?s)```sh\n(.*?)```")
	commandPattern = regexp.MustCompile("(?:\\./cmd/stillwatch|\\./stillwatch|[`(]stillwatch|^stillwatch) ([a-z]+(?: " +
		"[^`#\n]*)?)")
)

// TestCommandsInTheReadmeExist wants every command that README shows, with every option it shows, to be in the program.
func TestCommandsInTheReadmeExist(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for shown := range strings.Lines(string(text)) {
		for _, m := range commandPattern.FindAllStringSubmatch(shown, -1) {
			seen++
			if wrong := notUnderstood("stillwatch " + m[1]); wrong != "" {
				t.Errorf("README shows %q: %s", "stillwatch "+m[1], wrong)
			}
		}
	}
	if blocks := shellPattern.FindAllString(string(text), -1); seen < 5 || len(blocks) < 2 {
		t.Errorf("README shows %d commands in %d blocks; the test does not read it any more", seen, len(blocks))
	}
}
