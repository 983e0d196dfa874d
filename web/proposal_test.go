package web

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"net/http"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"stillwatch/isolation/exchange"
	"stillwatch/isolation/plantfile"
	"stillwatch/permits"
)

func sumOf(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}

// TestAnotherPlantFileIsSeenByTwoBeforeItIsInForce proposes a file by its page, reads what it changes, and has another
// person put it in force.
func TestAnotherPlantFileIsSeenByTwoBeforeItIsInForce(t *testing.T) {
	j := begin(t) // permit 1 is requested and not authorised
	text := bytes.Replace(plantText(t, "tiny.yaml"), []byte("Pump suction"), []byte("Pump intake"), 1)
	j.tech.must(j.tech.upload("/plant/propose", "mine.yaml", text, "signer", "tech", "pin", testPINs["tech"]),
		"/plant/proposed")
	got := j.head.get("/plant/proposed")
	for _, want := range []string{"1 point or part changed", "node V1", "Pump intake", "1 plan stays as it is",
		"/permits/1", "must be requested anew", `id="f-plant"`} {
		if !strings.Contains(got.body, want) {
			t.Errorf("the page of a proposal lacks %q", want)
		}
	}
	if got := j.head.get("/plant"); !strings.Contains(got.body, "Another file is proposed by Fitter One") {
		t.Errorf("the page of the plant does not say that another is proposed: %s", got.body)
	}
	if file := j.head.get("/plant/proposed/file"); file.body != string(text) {
		t.Error("the proposed file is not what was sent")
	}
	other := sumOf(plantText(t, "tiny.yaml"))
	j.head.refused(j.head.post("/plant", "sha256", other, "pin", testPINs["chief"]), 422, "hash")
	j.head.must(j.head.post("/plant", "sha256", sumOf(text), "pin", testPINs["chief"]), "/plant")
	if got := j.a.reg.Plant().Node("V1").Name; got != "Pump intake" {
		t.Errorf("V1 is called %q, want what the file in force says", got)
	}
	if got := j.head.get("/plant/proposed"); got.status != http.StatusNotFound {
		t.Errorf("the proposal afterwards = %d, want 404", got.status)
	}
}

func TestAWorkbookIsTakenAsAPlant(t *testing.T) {
	a := ship(t)
	c := a.as("chief")
	var b bytes.Buffer
	if err := exchange.WriteXLSX(&b, a.reg.Plant()); err != nil {
		t.Fatal(err)
	}
	c.must(c.upload("/plant/propose", "mine.xlsx", b.Bytes(), "signer", "oow", "pin", testPINs["oow"]), "/plant/proposed")
	if got := c.get("/plant/proposed"); !strings.Contains(got.body, "1 plan stays") {
		t.Errorf("the same plant from a workbook: %s", alert(got.body))
	}
	for _, path := range []string{"/plant/workbook", "/plant/workbook?of=force"} {
		got := c.get(path)
		if p, err := exchange.ReadXLSX("x.xlsx", []byte(got.body)); err != nil || len(p.Nodes) == 0 {
			t.Errorf("GET %s is no workbook of a plant: %v", path, err)
		}
	}
	b.Reset()
	wrong := excelize.NewFile()
	if err := errors.Join(wrong.SetSheetName("Sheet1", "nodes"), wrong.SetSheetRow("nodes", "A1", &[]string{"id", "kind"}),
		wrong.SetSheetRow("nodes", "A2", &[]string{"P1", "pump"}), wrong.SetSheetRow("nodes", "A3", &[]string{"V1", "vlave"}),
		wrong.Write(&b)); err != nil {
		t.Fatal(err)
	}
	got := c.upload("/plant/propose", "bad.xlsx", b.Bytes(), "pin", testPINs["chief"])
	c.refused(got, 422, "2 things are wrong")
	for _, want := range []string{"a pump is a vessel with lifts_bar", "did you mean"} {
		if !strings.Contains(got.body, want) {
			t.Errorf("a workbook with faults is not told %q", want)
		}
	}
	got = c.upload("/plant/propose", "d.xml", []byte("<?xml version='1.0'?><PlantModel/>"), "pin", testPINs["chief"])
	c.refused(got, 422, "leaves questions")
}

// TestNameAndPlaceArePutRightInThePage changes two points one after another: both go into one proposal.
func TestNameAndPlaceArePutRightInThePage(t *testing.T) {
	a := ship(t)
	c := a.as("tech")
	at := []string{"deck", "1", "frame", "11", "side", "port", "lockable", "yes", "pin", testPINs["tech"]}
	c.must(c.post("/points/V1/amend", append(at, "name", "Suction valve")...), "/plant/proposed")
	at = []string{"deck", "3", "frame", "12", "side", "starboard", "lockable", "yes", "pin", testPINs["tech"]}
	c.must(c.post("/points/V2/amend", append(at, "name", "Pump discharge")...), "/plant/proposed")
	c.refused(c.post("/points/V2/amend", append(at, "name", "Pump discharge")...), 422, "Nothing was changed")
	c.refused(c.post("/points/V2/amend", append(at[2:], "name", "Pump discharge", "deck", "low")...), 422, "whole number")
	p := a.reg.Ship().Proposed["plant"]
	e, err := a.reg.Entry(t.Context(), p.Entry)
	if err != nil {
		t.Fatal(err)
	}
	plant, err := plantfile.Read("p", []byte(e.Act.(permits.ProposeFile).Text))
	if err != nil {
		t.Fatal(err)
	}
	if v1, v2 := plant.Node("V1"), plant.Node("V2"); v1.Name != "Suction valve" || v2.Place.Deck != 3 ||
		v2.Place.Side != "starboard" {
		t.Errorf("V1 is %q, V2 at %v; want both changes in one file", v1.Name, v2.Place)
	}
}
