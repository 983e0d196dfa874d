package exchange

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestDrawnGraphGivesTheSamePlantAsTheFile(t *testing.T) {
	data, err := os.ReadFile("testdata/pumproom.graphml")
	if err != nil {
		t.Fatal(err)
	}
	got, err := ReadGraphML("pumproom.graphml", data)
	if err != nil {
		t.Fatal(err)
	}
	want := readPlant(t, "testdata/pumproom.yaml")
	if d := cmp.Diff(want, got, bare); d != "" {
		t.Errorf("plant of the drawing (-want +got):\n%s\n%s", d, got.Text)
	}
	if !strings.Contains(string(got.Text), "# left out: colour, x, y") {
		t.Errorf("the text does not say what was left out:\n%s", got.Text)
	}
}

const head = `<?xml version="1.0" encoding="UTF-8"?>
<graphml xmlns="http://graphml.graphdrawing.org/xmlns">
  <key id="k" for="node" attr.name="kind"/><key id="e" for="node" attr.name="energy"/><key id="b" for="all" attr.name="bore_mm"/>
  <graph edgedefault="directed">
    <node id="tank"><data key="k">source</data><data key="e">fuel</data></node>
    <node id="V1"><data key="k">valve</data></node>
`

func TestGraphRefusalsNameTheLine(t *testing.T) {
	closed := "  </graph>\n</graphml>\n"
	for _, tc := range []struct{ name, text, want string }{
		{"empty", "", "g: line 1: there is no <graphml> in it"},
		{"not XML", "nodes:\n", "g: line 2: there is no <graphml> in it"},
		{"another format", "<svg></svg>", "g: line 1: it begins with <svg>"},
		{"cut short", head, "g: line 7: not XML"},
		{"no nodes", "<graphml><graph/></graphml>", "g: the graph has no nodes"},
		{"another encoding", `<?xml version="1.0" encoding="ISO-8859-1"?><graphml/>`,
			`g: line 1: not XML: xml: opening charset "ISO-8859-1": the file is in ISO-8859-1; save it as UTF-8`},
		{"own entities", "<!DOCTYPE graphml [<!ENTITY a \"b\">]>\n<graphml><graph id=\"&a;\"/></graphml>",
			"g: line 2: not XML"},
		{"node without kind", head + `    <node id="x"/>` + "\n" + closed, "g: line 7: node x: kind is missing"},
		{"node without id", head + `    <node/>` + "\n" + closed, "g: line 7: the node has no id"},
		{"id twice", head + `    <node id="V1"><data key="k">valve</data></node>` + "\n" + closed,
			`g: line 7: the id "V1" is already that of the node at line 6`},
		{"misspelt kind", head + `    <node id="x">` + "\n      <data key=\"k\">vavle</data></node>\n" + closed,
			`g: line 8: node x: unknown kind "vavle"; did you mean "valve"?`},
		{"edge to nothing", head + `    <edge source="V1" target="pump"/>` + "\n" + closed,
			`g: line 7: the edge ends at "pump", which is not a node`},
		{"edge to itself", head + `    <edge source="V1" target="V1"/>` + "\n" + closed,
			"g: line 7: link V1 to V1: it joins V1 to itself"},
		{"negative bore", head + `    <edge source="tank" target="V1"><data key="b">-4</data></edge>` + "\n" + closed,
			"g: line 7: link tank to V1: bore_mm -4 is out of reach"},
		{"hyperedge", head + `    <hyperedge><endpoint node="V1"/></hyperedge>` + "\n" + closed,
			"g: line 7: a hyperedge joins many nodes at once"},
		{"misspelt attribute", strings.Replace(head, `attr.name="energy"`, `attr.name="enregy"`, 1) + closed,
			`g: line 5: unknown attribute "enregy"; did you mean "energy"?`},
		{"stored without its kind", head + `    <node id="x"><data key="k">stored</data></node>` + "\n" + closed,
			"g: line 7: a stored energy says its kind"},
		{"job joined to a job", head +
			`    <node id="x"><data key="k">job</data></node><node id="y"><data key="k">job</data></node><edge source="x" target="y"/>` + "\n" + closed, "g: line 7: an edge between a job and a job says nothing"},
	} {
		_, err := ReadGraphML("g", []byte(tc.text))
		var es *RowErrors
		if !errors.As(err, &es) || !strings.HasPrefix(es.List[0].Error(), tc.want) {
			t.Errorf("%s: ReadGraphML = %v, want %s…", tc.name, err, tc.want)
		}
	}
}

func TestAnArrowAloneIsNotOneWay(t *testing.T) {
	p, err := ReadGraphML("g", []byte(head+`<edge source="tank" target="V1" directed="true"/></graph></graphml>`))
	if err != nil {
		t.Fatal(err)
	}
	if p.Links[0].OneWay {
		t.Error("a drawn arrow made the link one-way; flow could come back unseen")
	}
}

func TestDeepNestingOfGraphsIsRefused(t *testing.T) {
	var b strings.Builder
	b.WriteString("<graphml>")
	for i := range 5000 {
		fmt.Fprintf(&b, `<graph><node id="n%d">`, i)
	}
	if _, err := ReadGraphML("g", []byte(b.String())); err == nil || !strings.Contains(err.Error(), "deep") {
		t.Errorf("ReadGraphML(5000 deep) = %v, want a refusal", err)
	}
}

func FuzzReadGraphML(f *testing.F) {
	files, _ := filepath.Glob("testdata/*.graphml")
	for _, name := range files {
		if data, err := os.ReadFile(name); err == nil {
			f.Add(data)
		}
	}
	f.Add([]byte(head))
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := ReadGraphML("f", data)
		if (p == nil) == (err == nil) {
			t.Fatalf("ReadGraphML = plant %v, error %v; want one of them", p != nil, err)
		}
	})
}
