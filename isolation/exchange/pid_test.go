package exchange

import (
	"bytes"
	"encoding/csv"
	"encoding/xml"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proved"
)

// skid is a small diagram that we drew after the public schema.
func skid(t testing.TB) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("testdata", "skid.xml"))
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// valves is a short list such as a yard writes.
func valves(t testing.TB) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("testdata", "valves.csv"))
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// handedBack returns the questions as the file of answers that a person hands back: reply gives the answer to each, ""
// for none.
func handedBack(t testing.TB, list []Question, reply func(Question) string) Answers {
	t.Helper()
	var asked, back bytes.Buffer
	if err := WriteQuestions(&asked, list); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&asked).ReadAll()
	if err != nil || len(rows) != len(list)+1 {
		t.Fatalf("%d lines, %v, for %d questions", len(rows), err, len(list))
	}
	for i, q := range list {
		rows[i+1][5] = reply(q)
	}
	if err := csv.NewWriter(&back).WriteAll(rows); err != nil {
		t.Fatal(err)
	}
	a, err := ReadAnswers("answers.csv", back.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// answered asks until nothing that is needed is open, since an answer can lead to further questions.
func answered(t testing.TB, read func(Answers) (*Imported, error), reply func(Question) string) *Imported {
	t.Helper()
	var answers Answers
	for range 6 {
		got, err := read(answers)
		if err != nil {
			t.Fatal(err)
		}
		if got.Open == 0 {
			return got
		}
		if got.Plant != nil {
			t.Fatalf("there is a plant although %d questions are open", got.Open)
		}
		answers = handedBack(t, got.Questions, reply)
	}
	t.Fatal("the questions do not end")
	return nil
}

// plainReply answers what is needed as a person might who knows the place; the rest stays unknown.
func plainReply(special map[string]string) func(Question) string {
	return func(q Question) string {
		if s, ok := special[q.ID+" "+q.Field]; ok {
			return s
		}
		if !q.Needed {
			return ""
		}
		switch q.Field {
		case "normal":
			if strings.Contains(q.Ask, "fitted") {
				return "fitted"
			}
			return "open"
		case "kind":
			return "vessel"
		case "lockable":
			return "yes"
		case "energy":
			return "fuel"
		case "gauge_bar", "lifts_bar":
			return "3"
		case "temp_c":
			return "60"
		case "drive":
			return q.ID + "-motor"
		case "breaker":
			return q.ID + "-Q1"
		case "board":
			return "board-440"
		case "volt":
			return "440"
		case "on":
			return "shut"
		case "beyond":
			return "drain"
		case "inside":
			_, words, _ := strings.Cut(q.Ask, ": ")
			first, _, _ := strings.Cut(words, ", ")
			return first
		case "fails":
			return "closed"
		}
		return "?"
	}
}

// TestPublishedDrawingBecomesAPlant reads the example that DEXPI publishes of its exchange format, which nobody here
// drew; STILLWATCH_DRAWING names its file. Its isolatable points are counted by looking at the drawing's own elements
// and nothing else; then the questions are answered, and two of its vessels get a plan that is proved.
func TestPublishedDrawingBecomesAPlant(t *testing.T) {
	path := os.Getenv("STILLWATCH_DRAWING")
	if path == "" {
		t.Skip("set STILLWATCH_DRAWING to the DEXPI example C01V04-VER.EX01.xml to read it too")
	}
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	reply := plainReply(map[string]string{"BallValve-2 beyond": "capped", "H1007 exposure": "open",
		"H1008 exposure":                      "open",
		"PipingNetworkSegment-20-begin valve": "V-101", "PipingNetworkSegment-21-end valve": "V-102",
		"PipingNetworkSegment-22-begin valve": "V-103", "PipingNetworkSegment-23-end valve": "V-104",
		"FlowInPipeOffPageConnector-1 valve": "V-105", "FlowOutPipeOffPageConnector-1 valve": "V-106",
		"GlobeValve-1 supply": "A-1", "A-1 kind": "valve", "GlobeValve-2 supply": "A-2", "A-2 kind": "valve",
		"T4750-1 kind": "source", "T4750-2 kind": "source", "H1007-1 volume_l": "120"})
	got := answered(t, func(a Answers) (*Imported, error) { return ReadDrawing(filepath.Base(path), text, a) }, reply)
	count := map[isolation.Kind]int{}
	for _, n := range got.Plant.Nodes {
		count[n.Kind]++
	}
	want := countedByHand(t, text)
	for _, kind := range []isolation.Kind{isolation.Valve, isolation.Blank, isolation.CheckValve,
		isolation.AutomaticValve} {
		if kind == isolation.Valve {
			count[kind] -= 6 + 2 // those beyond the drawing and of the control air, which the answers have added
		}
		if count[kind] != want[kind] || want[kind] == 0 {
			t.Errorf("%d of kind %s, want %d as the drawing's own elements count", count[kind], kind, want[kind])
		}
	}
	asks := map[string]bool{}
	for _, q := range got.Questions {
		asks[q.Field] = true
		if q.Line < 2 || q.Line > bytes.Count(text, []byte("\n"))+1 {
			t.Errorf("the question about %s of %s names line %d", q.Field, q.ID, q.Line)
		}
	}
	for _, field := range []string{"normal", "lockable", "elevation_m", "invert_a_m", "energy", "drive", "length_m"} {
		if !asks[field] {
			t.Errorf("nothing asks for %s, which the drawing does not say", field)
		}
	}
	for _, job := range []string{"H1007-open", "H1008-open"} {
		wantProvedPlan(t, got.Plant, job)
	}
}

// countedByHand counts components by their elements alone: what its class calls it, and whether an actuator refers to
// it.
func countedByHand(t *testing.T, text []byte) map[isolation.Kind]int {
	t.Helper()
	count, operated := map[isolation.Kind]int{}, 0
	in, class, depth := xml.NewDecoder(bytes.NewReader(text)), "", 0
	for {
		token, err := in.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		e, is := token.(xml.StartElement)
		if _, ends := token.(xml.EndElement); ends {
			depth--
		}
		if !is {
			continue
		}
		depth++
		says := map[string]string{}
		for _, a := range e.Attr {
			says[a.Name.Local] = a.Value
		}
		if e.Name.Local == "OperatedValveReference" || says["ComponentClass"] == "OperatedValveReference" {
			operated++
		}
		if e.Name.Local != "PipingComponent" || depth != 4 { // PlantModel, system, segment, component; not the catalogue's
			continue
		}
		switch class = says["ComponentClass"]; {
		case strings.HasSuffix(class, "CheckValve"), strings.HasSuffix(class, "SafetyValve"):
			count[isolation.CheckValve]++
		case strings.HasSuffix(class, "Valve"):
			count[isolation.Valve]++
		case strings.Contains(class, "Blind"):
			count[isolation.Blank]++
		}
	}
	count[isolation.AutomaticValve] = operated
	count[isolation.Valve] -= operated
	return count
}

// wantProvedPlan wants a plan that cuts every source it names, and its proof.
func wantProvedPlan(t *testing.T, p *isolation.Plant, job string) {
	t.Helper()
	got, err := proved.Make(p, plantfile.ShippedRules(), job, isolation.Circumstances{})
	if err != nil {
		t.Errorf("job %s: %v", job, err)
		return
	}
	if !got.Plan.Feasible || len(got.Plan.Steps) == 0 {
		t.Errorf("job %s: feasible %v with %d steps, uncut %v; want a plan", job, got.Plan.Feasible, len(got.Plan.Steps),
			got.Plan.Uncut)
	}
	t.Logf("%s: %d steps", job, len(got.Plan.Steps))
}
