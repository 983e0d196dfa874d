package main

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func plantRun(t *testing.T, args ...string) (status int, out, errOut string) {
	t.Helper()
	var o, e bytes.Buffer
	status = run(append([]string{"plant"}, args...), &o, &e)
	return status, o.String(), e.String()
}

func TestPlantCheckSaysSoundOrWhereNot(t *testing.T) {
	plants := filepath.Join("..", "..", "testdata", "plants")
	status, out, errOut := plantRun(t, "check", filepath.Join(plants, "tiny.yaml"))
	if status != 0 || !strings.Contains(out, "is sound: 10 nodes (3 points), 8 links") || errOut != "" {
		t.Errorf("check tiny = %d, %q, %q; want 0 and the counts", status, out, errOut)
	}
	status, out, errOut = plantRun(t, "check", filepath.Join(plants, "broken-unknown-key.yaml"))
	if status != 1 || out != "" || !strings.Contains(errOut,
		`broken-unknown-key.yaml:10:47: node V1: unknown key "lokable"; did you mean "lockable"?`) ||
		!strings.Contains(errOut, "^") {
		t.Errorf("check broken = %d, %q, %q; want 1, nothing, and line, column and the words around it", status, out, errOut)
	}
	status, out, _ = plantRun(t, "check", filepath.Join("demo", "plant.yaml"))
	if status != 0 || !strings.Contains(out, "To look at:") {
		t.Errorf("check demo = %d, %q; want 0 and notes", status, out)
	}
}

func TestPlantShowCountsWhatIsThere(t *testing.T) {
	status, out, _ := plantRun(t, "show", filepath.Join("demo", "plant.yaml"))
	for _, want := range []string{"sha256 ", "breaker", "Sources of energy:", "job S1-bowl:"} {
		if status != 0 || !strings.Contains(out, want) {
			t.Errorf("show demo = %d without %q:\n%s", status, want, out)
		}
	}
}

func TestPlantCheckFindsSourcesWithoutARule(t *testing.T) {
	dir := t.TempDir()
	rules := filepath.Join(dir, "rules.yaml")
	if err := os.WriteFile(rules, []byte("rules:\n  - {energy: electrical, demand: single, because: an example}\n"),
		0o644); err != nil {
		t.Fatal(err)
	}
	tiny := filepath.Join("..", "..", "testdata", "plants", "tiny.yaml")
	status, out, errOut := plantRun(t, "check", tiny, "--rules", rules)
	if status != 1 || out != "" || !strings.Contains(errOut, "no rule says how") || !strings.Contains(errOut, "(fuel)") ||
		strings.Contains(errOut, "(electrical)") {
		t.Errorf("check with rules for electricity alone = %d, %q, %q; want 1 and the fuel sources", status, out, errOut)
	}
	status, out, errOut = plantRun(t, "check", "--rules", filepath.Join("..", "..", "isolation", "plantfile", "rules",
		"shipped.yaml"),
		tiny)
	if status != 0 || !strings.Contains(out, "one for every source and job") {
		t.Errorf("check with the shipped rules = %d, %q, %q; want 0", status, out, errOut)
	}
}

func TestPlantShowDraws(t *testing.T) {
	svg := filepath.Join(t.TempDir(), "plant.svg")
	status, _, errOut := plantRun(t, "show", filepath.Join("..", "..", "testdata", "plants", "tiny.yaml"), "--svg", svg)
	drawn, err := os.ReadFile(svg)
	if status != 0 || err != nil || !bytes.Contains(drawn, []byte("<svg")) {
		t.Errorf("show --svg = %d, %q, %v; want a drawing", status, errOut, err)
	}
}

func TestPlantTemplateComesBackByImport(t *testing.T) {
	dir := t.TempDir()
	book, file := filepath.Join(dir, "t.xlsx"), filepath.Join(dir, "t.yaml")
	if status, _, errOut := plantRun(t, "template", book); status != 0 {
		t.Fatalf("template = %d, %q", status, errOut)
	}
	if status, _, errOut := plantRun(t, "import", book, "-o", file); status != 0 || !strings.Contains(errOut, "11 nodes") {
		t.Fatalf("import = %d, %q; want the counts", status, errOut)
	}
	if status, _, errOut := plantRun(t, "check", file); status != 0 {
		t.Errorf("check of the import = %d, %q", status, errOut)
	}
	if status, _, errOut := plantRun(t, "import", "-o", file, book); status != 1 || !strings.Contains(errOut, "exists") {
		t.Errorf("import over a file = %d, %q; want a refusal", status, errOut)
	}
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if status, out, _ := plantRun(t, "import", book); status != 0 || out != string(text) {
		t.Errorf("import to the screen = %d, %d bytes; want the %d of the file", status, len(out), len(text))
	}
}

// TestPlantImportAsksAndTakesTheAnswers imports a diagram as its help says: ask, fill in, import.
func TestPlantImportAsksAndTakesTheAnswers(t *testing.T) {
	const diagram = "../../isolation/exchange/testdata/skid.xml"
	dir := t.TempDir()
	file := filepath.Join(dir, "plant.yaml")
	if status, out, errOut := plantRun(t, "import", diagram); status != 1 || out != "" ||
		!strings.Contains(errOut, "need an answer") || !strings.Contains(errOut, "GateValve-1, normal: ") {
		t.Fatalf("import without answers = %d, %q, %q; want 1 and the questions", status, out, errOut)
	}
	last := ""
	for round := 0; ; round++ { // an answer can lead to further questions
		ask := filepath.Join(dir, fmt.Sprintf("ask-%d.csv", round))
		args := []string{"import", diagram, "--questions", ask}
		if last != "" {
			args = append(args, "--answers", last)
		}
		status, out, errOut := plantRun(t, args...)
		if status != 0 || !strings.Contains(errOut, "wrote "+ask) || round > 5 {
			t.Fatalf("round %d: import --questions = %d, %q", round, status, errOut)
		}
		if out != "" { // nothing that is needed is open
			break
		}
		fillIn(t, ask)
		last = ask
	}
	if status, _, errOut := plantRun(t, "import", diagram, "--answers", last, "-o", file); status != 0 {
		t.Fatalf("import --answers = %d, %q", status, errOut)
	}
	if status, out, errOut := plantRun(t, "check", file); status != 0 {
		t.Errorf("check of the import = %d, %q, %q", status, out, errOut)
	}
	var out, errOut bytes.Buffer
	if got := run([]string{"plan", "--plant", file, "--job", "P11-open", "--json"}, &out, &errOut); got != 0 ||
		!strings.Contains(out.String(), `"M11-Q1"`) {
		t.Errorf("plan of the import = %d, %q, %q; want the motor's breaker in it", got, out.String(), errOut.String())
	}
}

// fillIn writes answers into the column of a file of questions, as a person does.
func fillIn(t *testing.T, file string) {
	t.Helper()
	known := map[string]string{"normal": "open", "lockable": "yes", "energy": "fuel", "gauge_bar": "3", "temp_c": "60",
		"lifts_bar": "2", "volt": "440", "drive": "M11", "breaker": "M11-Q1", "board": "board-440", "beyond": "drain",
		"fails": "closed", "T10 kind": "source", "Wafer-1 kind": "valve", "P11 exposure": "open", "Out-1 valve": "V-2"}
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range rows[1:] { // line, id, field, needed, question, answer
		if word := known[r[1]+" "+r[2]]; word != "" {
			r[5] = word
		} else if r[3] == "yes" {
			r[5] = known[r[2]]
		}
	}
	var b bytes.Buffer
	if err := csv.NewWriter(&b).WriteAll(rows); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
}

func TestPlantRefusesWhatItCannotDo(t *testing.T) {
	for _, tc := range []struct {
		args []string
		want string
	}{
		{nil, "Usage:"},
		{[]string{"chekc"}, `there is no command "chekc"`},
		{[]string{"check"}, "name the plant file"},
		{[]string{"check", "a", "b"}, `"b" is not understood`},
		{[]string{"check", "--sgv", "x", "a"}, "there is no flag --sgv"},
		{[]string{"check", filepath.Join(t.TempDir(), "none.yaml")}, "no such file"},
		{[]string{"import", "plant_test.go"}, "only workbooks"},
		{[]string{"import", "testdata/plant.xlsx", "--answers", "a.csv"}, "no such file"},
		{[]string{"import", "../../isolation/exchange/testdata/pumproom.graphml", "--answers", "a.csv"}, "leave questions"},
		{[]string{"import", "../../isolation/exchange/testdata/skid.xml", "--answers", "none.csv"}, "none.csv"},
		{[]string{"template", "out.ods"}, "ends in .xlsx"},
	} {
		if status, out, errOut := plantRun(t, tc.args...); status != 1 || out != "" || !strings.Contains(errOut, tc.want) {
			t.Errorf("plant %q = %d, %q, %q; want 1, nothing, %q", tc.args, status, out, errOut, tc.want)
		}
	}
	if status, out, _ := plantRun(t, "--help"); status != 0 || !strings.Contains(out, "plant template") {
		t.Errorf("plant --help = %d, %q", status, out)
	}
}
