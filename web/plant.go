package web

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"net/http"
	"strings"

	"github.com/gin-gonic/gin"

	"stillwatch/isolation"
	"stillwatch/isolation/exchange"
	"stillwatch/isolation/plantfile"
	"stillwatch/permits"
	"stillwatch/web/screens"
)

func (s *Server) plantShow(c *gin.Context) error { return s.plantAgain(c, screens.Back{}) }

func (s *Server) plantAgain(c *gin.Context, b screens.Back) error {
	set := s.setting(me(c))
	page := screens.PlantPage{Frame: s.base(c, "Plant and rules", "plant"), Plant: set.Plant, Rules: set.Rules,
		Entry: set.Ship.PlantEntry}
	page.Back, page.Path = b, "/plant"
	page.May = page.Me.Has(permits.KindProposeFile.Roles()...)
	page.ProposedPlant = set.Ship.ProposalOf(permits.PlantFile)
	page.ProposedRules = set.Ship.ProposalOf(permits.RulesFile)
	if set.Plant != nil {
		page.Points, page.Notes = len(set.Plant.Points()), set.Plant.Remarks
	}
	page.Shipped = set.Rules != nil && set.Rules.SHA256 == plantfile.ShippedRules().SHA256
	if faults, more := faultsOf(b.Refusal); faults != nil {
		page.Faults, page.More = faults, more
		page.FaultsOf = strings.TrimPrefix(b.Form, "propose-")
		page.Back.Refusal = &permits.Refusal{Kind: permits.Invalid, Gate: b.Refusal.Gate, Field: "file",
			What: "The file was not taken: " + screens.Plural(len(faults)+more, "thing is", "things are") +
				" wrong in it.",
			Opens: "Mend what is listed below and send the file again. What was in force stays in force."}
	}
	return s.render(c, statusOfForm(b), "plant_show", page)
}

// uploaded reads the file of a form; a form without one has a fault.
func uploaded(c *gin.Context, f *form) (name string, text []byte) {
	file, head, err := c.Request.FormFile("file")
	if err != nil {
		f.wrong("file", "No file was chosen.")
		return "", nil
	}
	defer file.Close()
	text, err = io.ReadAll(io.LimitReader(file, fileLimit))
	if err != nil {
		f.wrong("file", "The file could not be read to its end.")
	}
	return screens.Shorten(head.Filename, 80), text
}

// plantUploaded reads a plant in any of the forms that it may have: the file itself, a workbook, or a drawn graph.
func plantUploaded(c *gin.Context, f *form) (name string, text []byte) {
	name, text = uploaded(c, f)
	var p *isolation.Plant
	var err error
	switch {
	case isWorkbook(text):
		p, err = exchange.ReadXLSX(name, text)
	case bytes.Contains(text[:min(len(text), 4096)], []byte("<graphml")):
		p, err = exchange.ReadGraphML(name, text)
	case bytes.HasPrefix(bytes.TrimSpace(text), []byte("<")):
		f.fault = &permits.Refusal{Kind: permits.Invalid, Gate: "form", Field: "file",
			What: "That is a drawing that leaves questions, not a plant.",
			Opens: "On the computer that holds it, run: stillwatch plant import NAME.xml --questions ask.csv. It asks what " +
				"the drawing does not say; with the answers it makes a plant file. Send that."}
	}
	if err != nil {
		f.fault = permits.FileFaults("form", err)
	}
	if p != nil {
		text = p.Text
	}
	return name, text
}

// faultsOf returns what is wrong in a file that was refused: of a plant or rules file by its lines, of a workbook or a
// drawn graph by its cells.
func faultsOf(no *permits.Refusal) (list []*plantfile.FileError, more int) {
	var inText *plantfile.FileErrors
	var inSheet *exchange.RowErrors
	switch {
	case no == nil:
	case errors.As(no, &inText):
		return inText.List, inText.More
	case errors.As(no, &inSheet):
		for _, e := range inSheet.List {
			list = append(list, &plantfile.FileError{File: e.File, Words: strings.TrimPrefix(e.At+": "+e.Words, ": ")})
		}
		return list, inSheet.More
	}
	return nil, 0
}

// isWorkbook tells a workbook, which is a packed folder, from plain text.
func isWorkbook(text []byte) bool { return bytes.HasPrefix(text, []byte("PK\x03\x04")) }

// proposalOf makes the act that proposes a text.
func proposalOf(of permits.FileKind, name string, text []byte) permits.ProposeFile {
	sum := sha256.Sum256(text)
	return permits.ProposeFile{Of: of, Name: name, SHA256: hex.EncodeToString(sum[:]), Text: string(text)}
}

// plantPropose lays a plant before whoever puts it in force.
func (s *Server) plantPropose(c *gin.Context) error {
	name, text := plantUploaded(c, formOf(c))
	return s.do(c, doing{form: "propose-plant", act: proposalOf(permits.PlantFile, name, text), then: "/plant/proposed",
		done: "Proposed. Look through what it changes; then somebody else puts it in force.", again: s.plantAgain})
}

// rulesPropose lays the company's own rules before whoever puts them in force.
func (s *Server) rulesPropose(c *gin.Context) error {
	f := formOf(c)
	name, text := uploaded(c, f)
	if isWorkbook(text) {
		f.wrong("file", "That is a workbook, not a rules file, which is plain text.")
	}
	return s.do(c, doing{form: "propose-rules", act: proposalOf(permits.RulesFile, name, text), then: "/plant",
		done: "Proposed. Somebody else puts the rules in force.", again: s.plantAgain})
}

// plantTemplate returns a workbook to fill in: the plant in force, or an example.
func (s *Server) plantTemplate(c *gin.Context) error {
	var b bytes.Buffer
	name := "plant-template.xlsx"
	err := error(nil)
	if p := s.reg.Plant(); p != nil && c.Query("of") == "force" {
		name, err = "plant.xlsx", exchange.WriteXLSX(&b, p)
	} else {
		err = exchange.WriteTemplate(&b)
	}
	if err != nil {
		return err
	}
	c.Header("Content-Disposition", `attachment; filename="`+name+`"`)
	c.Data(http.StatusOK, "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", b.Bytes())
	return nil
}

// plantFile returns the plant file in force, byte for byte.
func (s *Server) plantFile(c *gin.Context) error {
	p := s.reg.Plant()
	if p == nil {
		return notThere("No plant file is in force.", "The chief engineer puts one in force.")
	}
	return sendText(c, "plant.yaml", p.Text)
}

// rulesFile returns the rules in force, byte for byte.
func (s *Server) rulesFile(c *gin.Context) error {
	r := s.reg.Rules()
	if r == nil {
		return notThere("No rules are in force.", "")
	}
	return sendText(c, "rules.yaml", r.Text)
}

func sendText(c *gin.Context, name string, text []byte) error {
	c.Header("Content-Disposition", `attachment; filename="`+name+`"`)
	c.Data(http.StatusOK, "text/plain; charset=utf-8", text)
	return nil
}
