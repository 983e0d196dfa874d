package plantfile

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"stillwatch/isolation"
)

// faulty returns the text of one case: the fault is added at the end of the part of small that it belongs to.
func faulty(at, add, text string) string {
	if text != "" {
		return text
	}
	from := strings.Index(small, at+":\n") + len(at) + 2
	end := len(small)
	for i := from; i < len(small); i++ {
		if small[i-1] == '\n' && small[i] != ' ' {
			end = i
			break
		}
	}
	return small[:end] + "  " + add + "\n" + small[end:]
}

func TestSmallPlantIsSound(t *testing.T) {
	if _, err := Read("small.yaml", []byte(small)); err != nil {
		t.Fatalf("Read(small) = %v, want no error: every refusal below rests on it", err)
	}
}

func TestRefusalsNameLineColumnAndWords(t *testing.T) {
	var all strings.Builder
	for _, tc := range plantFaults {
		text := faulty(tc.at, tc.add, tc.text)
		p, err := Read("plant.yaml", []byte(text))
		if err == nil || p != nil {
			t.Errorf("%s: Read = plant %v, error %v; want nil and an error", tc.name, p != nil, err)
			continue
		}
		fmt.Fprintf(&all, "== %s\n%v\n\n", tc.name, err)
		checkPositions(t, tc.name, text, err)
	}
	golden(t, "testdata/plant-refusals.golden", all.String())
}

// checkPositions holds every fault's place against the file: inside it, in the order of the lines, and at the added
// line where the case adds one.
func checkPositions(t *testing.T, name, text string, err error) {
	t.Helper()
	var es *FileErrors
	if !errors.As(err, &es) || len(es.List) == 0 {
		t.Errorf("%s: error is %T, want *FileErrors inside", name, err)
		return
	}
	lines := strings.Split(text, "\n")
	last := 0
	for _, e := range es.List {
		if e.Line < last || e.Line > len(lines) || (e.Line > 0 && e.Column < 1) {
			t.Errorf("%s: place %d:%d after line %d of %d", name, e.Line, e.Column, last, len(lines))
		}
		last = e.Line
		if e.Line > 0 && e.Excerpt == "" {
			t.Errorf("%s: no words of the file around %d:%d", name, e.Line, e.Column)
		}
	}
}

func TestRefusalPointsAtTheAddedLine(t *testing.T) {
	for _, tc := range plantFaults {
		if tc.text != "" {
			continue
		}
		text := faulty(tc.at, tc.add, "")
		want := 1 + strings.Count(text[:strings.Index(text, tc.add)], "\n")
		_, err := Read("plant.yaml", []byte(text))
		var es *FileErrors
		if !errors.As(err, &es) {
			t.Errorf("%s: Read = %v, want a refusal", tc.name, err)
			continue
		}
		for _, e := range es.List {
			if e.Line != want {
				t.Errorf("%s: fault in line %d (%s), want only line %d", tc.name, e.Line, e.Words, want)
			}
		}
	}
}

func TestSeveralFaultsAreCollectedUpToTwenty(t *testing.T) {
	text := "nodes:\n" + strings.Repeat("  - {kind: valve}\n", 1000)
	_, err := Read("plant.yaml", []byte(text))
	var es *FileErrors
	if !errors.As(err, &es) {
		t.Fatalf("Read = %v, want a refusal", err)
	}
	if got, more := len(es.List), es.More; got != 20 || more != 980 {
		t.Errorf("faults kept, counted beyond = %d, %d, want 20, 980", got, more)
	}
	if es.List[0].Line != 2 || es.List[19].Line != 21 {
		t.Errorf("lines %d … %d, want 2 … 21: the first in the file are kept", es.List[0].Line, es.List[19].Line)
	}
}

func TestTooLargeAFileIsRefusedUnread(t *testing.T) {
	_, err := Read("plant.yaml", make([]byte, MaxFileBytes+1))
	if err == nil || !strings.Contains(err.Error(), "8388609 bytes") {
		t.Errorf("Read(8 MiB + 1) = %v, want the size", err)
	}
}

// TestHostileFilesEndQuickly feeds what makes careless YAML readers run away; the test's own time limit is the check.
func TestHostileFilesEndQuickly(t *testing.T) {
	const n = 1 << 20
	for name, text := range map[string]string{
		"brackets":         "nodes: " + strings.Repeat("[", n),
		"braces":           "nodes: " + strings.Repeat("{a: ", n/4),
		"dashes":           strings.Repeat("- ", n/2),
		"colons":           strings.Repeat("a: ", n/3),
		"question marks":   strings.Repeat("? ", n/2),
		"one long word":    "plant: " + strings.Repeat("x", n),
		"one long string":  "plant: \"" + strings.Repeat("x", n) + "\"",
		"one long comment": "#" + strings.Repeat("x", n),
		"deep indent":      deep(1200),
		"aliases":          "a: &a [x,x]\nb: &b [*a,*a]\nc: &c [*b,*b]\nd: [*c,*c]\n",
		"empty lines":      "plant: x\n" + strings.Repeat("\n", n),
	} {
		if _, err := Read(name, []byte(text)); err == nil {
			t.Errorf("%s: Read = no error, want a refusal", name)
		}
	}
}

func deep(n int) string {
	var b strings.Builder
	for i := range n {
		b.WriteString(strings.Repeat(" ", i) + "a:\n")
	}
	return b.String()
}

func TestLineEndsAndMarksOfOtherSystemsChangeNothing(t *testing.T) {
	want, err := Read("plant.yaml", []byte(whole))
	if err != nil {
		t.Fatal(err)
	}
	got, err := Read("plant.yaml", []byte("\ufeff"+strings.ReplaceAll(whole, "\n", "\r\n")))
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(listing(want), listing(got)); d != "" {
		t.Errorf("plant with CR LF and a byte order mark (-want +got):\n%s", d)
	}
	_, err = Read("plant.yaml", []byte("\ufeffplnt: x\r\nnodes: []\r\n"))
	if want := "1:1: plant file: unknown key \"plnt\"; did you mean \"plant\"?\n>     1 | plnt: x\n        | " +
		"^"; err == nil ||
		!strings.Contains(err.Error(), want) {
		t.Errorf("Read = %v, want %s", err, want)
	}
}

func TestPlainHandWrittenPlantLoads(t *testing.T) {
	p, err := Read("plant.yaml", []byte(`nodes:
- {id: main, kind: source, energy: electricity}
- {id: tank, kind: source, energy: Fuel Oil}
- {id: V1, kind: valve}
- {id: Q1, kind: breaker, normal: open}
- {id: B1, kind: blank}
- {id: SP, kind: spool}
- {id: D, kind: opening}
- {id: A, kind: automatic valve}
- {id: NR, kind: check_valve}
- {id: 12, kind: consumer}
links: [{a: main, b: Q1}, {a: Q1, b: 12}, {a: tank, b: V1}, {a: V1, b: 12, one_way: true}]
jobs: [{id: j, opens: 12}]
`))
	if err != nil {
		t.Fatal(err)
	}
	type row struct {
		Kind     isolation.Kind
		Energy   isolation.Energy
		Normal   isolation.Position
		Lockable bool
		Role     string
	}
	got := map[isolation.NodeID]row{}
	for _, n := range p.Nodes {
		got[n.ID] = row{n.Kind, n.Energy, n.Normal, n.Lockable, n.Role}
	}
	want := map[isolation.NodeID]row{
		"main": {Kind: isolation.Source, Energy: "electrical"}, "tank": {Kind: isolation.Source, Energy: "fuel"},
		"V1": {
			isolation.Valve,
			"",
			isolation.Open,
			true,
			"",
		}, "Q1": {isolation.Breaker, "", isolation.Open, true, ""}, "B1": {isolation.Blank, "", isolation.Removed, true, ""},
		"SP": {
			isolation.Spool,
			"",
			isolation.Fitted,
			true,
			"",
		}, "D": {isolation.Opening, "", isolation.Closed, false, "drain"},
		"A": {
			isolation.AutomaticValve,
			"",
			isolation.Open,
			false,
			"",
		}, "NR": {Kind: isolation.CheckValve}, "12": {Kind: isolation.Consumer},
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("nodes (-want +got):\n%s", d)
	}
	j := p.Job("j")
	if j == nil || j.Exposure != isolation.OpenUp || j.Title != "j" || !slices.Equal(j.Opens, []isolation.NodeID{"12"}) {
		t.Errorf("job = %+v, want exposure open, title j, opens 12", j)
	}
	if !p.Links[3].OneWay || p.Links[2].OneWay {
		t.Errorf("one_way of links 3, 4 = %v, %v, want false, true", p.Links[2].OneWay, p.Links[3].OneWay)
	}
}

func TestEveryKeyOfTheFormatReachesThePlant(t *testing.T) {
	p, err := Read("plant.yaml", []byte(whole))
	if err != nil {
		t.Fatal(err)
	}
	golden(t, "testdata/whole-plant.golden", listing(p))
	if got, want := p.SHA256, sha(whole); got != want {
		t.Errorf("SHA256 = %s, want %s", got, want)
	}
	if string(p.Text) != whole {
		t.Errorf("Text = %d bytes, want the file's %d", len(p.Text), len(whole))
	}
}

// whole uses every key that the format has.
const whole = `plant: Whole
fluids:
  HFO: {family: residual fuel, density_15: 985, viscosity: [{at: 50, cst: 380}, {at: 100, cst: 35}], tension: 0.030}
nodes:
  - {id: tank, kind: source, name: Settling tank, energy: fuel, fluid: HFO, gauge_bar: 0.6, temp_c: 75, elevation_m: 9.2}
  - {id: board, kind: source, energy: electrical, volt: 440, earthed: true}
  - {id: E1, kind: earth, lockable: true}
  - {id: V1, kind: valve, name: Oil inlet, lockable: true, normal: closed, awkward: 3, place: {deck: 4, frame: 32, side: port}}
  - {id: Q1, kind: breaker, lockable: false, measure: the fuses are taken out, volt: 440}
  - {id: A1, kind: automatic-valve, lockable: false, normal: closed, measure: handwheel wired, fails: closed, supply: V2}
  - {id: V2, kind: valve}
  - {id: bowl, kind: vessel, fluid: HFO, volume_l: 30, elevation_m: 3.9, top_m: 4.6, temp_c: 98, gauge_bar: 1.5, heated_by: M1, lifts_bar: 2.5, drive: M1}
  - {id: D1, kind: opening, role: vent, bore_mm: 15, elevation_m: 4.7}
  - {id: M1, kind: consumer, energy: electrical, volt: 440}
  - {id: S0, kind: switch}
links:
  - {a: tank, b: V1, bore_mm: 50, length_m: 6.5, invert_m: [8.8, 4.1], one_way: true, air_gap: true}
machines:
  - id: S1
    name: Separator 1
    nodes: [bowl, M1]
    standby: S2
    controls: [S0]
    stored:
      - {kind: rotation, name: bowl, speed_rpm: 7200, coast_down_s: 1500}
      - {kind: heat, temp_c: 98, mass_kg: 900, area_m2: 4}
      - {kind: charge, volt: 560, resistance_ohm: 40000, capacitance_uf: 2200}
      - {kind: gas, gauge_bar: 30, volume_l: 250}
      - {kind: spring, restraint: pin in}
      - {kind: weight, mass_kg: 120, restraint: chain block}
      - {kind: liquid, volume_l: 30, gauge_bar: 1.5, temp_c: 98}
  - {id: S2, standby: S1}
jobs:
  - {id: bowl, machine: S1, title: Bowl overhaul, opens: [bowl], exposure: hot work, hazards: [hot oil], precautions: [fan on], protective: [gloves],
     live: [{id: M1, because: it stands apart}], kinds: [aloft, live-work], live_because: only a live test finds it, adjoining: [void space 3],
     gases: [{gas: benzene, limit_ppm: 0.5, because: the cargo's data sheet}]}
  - {id: pipe, opens: [bowl], kept_off: [M1], deviations: [{source: tank, demand: single, because: one valve, measures: [a watch]}],
     holds: [{id: bowl, minutes: 30, because: sludge comes late}]}
`

func TestNotesNameWhatAPersonShouldLookAt(t *testing.T) {
	p, err := Read("plant.yaml", []byte(`nodes:
  - {id: tank, kind: source, energy: oil}
  - {id: V1, kind: valve, place: {deck: 1, frame: 2}}
  - {id: v1, kind: valve, lockable: false, place: {deck: 1, frame: 2, side: port}}
  - {id: A1, kind: automatic-valve}
  - {id: D1, kind: opening}
  - {id: Q1, kind: breaker, lockable: true}
  - {id: pump, kind: vessel}
links:
  - {a: tank, b: V1}
  - {a: V1, b: pump, bore_mm: 50, length_m: 2, invert_m: [1, 1]}
  - {a: pump, b: V1}
  - {a: Q1, b: v1}
machines:
  - {id: P1, nodes: [pump]}
  - {id: P2, nodes: [pump]}
  - {id: P3}
`))
	if err != nil {
		t.Fatal(err)
	}
	golden(t, "testdata/notes.golden", strings.Join(p.Remarks, "\n")+"\n")
}

func TestAFileWithNothingToSayHasNoNotes(t *testing.T) {
	p := mustRead(t, "../../testdata/plants/tiny.yaml")
	if n := p.Remarks; len(n) != 0 {
		t.Errorf("Notes() = %q, want none", n)
	}
}

func mustRead(t *testing.T, path string) *isolation.Plant {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	p, err := Read(filepath.Base(path), text)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestSamplePlantsLoadOrAreRefusedAsTheirNameSays(t *testing.T) {
	files, _ := filepath.Glob("../../testdata/plants/*.yaml")
	if len(files) < 20 {
		t.Fatalf("found %d plants, want the samples", len(files))
	}
	for _, f := range files {
		text, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		_, err = Read(f, text)
		if broken := strings.HasPrefix(filepath.Base(f), "broken-"); broken != (err != nil) {
			t.Errorf("Read(%s) = %v", f, err)
		}
	}
}

// BenchmarkRead reads a made-up plant of 10 000 nodes and as many links, about 1 MB.
func BenchmarkRead(b *testing.B) {
	var text strings.Builder
	text.WriteString("nodes:\n  - {id: tank, kind: source, energy: fuel}\n")
	for i := range 10_000 {
		fmt.Fprintf(&text, "  - {id: V%d, kind: valve, lockable: true, place: {deck: 2, frame: %d, side: port}}\n", i, i%200)
	}
	text.WriteString("links:\n  - {a: tank, b: V0}\n")
	for i := range 9_999 {
		fmt.Fprintf(&text, "  - {a: V%d, b: V%d, bore_mm: 50, length_m: 2}\n", i, i+1)
	}
	file := []byte(text.String())
	b.SetBytes(int64(len(file)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Read("plant.yaml", file); err != nil {
			b.Fatal(err)
		}
	}
}

// TestManyParagraphsAreNoIndentation holds the guard against counting what does not nest.
func TestManyParagraphsAreNoIndentation(t *testing.T) {
	var text strings.Builder
	text.WriteString("plant: Long\nnodes:\n")
	for i := range 60 {
		fmt.Fprintf(&text, "\n  # Paragraph %d\n  - {id: V%d, kind: valve}\n\n  - id: W%d\n    kind: valve\n", i, i, i)
	}
	if _, err := Read("long.yaml", []byte(text.String())); err != nil {
		t.Errorf("Read of a file with many paragraphs = %v, want nil", err)
	}
}
