package web

import (
	"bytes"
	"errors"
	"io"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/paper"
)

// print answers with a paper. It is all there before the first byte leaves. A paper that would say too little is
// refused.
func (s *Server) print(c *gin.Context, name string, write func(io.Writer) error) error {
	var b bytes.Buffer
	if err := write(&b); err != nil {
		if errors.Is(err, paper.ErrIncomplete) {
			return &permits.Refusal{Kind: permits.Refused, Gate: "print", What: "This cannot be printed yet: " + err.Error() +
				".", Opens: "Complete it first."}
		}
		return err
	}
	c.Header("Content-Disposition", `inline; filename="`+name+`"`)
	c.Data(http.StatusOK, "application/pdf", b.Bytes())
	return nil
}

// stamp says from what a paper is printed.
func (s *Server) stamp(c *gin.Context) paper.Stamp {
	head := s.reg.Head()
	st := paper.Stamp{PrintedAt: s.now().Local(), PrintedBy: me(c).String(), Entry: head.Size - 1, Hash: head.Hash,
		URL: s.codeURL(c, "/E/"+strconv.FormatInt(head.Size-1, 10))}
	if p := s.reg.Plant(); p != nil {
		st.Ship = p.Title
	}
	return st
}

// tagURL returns what the QR of a tag carries.
func (s *Server) tagURL(c *gin.Context, code permits.TagCode) string {
	return s.codeURL(c, "/T/"+code.Text())
}

// codeURL returns the address of a path as a QR carries it: upper case, so that the smallest symbol does.
func (s *Server) codeURL(c *gin.Context, path string) string {
	base := s.cfg.BaseURL
	if base == "" {
		base = choose(s.cfg.Secure, "https://", "http://") + c.Request.Host
	}
	return strings.ToUpper(strings.TrimRight(base, "/") + path)
}

func paperPlace(p isolation.Place) paper.Place {
	if p.IsZero() {
		return paper.Place{}
	}
	return paper.Place{Deck: strconv.Itoa(p.Deck), Frame: strconv.Itoa(p.Frame), Side: p.Side}
}

// placeOfMachine returns where the plan's machine stands: the place of the first of its parts, or of its controls, that
// has one. Nothing where another plant file is in force than that of the plan.
func placeOfMachine(plan *isolation.Plan, plant *isolation.Plant) paper.Place {
	if plant == nil || plant.SHA256 != plan.PlantSHA256 {
		return paper.Place{}
	}
	m := plant.Machine(plan.Machine)
	if m == nil {
		return paper.Place{}
	}
	for _, id := range slices.Concat(m.Nodes, m.Controls) {
		if n := plant.Node(id); n != nil && !n.Place.IsZero() {
			return paperPlace(n.Place)
		}
	}
	return paper.Place{}
}

// paperMarks returns the symbol of a position: first the one that stops, then the one that lets pass.
var paperMarks = map[isolation.Kind][2]paper.Mark{
	isolation.Breaker:        {paper.SwitchOff, paper.SwitchOn},
	isolation.Disconnector:   {paper.SwitchOff, paper.SwitchOn},
	isolation.Switch:         {paper.SwitchOff, paper.SwitchOn},
	isolation.Fuse:           {paper.Withdrawn, paper.InPlace},
	isolation.Blank:          {paper.BlankIn, paper.BlankOut},
	isolation.Spool:          {paper.SpoolOut, paper.SpoolIn},
	isolation.Plug:           {paper.PlugIn, paper.PlugOut},
	isolation.Valve:          {paper.ValveShut, paper.ValveOpen},
	isolation.Opening:        {paper.ValveShut, paper.ValveOpen},
	isolation.AutomaticValve: {paper.ValveShut, paper.ValveOpen},
}

// paperPosition returns a position as printed. One that the kind of point cannot have is not set, and then the paper is
// refused.
func paperPosition(kind isolation.Kind, at isolation.Position) paper.Position {
	marks, known := paperMarks[kind]
	switch {
	case !known:
		return paper.Position{}
	case at == kind.Isolating():
		return paper.Position{Mark: marks[0], Word: kind.Word(at)}
	case at == kind.Passing():
		return paper.Position{Mark: marks[1], Word: kind.Word(at)}
	}
	return paper.Position{}
}

func permitNumber(id permits.PermitID) string { return strconv.FormatInt(int64(id), 10) }

func nodeWords(ids []isolation.NodeID) []string {
	out := make([]string, len(ids))
	for i, id := range ids {
		out[i] = string(id)
	}
	return out
}
