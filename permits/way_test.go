package permits

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the golden files anew")

// TestEveryStateAndActIsDecided compares the whole way, every state by every act, with the golden file that a person
// has read. A new act or state fails here until all its cells have been thought about.
func TestEveryStateAndActIsDecided(t *testing.T) {
	var b strings.Builder
	for _, state := range append([]State{unset}, States()...) {
		fmt.Fprintf(&b, "%s\n", state)
		for _, kind := range permitKinds() {
			p := Permit{state: state}
			if state != unset {
				p.id = 7
			}
			if s, ok := find(state, kind); ok {
				fmt.Fprintf(&b, "  %-22s -> %s   [%s]\n", kind, joinStates(s.To), s.Gate)
			} else {
				fmt.Fprintf(&b, "  %-22s %s\n", kind, refuseState(p, kind))
			}
		}
	}
	compareGolden(t, "way.golden", b.String())
}

// TestEveryActHasItsRule compares who may do what, and what is signed, with the golden file that a person has read.
func TestEveryActHasItsRule(t *testing.T) {
	var b strings.Builder
	for _, kind := range Kinds() {
		how := "not signed"
		if kind.IsSigned() {
			how = "signed"
		}
		who := "no role is asked for"
		if roles := kind.Roles(); len(roles) > 0 {
			who = rolesInWords(roles)
		}
		fmt.Fprintf(&b, "%-22s %-10s  to %s: %s\n", kind, how, kind.Does(), who)
	}
	compareGolden(t, "acts.golden", b.String())
}

// TestEveryActIsInTheList looks through the package's files for acts: one that is not in the list could be recorded and
// never be read again.
func TestEveryActIsInTheList(t *testing.T) {
	listed := map[string]bool{}
	for _, r := range acts {
		a, err := r.decode([]byte("{}"))
		if err != nil {
			t.Fatal(err)
		}
		listed[strings.TrimPrefix(fmt.Sprintf("%T", a), "permits.")] = true
	}
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	found := 0
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range actMethod.FindAllSubmatch(text, -1) {
			found++
			if !listed[string(m[1])] {
				t.Errorf("%s: the act %s is not in the list of acts", file, m[1])
			}
		}
	}
	if found != len(acts) {
		t.Errorf("%d acts are listed and %d stand in the files", len(acts), found)
	}
}

var actMethod = regexp.MustCompile(`(?m)^func \((?:\w+ )?(\w+)\) rule\(\) rule \{`)

// permitKinds returns the kinds of act that a permit can meet.
func permitKinds() []Kind {
	var kinds []Kind
	for _, r := range acts {
		if a, err := r.decode([]byte("{}")); err == nil {
			if _, ok := a.(PermitAct); ok {
				kinds = append(kinds, r.kind)
			}
		}
	}
	return kinds
}

func joinStates(states []State) string {
	var out []string
	for _, s := range states {
		out = append(out, s.String())
	}
	return strings.Join(out, " or ")
}

func compareGolden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("..", "testdata", name)
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("%s differs from what the program does now; read the difference, then run with -update\ngot:\n%s", name, got)
	}
}

func TestEveryActOfTheWayIsInTheTableOfActs(t *testing.T) {
	for _, s := range way {
		if _, ok := actOf(s.Act); !ok {
			t.Errorf("the way names %q, which no act has", s.Act)
		}
	}
	for _, kind := range permitKinds() {
		if !slices.ContainsFunc(way, func(s step) bool { return s.Act == kind }) {
			t.Errorf("act %q has no place on the way", kind)
		}
	}
}

func TestOnlyCloseAndCancelEndAPermit(t *testing.T) {
	for _, s := range way {
		for _, end := range s.To {
			if end.IsOver() && s.Act != KindClose && s.Act != KindCancel {
				t.Errorf("%s ends a permit from %s", s.Act, s.From)
			}
		}
		if s.From.IsOver() {
			t.Errorf("%s can follow on a permit that is %s", s.Act, s.From)
		}
	}
}

func TestEveryStateHasATextThatReadsBack(t *testing.T) {
	for _, s := range States() {
		if got, ok := ParseState(s.String()); !ok || got != s {
			t.Errorf("ParseState(%q) = %v, %v, want %v, true", s.String(), got, ok, s)
		}
	}
	if _, ok := ParseState("unset"); ok {
		t.Error(`ParseState("unset") is taken for a state`)
	}
}
