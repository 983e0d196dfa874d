package web

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"net/http"

	"github.com/gin-gonic/gin"

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
	page.May = page.Me.Has(permits.KindAdoptPlant.Roles()...)
	if set.Plant != nil {
		page.Points, page.Notes = len(set.Plant.Points()), set.Plant.Remarks
	}
	page.Shipped = set.Rules != nil && set.Rules.SHA256 == plantfile.ShippedRules().SHA256
	var faults *plantfile.FileErrors
	if b.Refusal != nil && errors.As(b.Refusal, &faults) {
		page.Faults, page.More, page.FaultsOf = faults.List, faults.More, b.Form
		page.Back.Refusal = &permits.Refusal{Kind: permits.Invalid, Gate: b.Refusal.Gate, Field: "file",
			What: "The file was not taken: " + screens.Plural(len(faults.List)+faults.More, "thing is", "things are") +
				" wrong in it.",
			Opens: "Mend what is listed below and send the file again. What was in force stays in force."}
	}
	return s.render(c, statusOfForm(b), "plant_show", page)
}

// uploaded reads the file of a form; a form without one has a fault.
func uploaded(c *gin.Context, f *form) (name string, text []byte, sum string) {
	file, head, err := c.Request.FormFile("file")
	if err != nil {
		f.wrong("file", "No file was chosen.")
		return "", nil, ""
	}
	defer file.Close()
	text, err = io.ReadAll(io.LimitReader(file, fileLimit))
	if err != nil {
		f.wrong("file", "The file could not be read to its end.")
		return "", nil, ""
	}
	if bytes.HasPrefix(text, []byte("PK\x03\x04")) { // a packed folder, which is what workbooks are
		f.fault = &permits.Refusal{Kind: permits.Invalid, Gate: "form", Field: "file",
			What: "That is a workbook, not a plant file or a rules file: both are plain text.",
			Opens: "On the computer that holds it, run: stillwatch plant import NAME.xlsx -o plant.yaml. It makes a plant " +
				"file of the workbook; send that."}
		return "", nil, ""
	}
	hash := sha256.Sum256(text)
	return screens.Shorten(head.Filename, 80), text, hex.EncodeToString(hash[:])
}

// plantAdopt puts a plant file in force.
func (s *Server) plantAdopt(c *gin.Context) error {
	f := formOf(c)
	name, text, sum := uploaded(c, f)
	return s.do(c, doing{form: "plant", act: permits.AdoptPlant{Name: name, SHA256: sum, Text: string(text)},
		then: "/plant", done: "The plant file is in force.", again: s.plantAgain})
}

// rulesAdopt puts the company's own rules in force.
func (s *Server) rulesAdopt(c *gin.Context) error {
	f := formOf(c)
	name, text, sum := uploaded(c, f)
	return s.do(c, doing{form: "rules", act: permits.AdoptRules{Name: name, SHA256: sum, Text: string(text)},
		then: "/plant", done: "The rules file is in force.", again: s.plantAgain})
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
