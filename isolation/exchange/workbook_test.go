package exchange

import (
	"archive/zip"
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/xuri/excelize/v2"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
)

// bare compares plants without what is bound to one file: its text and places.
var bare = cmp.Options{
	cmpopts.IgnoreUnexported(isolation.Plant{}), cmpopts.IgnoreFields(isolation.Plant{}, "SHA256", "Text"),
	cmpopts.IgnoreFields(isolation.Node{}, "Line", "Column"), cmpopts.IgnoreFields(isolation.Link{}, "Line", "Column"),
	cmpopts.IgnoreFields(isolation.Machine{}, "Line", "Column"), cmpopts.IgnoreFields(isolation.Job{}, "Line", "Column"),
	cmpopts.EquateEmpty(),
}

func readPlant(t *testing.T, path string) *isolation.Plant {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	p, err := plantfile.Read(path, text)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestWorkbookGivesThePlantBack(t *testing.T) {
	hazards, err := filepath.Glob("../../testdata/plants/hazards/*.yaml")
	if err != nil || len(hazards) == 0 {
		t.Fatal("no plants with hazards", err)
	}
	for _, path := range append(hazards, "example.yaml", "../../cmd/stillwatch/demo/plant.yaml",
		"../../testdata/plants/tiny.yaml", "../../testdata/plants/block-and-bleed.yaml",
		"testdata/every-stored-energy.yaml") {
		want := readPlant(t, path)
		var buf bytes.Buffer
		if err := WriteXLSX(&buf, want); err != nil {
			t.Fatal(err)
		}
		got, err := ReadXLSX("plant.xlsx", buf.Bytes())
		if err != nil {
			t.Errorf("%s: ReadXLSX(WriteXLSX(plant)) = %v", path, err)
			continue
		}
		if d := cmp.Diff(want, got, bare); d != "" {
			t.Errorf("%s: plant through a workbook (-want +got):\n%s", path, d)
		}
		again, err := plantfile.Read("again.yaml", got.Text)
		if err != nil || again.SHA256 != got.SHA256 {
			t.Errorf("%s: the text of the plant does not read again: %v", path, err)
		}
	}
}

func TestTemplateIsAPlant(t *testing.T) {
	var buf bytes.Buffer
	if err := WriteTemplate(&buf); err != nil {
		t.Fatal(err)
	}
	p, err := ReadXLSX("template.xlsx", buf.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Nodes) < 8 || len(p.Jobs) != 1 || len(p.Remarks) != 0 {
		t.Errorf("template has %d nodes, %d jobs, notes %q; want a small plant with a job and nothing to note", len(p.Nodes),
			len(p.Jobs), p.Remarks)
	}
}

// workbook writes sheets of rows.
func workbook(t *testing.T, sheets map[string][][]any) []byte {
	t.Helper()
	f := excelize.NewFile()
	for name, rows := range sheets {
		if _, err := f.NewSheet(name); err != nil {
			t.Fatal(err)
		}
		for i, r := range rows {
			at, _ := excelize.CoordinatesToCellName(1, i+1)
			if err := f.SetSheetRow(name, at, &r); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := f.DeleteSheet("Sheet1"); err != nil {
		t.Fatal(err)
	}
	var buf bytes.Buffer
	if err := f.Write(&buf); err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}

var nodeRows = [][]any{
	{"id", "kind", "energy", "normal", "gauge_bar"},
	{"tank", "source", "fuel", nil, 0.3},
	{"V1", "valve", nil, "open"},
	{"pump", "vessel"},
}

func TestRefusalsNameTheCell(t *testing.T) {
	with := func(rows [][]any, more ...[]any) [][]any { return append(append([][]any(nil), rows...), more...) }
	for _, tc := range []struct {
		name   string
		sheets map[string][][]any
		want   string
	}{
		{"unknown sheet", map[string][][]any{"nodes": nodeRows, "pipes": {{"a"}}}, "plant.xlsx: pipes: unknown sheet"},
		{"unknown column", map[string][][]any{"nodes": {{"id", "kind", "colour"}}},
			`plant.xlsx: nodes!C1: unknown column "colour"`},
		{"column twice", map[string][][]any{"nodes": {{"id", "kind", "ID"}}},
			`plant.xlsx: nodes!C1: the column "id" stands here twice`},
		{"no nodes", map[string][][]any{"links": {{"a", "b"}}}, "plant.xlsx: the sheet nodes has no rows"},
		{"cell beyond the heads", map[string][][]any{"nodes": with(nodeRows, []any{"V2", "valve", nil, nil, nil, "?"})},
			"plant.xlsx: nodes!F5: the cell holds something"},
		{"misspelt kind", map[string][][]any{"nodes": with(nodeRows, nil, []any{"V2", "vavle"})},
			`plant.xlsx: nodes!B6: node V2: unknown kind "vavle"; did you mean "valve"?`},
		{"text for a figure", map[string][][]any{"nodes": with(nodeRows, []any{"s", "source", "steam", nil, "7 bar"})},
			`plant.xlsx: nodes!E5: node s: gauge_bar "7 bar" is not a plain number`},
		{"decimal comma", map[string][][]any{"nodes": with(nodeRows, []any{"s", "source", "steam", nil, "0,6"})},
			`plant.xlsx: nodes!E5: node s: gauge_bar "0,6" is not a plain number`},
		{"key on the wrong kind", map[string][][]any{"nodes": with(nodeRows, []any{"V2", "valve", nil, nil, 3})},
			"plant.xlsx: nodes!E5: node V2: gauge_bar says nothing about a valve"},
		{"duplicate id", map[string][][]any{"nodes": with(nodeRows, []any{"V1", "junction"})},
			"plant.xlsx: nodes!A5: node V1: the id is already that of the node at nodes row 3"},
		{"missing kind", map[string][][]any{"nodes": with(nodeRows, []any{"V2"})},
			"plant.xlsx: nodes!A5: node V2: kind is missing"},
		{"dangling link", map[string][][]any{"nodes": nodeRows, "links": {{"a", "b"}, {"tank", "V1"}, {"V1", "pmup"}}},
			`plant.xlsx: links!B3: link V1 to pmup: b names "pmup", which is not a node; did you mean "pump"?`},
		{"one invert", map[string][][]any{"nodes": nodeRows, "links": {{"a", "b", "invert_b_m"}, {"tank", "V1", 2.5}}},
			"plant.xlsx: links!C2: link tank to V1: invert_m wants two levels"},
		{"stored energy of no machine", map[string][][]any{"nodes": nodeRows,
			"stored": {{"machine", "kind", "volt"}, {"P9", "charge", 60}}},
			`plant.xlsx: stored!A2: the row belongs to machine "P9"`},
		{"stored energy out of reach", map[string][][]any{"nodes": nodeRows, "machines": {{"id"}, {"P1"}},
			"stored": {{"machine", "kind", "volt"}, {"P1", "charge", -60}}},
			"plant.xlsx: stored!C2: machine P1: stored energy 1: volt -60 is out of reach"},
		{"job opens the unknown", map[string][][]any{"nodes": nodeRows, "jobs": {{"id", "opens"}, {"j", "pump, bowl"}}},
			`plant.xlsx: jobs!B2: job j: opens names "bowl"`},
		{"fluid without a name", map[string][][]any{"nodes": nodeRows, "fluids": {{"fluid", "density_15"}, {nil, 860}}},
			"plant.xlsx: fluids row 2: the fluid has no name"},
		{"fluid out of reach", map[string][][]any{"nodes": nodeRows,
			"fluids": {{"fluid", "at_1", "cst_1", "at_2", "cst_2"}, {"MDO", 40, 3, 100, -1}}},
			"plant.xlsx: fluids!E2: fluid MDO: viscosity: cst -1 is out of reach"},
	} {
		_, err := ReadXLSX("plant.xlsx", workbook(t, tc.sheets))
		var es *RowErrors
		if !errors.As(err, &es) || !strings.HasPrefix(es.List[0].Error(), tc.want) {
			t.Errorf("%s: ReadXLSX = %v, want %s…", tc.name, err, tc.want)
			continue
		}
		if len(es.List) != 1 {
			t.Errorf("%s: ReadXLSX found %d faults, want the one that is there: %v", tc.name, len(es.List), err)
		}
	}
}

func TestNotesSheetsAndEmptyRowsAreLeftAlone(t *testing.T) {
	p, err := ReadXLSX("plant.xlsx", workbook(t, map[string][][]any{
		"nodes":            append([][]any{nodeRows[0], {nil, nil}, {"  "}}, nodeRows[1:]...),
		"Notes to readers": {{"anything", "at all"}},
	}))
	if err != nil || len(p.Nodes) != 3 {
		t.Fatalf("ReadXLSX = %v, want a plant of three nodes", err)
	}
}

func TestWhatIsNoWorkbookIsRefused(t *testing.T) {
	for name, data := range map[string][]byte{"empty": nil, "text": []byte("id,kind\nV1,valve\n"),
		"half": workbook(t, map[string][][]any{"nodes": nodeRows})[:400], "large": make([]byte, mostPacked+1)} {
		if p, err := ReadXLSX(name, data); err == nil || p != nil {
			t.Errorf("%s: ReadXLSX = %v, %v; want an error", name, p != nil, err)
		}
	}
}

// TestASmallFileThatUnpacksToAHugeOneIsRefused packs a sheet of blanks, larger than anything that is unpacked.
func TestASmallFileThatUnpacksToAHugeOneIsRefused(t *testing.T) {
	var buf bytes.Buffer
	z := zip.NewWriter(&buf)
	w, err := z.Create("xl/worksheets/sheet1.xml")
	if err != nil {
		t.Fatal(err)
	}
	blanks := bytes.Repeat([]byte(" "), 1<<20)
	for range mostUnpacked>>20 + 1 {
		if _, err := w.Write(blanks); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	if p, err := ReadXLSX("bomb.xlsx", buf.Bytes()); err == nil || p != nil || !strings.Contains(err.Error(), "exceeds") {
		t.Errorf("ReadXLSX(%d bytes that unpack to more than %d) = %v, want a refusal", buf.Len(), mostUnpacked, err)
	}
}

func FuzzReadXLSX(f *testing.F) {
	var buf bytes.Buffer
	if err := WriteTemplate(&buf); err != nil {
		f.Fatal(err)
	}
	f.Add(buf.Bytes())
	f.Add([]byte("PK\x03\x04"))
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := ReadXLSX("f", data)
		if (p == nil) == (err == nil) {
			t.Fatalf("ReadXLSX = plant %v, error %v; want one of them", p != nil, err)
		}
	})
}
