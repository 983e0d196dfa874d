package exchange

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"stillwatch/isolation"
)

// skidReply knows the small diagram's place.
func skidReply(more map[string]string) func(Question) string {
	known := map[string]string{"T10 kind": "source", "P11 drive": "M11", "Wafer-1 kind": "valve",
		"GlobeValve-1 supply": "AV-1", "AV-1 kind": "valve", "T10 fluid": "MDO", "MDO density_15": "860",
		"MDO at_1": "40", "MDO cst_1": "3.5", "MDO at_2": "100", "MDO cst_2": "1.4",
		"P11 exposure": "open", "GateValve-1 lockable": "no",
		"GateValve-1 measure": "Hand wheel off", "BallValve-1 normal": "closed", "Out-1 valve": "V-2",
		"Segment-3:P11-Nozzle-3 length_m": "4"}
	for k, v := range more {
		known[k] = v
	}
	return plainReply(known)
}

// skidReplyWithout leaves some of what skidReply knows unanswered.
func skidReplyWithout(left ...string) func(Question) string {
	reply := skidReply(nil)
	return func(q Question) string {
		if slices.Contains(left, q.ID+" "+q.Field) {
			return ""
		}
		return reply(q)
	}
}

func readSkid(t testing.TB) func(Answers) (*Imported, error) {
	text := skid(t)
	return func(a Answers) (*Imported, error) { return ReadDrawing("skid.xml", text, a) }
}

// TestDiagramBecomesAPlantWhenItsQuestionsAreAnswered looks at the nodes and links that a small diagram makes.
func TestDiagramBecomesAPlantWhenItsQuestionsAreAnswered(t *testing.T) {
	got := answered(t, readSkid(t), skidReply(nil))
	for id, want := range map[string]string{
		"T10": "source", "P11": "vessel", "M11": "consumer", "M11-Q1": "breaker", "board-440": "source",
		"GateValve-1": "valve", "PipeTee-1": "junction", "BallValve-1": "opening", "SwingCheckValve-1": "check-valve",
		"GlobeValve-1": "automatic-valve", "Wafer-1": "valve", "Out-1": "junction", "Out-1-beyond": "source", "V-2": "valve",
		"AV-1": "valve", "T10-N1": "junction", "Nozzle-2": "junction", "Nozzle-3": "junction",
	} {
		if n := got.Plant.Node(isolation.NodeID(id)); n == nil || string(n.Kind) != want {
			t.Errorf("node %s = %+v, want a %s", id, n, want)
		}
	}
	if n := got.Plant.Node("shape-1"); n != nil {
		t.Error("a symbol of the catalogue became a node")
	}
	if n := got.Plant.Node("GateValve-1"); n == nil || n.Lockable || n.Measure != "Hand wheel off" {
		t.Errorf("GateValve-1 = %+v, want it without a lock and with its measure", n)
	}
	if n := got.Plant.Node("P11"); n == nil || n.Drive != "M11" || n.LiftsBar != 3 {
		t.Errorf("P11 = %+v, want a pump of 3 bar driven by M11", n)
	}
	if f := got.Plant.Node("T10").Fluid; f != "MDO" || len(got.Plant.Fluids) != 1 {
		t.Errorf("T10 holds %q and there are %d fluids, want MDO alone", f, len(got.Plant.Fluids))
	}
	links := map[string]float64{}
	for _, l := range got.Plant.Links {
		links[fmt.Sprintf("%s %s", l.A, l.B)] = l.BoreMM
	}
	for ends, bore := range map[string]float64{"T10 T10-N1": 50, "T10-N1 GateValve-1": 50, "GateValve-1 PipeTee-1": 50,
		"PipeTee-1 Nozzle-2": 50, "P11 Nozzle-2": 0, "PipeTee-1 BallValve-1": 0, "Nozzle-3 SwingCheckValve-1": 0,
		"SwingCheckValve-1 GlobeValve-1": 0, "GlobeValve-1 Wafer-1": 0, "Wafer-1 Out-1": 0, "Out-1 V-2": 0} {
		if mm, there := links[ends]; !there || mm != bore {
			t.Errorf("link %s: there %v, %g mm; want %g mm", ends, there, mm, bore)
		}
	}
	wantProvedPlan(t, got.Plant, "P11-open")
}

// TestValveThatMovesByItselfIsNeverAPoint draws the actuator in the other ways in which programs draw it.
func TestValveThatMovesByItselfIsNeverAPoint(t *testing.T) {
	const hand = `<PipingComponent ID="GateValve-1" ComponentClass="GateValve"/>`
	good := string(skid(t))
	for name, inside := range map[string]string{
		"it says what refers to it":       `<Association Type="is referenced by" ItemID="Reference-1"/>`,
		"what refers to it is not drawn":  `<Association Type="is referenced by" ItemID="Reference-9"/>`,
		"the actuator stands inside it":   `<ActuatingSystemComponent ID="A" ComponentClass="ControlledActuator"/>`,
		"so does one of an unknown order": `<Something ComponentClass="PneumaticActuator"/>`,
	} {
		text := strings.Replace(good, hand, `<PipingComponent ID="GateValve-1" ComponentClass="GateValve">`+inside+
			`</PipingComponent>`, 1)
		if text == good {
			t.Fatalf("the diagram has no %s any more", hand)
		}
		got := answered(t, func(a Answers) (*Imported, error) { return ReadDrawing("skid.xml", []byte(text), a) },
			skidReplyWithout("GateValve-1 lockable", "GateValve-1 measure"))
		if n := got.Plant.Node("GateValve-1"); n == nil || n.Kind != isolation.AutomaticValve {
			t.Errorf("%s: GateValve-1 = %+v, want an automatic valve", name, n)
		}
	}
}

// TestNothingThatADiagramDoesNotSayIsGuessed leaves one needed question open after the other: each time there must be
// no plant.
func TestNothingThatADiagramDoesNotSayIsGuessed(t *testing.T) {
	read := readSkid(t)
	whole := answered(t, read, skidReply(nil))
	tried := 0
	for _, left := range whole.Questions {
		if !left.Needed {
			continue
		}
		tried++
		got, err := read(handedBack(t, whole.Questions, func(q Question) string {
			leads := slices.Contains([]string{"kind", "drive", "energy"}, left.Field) // to further questions
			if q.ID == left.ID && (q.Field == left.Field || leads) {
				return ""
			}
			return q.Answer
		}))
		if err == nil && (got.Plant != nil || got.Open == 0) {
			t.Errorf("there is a plant without %s of %s", left.Field, left.ID)
		}
	}
	if tried < 12 {
		t.Errorf("only %d questions are needed; the diagram says less than that", tried)
	}
}

// TestBrokenDiagramsAreRefusedWithTheirLine breaks the small diagram in one place each.
func TestBrokenDiagramsAreRefusedWithTheirLine(t *testing.T) {
	good := string(skid(t))
	deep := strings.Repeat("<GenericAttributes>", 200)
	for _, tc := range []struct{ name, old, fresh, words string }{
		{"a second thing of the same ID", `ID="BallValve-1" `, `ID="GateValve-1" `, "stands already in line"},
		{"a pipe to nowhere", `FromID="Nozzle-1"`, `FromID="Nozzle-9"`, "which is not on the drawing"},
		{"a pipe that begins in its middle", `FromID="Nozzle-1"`, `FromID="PipeTee-1"`, "is not its first part"},
		{"a valve with three pipes", `FromID="PipeTee-1"`, `FromID="GateValve-1"`, "more than two sides"},
		{"two connections of one pipe", `<Connection FromID="Nozzle-1"`,
			`<Connection FromID="Nozzle-3"/><Connection FromID="Nozzle-1"`, "two connections"},
		{"another root", "PlantModel>", "Drawings>", "not with <PlantModel>"},
		{"another charset", `encoding="UTF-8"`, `encoding="ISO-8859-1"`, "save it as UTF-8"},
		{"too deep", "<PlantModel>", "<PlantModel>" + deep, "deep in each other"},
		{"entities of its own", "<PlantModel>",
			"<!DOCTYPE a [<!ENTITY a \"aaaaaaaaaa\"><!ENTITY b \"&a;&a;&a;&a;\">]><PlantModel>",
			"entities of its own"},
		{"an entity that is not declared", "Value=\"T10\"", "Value=\"&b;\"", "not XML"},
		{"a file from elsewhere as an entity", "<PlantModel>",
			"<!DOCTYPE a SYSTEM \"file:///etc/passwd\"><PlantModel>&a;", "not XML"},
		{"a valve on no pipe", "<ActuatingSystem ID",
			`<PipingComponent ID="V" ComponentClass="BallValve"/><ActuatingSystem ID`,
			"lies on no pipe"},
		{"nothing", good, "", "no <PlantModel>"},
	} {
		text := strings.ReplaceAll(good, tc.old, tc.fresh)
		if text == good {
			t.Fatalf("%s: the diagram has no %q any more", tc.name, tc.old)
		}
		got, err := ReadDrawing("skid.xml", []byte(text), Answers{})
		if err == nil || !strings.Contains(err.Error(), tc.words) || !strings.Contains(err.Error(), "skid.xml: line ") {
			t.Errorf("%s: %v, %v; want to hear of %q with its line", tc.name, got, err, tc.words)
		}
	}
}

// TestCutDiagramIsNeverAPlant cuts the diagram at every byte.
func TestCutDiagramIsNeverAPlant(t *testing.T) {
	text := bytes.TrimRight(skid(t), "\n")
	for n := range text {
		if got, err := ReadDrawing("skid.xml", text[:n], Answers{}); err == nil {
			t.Fatalf("cut after %d of %d bytes: %+v, want it refused", n, len(text), got)
		}
	}
}

func TestHugeDiagramAndAnswersAreRefused(t *testing.T) {
	if _, err := ReadDrawing("huge.xml", make([]byte, MaxDrawingBytes+1), Answers{}); err == nil ||
		!strings.Contains(err.Error(), "most that is read") {
		t.Errorf("ReadDrawing(huge) = %v, want it refused unread", err)
	}
	if _, err := ReadAnswers("huge.csv", make([]byte, mostAnswers+1)); err == nil {
		t.Error("ReadAnswers(huge) = nil, want it refused unread")
	}
	var many strings.Builder
	many.WriteString("<PlantModel>")
	for n := range mostDrawn + 1 {
		fmt.Fprintf(&many, `<Equipment ID="e%d"/>`, n)
	}
	if _, err := ReadDrawing("many.xml", []byte(many.String()), Answers{}); err == nil ||
		!strings.Contains(err.Error(), "more than 200000 things") {
		t.Errorf("ReadDrawing(many) = %.200v, want it refused", err)
	}
}

// TestWrongAnswersAreRefusedWithTheirLine hands back what does not fit the questions.
func TestWrongAnswersAreRefusedWithTheirLine(t *testing.T) {
	for _, tc := range []struct{ name, rows, words string }{
		{"a word that is not taken", "GateValve-1,lockable,perhaps",
			"answers.csv line 2: lockable of GateValve-1 cannot be \"perhaps\""},
		{"a thing that is not there", "GateValve-7,lockable,yes",
			"line 2: nothing is asked about lockable of \"GateValve-7\""},
		{"two answers", "GateValve-1,lockable,yes\nGateValve-1,lockable,no",
			"line 3: lockable of GateValve-1 is answered \"no\" here"},
	} {
		a, err := ReadAnswers("answers.csv", []byte("id,field,answer\n"+tc.rows+"\n"))
		if err == nil {
			_, err = readSkid(t)(a)
		}
		if err == nil || !strings.Contains(err.Error(), tc.words) {
			t.Errorf("%s: %v, want %q", tc.name, err, tc.words)
		}
	}
	if _, err := ReadAnswers("answers.csv", []byte("id;field\nx;y\n")); err == nil ||
		!strings.Contains(err.Error(), `no column "answer"`) {
		t.Errorf("answers without their column: %v", err)
	}
	figure := skidReply(map[string]string{"Out-1 gauge_bar": "much"})
	var last error
	answers := Answers{}
	for range 5 {
		got, err := readSkid(t)(answers)
		if last = err; err != nil {
			break
		}
		answers = handedBack(t, got.Questions, figure)
	}
	if last == nil || !strings.Contains(last.Error(), "answers.csv line ") || !strings.Contains(last.Error(), "much") {
		t.Errorf("a pressure of %q: %v, want the line of the answer", "much", last)
	}
}

// TestValveListBecomesAPlant reads a list as comma-separated values and as a workbook's sheet.
func TestValveListBecomesAPlant(t *testing.T) {
	text := valves(t)
	rows := strings.Split(strings.TrimSpace(string(text)), "\n")
	f := excelize.NewFile()
	for i, r := range rows {
		cells := strings.Split(r, ";")
		if err := f.SetSheetRow("Sheet1", fmt.Sprintf("A%d", i+1), &cells); err != nil {
			t.Fatal(err)
		}
	}
	var book bytes.Buffer
	if err := f.Write(&book); err != nil {
		t.Fatal(err)
	}
	reply := plainReply(map[string]string{"FO-03 kind": "check-valve", "settling-tank kind": "source",
		"filter kind":    "vessel",
		"fuel-main kind": "source", "filter exposure": "open", "FO-04 measure": "Hand wheel off", "fuel-main valve": "FO-90"})
	for name, data := range map[string][]byte{"valves.csv": text, "valves.xlsx": book.Bytes()} {
		got := answered(t, func(a Answers) (*Imported, error) { return ReadValveList(name, data, a) }, reply)
		for id, want := range map[string]string{"FO-01": "valve", "FO-02": "valve", "FO-03": "check-valve", "FO-04": "valve",
			"settling-tank": "source", "filter": "vessel", "fuel-main-beyond": "source"} {
			if n := got.Plant.Node(isolation.NodeID(id)); n == nil || string(n.Kind) != want {
				t.Errorf("%s: node %s = %+v, want a %s", name, id, n, want)
			}
		}
		if n := got.Plant.Node("FO-01"); n.Place != (isolation.Place{Deck: 4, Frame: 32, Side: "port"}) || !n.Lockable {
			t.Errorf("%s: FO-01 = %+v, want its place and its lock from the list", name, n)
		}
		if !bytes.Contains(got.Plant.Text, []byte("left out: maker")) {
			t.Errorf("%s: the plant does not say what was left out:\n%s", name, got.Plant.Text)
		}
		wantProvedPlan(t, got.Plant, "filter-open")
	}
	for _, tc := range []struct{ name, text, words string }{
		{"no tags", "type;dn\nball;50\n", "no column says the tag"},
		{"the same tag twice", "tag,type,from,to\nA,ball,x,y\nA,ball,x,y\n", "line 3: the id A stands already in line 2"},
		{"two columns for one", "tag,type,kind\nA,ball,x\n", "both say the type"},
		{"a row without a tag", "tag,type\n,ball\n", "line 2: the row has no tag"},
		{"a quote that does not end", "tag,type\n\"A,ball\n", "not comma-separated"},
		{"nothing", "", "no rows"},
	} {
		if _, err := ReadValveList("list.csv", []byte(tc.text), Answers{}); err == nil ||
			!strings.Contains(err.Error(), tc.words) {
			t.Errorf("%s: %v, want %q", tc.name, err, tc.words)
		}
	}
	for _, data := range [][]byte{[]byte("PK\x03\x04 no workbook"), book.Bytes()[:book.Len()/2]} {
		if _, err := ReadValveList("cut.xlsx", data, Answers{}); err == nil || !strings.Contains(err.Error(), "cut.xlsx") {
			t.Errorf("a broken workbook: %v, want it refused by name", err)
		}
	}
}

func FuzzReadDrawing(f *testing.F) {
	f.Add(skid(f), []byte("id,field,answer\nGateValve-1,lockable,yes\n"))
	f.Add([]byte("<PlantModel><PipingNetworkSystem><PipingNetworkSegment/></PipingNetworkSystem></PlantModel>"),
		[]byte(""))
	f.Fuzz(func(t *testing.T, text, filled []byte) {
		answers, err := ReadAnswers("answers.csv", filled)
		if err != nil {
			return
		}
		got, err := ReadDrawing("fuzz.xml", text, answers)
		if err == nil && (got.Plant == nil) != (got.Open > 0) {
			t.Errorf("plant %v with %d open questions", got.Plant, got.Open)
		}
		if _, err := ReadValveList("fuzz.csv", text, answers); err != nil && err.Error() == "" {
			t.Error("an error without words")
		}
	})
}
