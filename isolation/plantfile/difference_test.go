package plantfile

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"stillwatch/isolation"
)

const smallPlant = `# a pump
plant: Small
nodes:
  - {id: T, kind: source, energy: fuel}
  - {id: V1, kind: valve, name: Suction, place: {deck: 1, frame: 11, side: port}}   # by the ladder
  - id: V2
    kind: valve
    name: 'Discharge, upper'
    place:
      deck: 1
      frame: 12
      side: port
  - {id: P, kind: vessel}
links:
  - {a: T, b: V1}
  - {a: V1, b: P}
  - {a: V1, b: P}
  - {a: P, b: V2}
jobs:
  - {id: seal, opens: [P]}
`

func readText(t *testing.T, text string) *isolation.Plant {
	t.Helper()
	p, err := Read("plant.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func differencesIn(t *testing.T, before, after string) string {
	t.Helper()
	var out []string
	for _, d := range Differences(readText(t, before), readText(t, after)) {
		out = append(out, d.String())
	}
	return strings.Join(out, "\n")
}

func TestDifferencesAreToldByTheWordsOfTheFiles(t *testing.T) {
	swap := func(pairs ...string) string { return strings.NewReplacer(pairs...).Replace(smallPlant) }
	for _, tc := range []struct{ name, after, want string }{
		{"none", smallPlant, ""},
		{"a remark, blanks and another way of writing", swap("# a pump\n", "", "'Discharge, upper'", `"Discharge, upper"`,
			"{id: V1, kind: valve, ", "{kind: valve,  id: V1, "), ""},
		{"a name", swap("Suction", "Pump suction"), `node V1 changed: name "Suction" becomes "Pump suction"`},
		{"a place, of which one part is another", swap("frame: 12", "frame: 13"),
			`node V2 changed: place "deck: 1, frame: 12, side: port" becomes "deck: 1, frame: 13, side: port"`},
		{"a key more", swap("{id: P, kind: vessel}", "{id: P, kind: vessel, volume_l: 5}"),
			`node P changed: volume_l is now "5"`},
		{"a key less", swap(", name: Suction", ""), `node V1 changed: name is no longer there, it was "Suction"`},
		{"one of two pipes", swap("  - {a: V1, b: P}\n  - {a: V1, b: P}\n", "  - {a: V1, b: P}\n"),
			"link V1 – P (2) removed"},
		{"a job more and the title", swap("plant: Small", "plant: Smaller") + "  - {id: gasket, opens: [P, V2]}\n",
			"plant changed: title \"Small\" becomes \"Smaller\"\njob gasket added"},
	} {
		if got := differencesIn(t, smallPlant, tc.after); got != tc.want {
			t.Errorf("%s:\n%s\nwant\n%s", tc.name, got, tc.want)
		}
	}
	pipe := Difference{Of: "link", ID: "V1 – P (2)", Fate: Removed}
	if ends := pipe.Nodes(); len(ends) != 2 || ends[0] != "V1" || ends[1] != "P" {
		t.Errorf("the ends of %s are %v", pipe, ends)
	}
	if all := Differences(nil, readText(t, smallPlant)); len(all) != 10 || all[0].Fate != Added {
		t.Errorf("a first plant has %d differences, want each of its 10 entries added: %v", len(all), all)
	}
}

func TestAmendChangesWhatIsAskedAndNothingElse(t *testing.T) {
	starboard := PlaceWords(isolation.Place{Deck: 2, Frame: 9, Side: "starboard"})
	for _, tc := range []struct {
		name string
		id   isolation.NodeID
		set  map[string]string
		from string // what of the text becomes …
		to   string
	}{
		{"a name in braces", "V1", map[string]string{"name": `Suction "A", port`}, "name: Suction", `name: "Suction \"A\", port"`},
		{"a name below its id", "V2", map[string]string{"name": "Discharge"}, "'Discharge, upper'", `"Discharge"`},
		{"a place in braces", "V1", map[string]string{"place": starboard}, "{deck: 1, frame: 11, side: port}",
			"{deck: 2, frame: 9, side: starboard}"},
		{"a key that is not there, in braces", "V1", map[string]string{"lockable": "true"}, "id: V1,",
			"id: V1, lockable: true,"},
		{"a key that is not there, below its id", "V2", map[string]string{"lockable": "true"}, "id: V2\n",
			"id: V2\n    lockable: true\n"},
		{"what is so already", "V1", map[string]string{"name": "Suction"}, "name: Suction", `name: "Suction"`},
	} {
		got, err := Amend(readText(t, smallPlant), tc.id, tc.set)
		if err != nil {
			t.Errorf("%s: %v", tc.name, err)
			continue
		}
		if want := strings.Replace(smallPlant, tc.from, tc.to, 1); string(got.Text) != want {
			t.Errorf("%s:\n%s\nwant\n%s", tc.name, got.Text, want)
		}
	}
}

func TestAmendRefusesWhatItCannotDoSafely(t *testing.T) {
	for _, tc := range []struct {
		name string
		id   isolation.NodeID
		set  map[string]string
		want string
	}{
		{"no such node", "V9", map[string]string{"name": "x"}, "no node V9"},
		{"a place over several lines", "V2", map[string]string{"place": "deck: 1, frame: 2, side: port"},
			"more than one line"},
		{"a place that is none", "V1", map[string]string{"place": "deck: one, frame: 2, side: port"}, "deck"},
		{"words that carry another key", "V1", map[string]string{"lockable": "true, normal: closed"}, "would change more"},
	} {
		_, err := Amend(readText(t, smallPlant), tc.id, tc.set)
		var faults *FileErrors
		if err == nil || !strings.Contains(err.Error(), tc.want) || !errors.Is(err, ErrAmend) && !errors.As(err, &faults) {
			t.Errorf("%s: %v, want %q", tc.name, err, tc.want)
		}
	}
}

// Every point of the plants that there are takes a new name, and every place in braces a new one.
func TestAmendKnowsTheFilesThatThereAre(t *testing.T) {
	for _, file := range []string{"../../testdata/plants/tiny.yaml", "../../cmd/stillwatch/demo/plant.yaml"} {
		text, err := os.ReadFile(filepath.FromSlash(file))
		if err != nil {
			t.Fatal(err)
		}
		p := readText(t, string(text))
		for i, n := range p.Points() {
			if i%10 != 0 { // a file is read twice for each
				continue
			}
			set := map[string]string{"name": "Another name", "place": "deck: 9, frame: 99, side: centre"}
			if got, err := Amend(p, n.ID, set); err != nil {
				t.Errorf("%s: %v", n.ID, err)
			} else if m := got.Node(n.ID); m.Name != "Another name" || m.Place.Frame != 99 {
				t.Errorf("%s is %q at %v afterwards", n.ID, m.Name, m.Place)
			}
		}
	}
}
