package plantfile

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// MaxFileBytes is the largest plant or rules file that is read: a ship of 50 000 points fits.
const MaxFileBytes = 8 << 20

const byteOrderMark = "\ufeff"

// parseYAML returns the one mapping that a plant or rules file is, or nil with the fault noted. It refuses what such a
// file has no use for and what could make the parser run away: anchors, aliases, tags, several documents, nesting.
func parseYAML(r *report, text []byte) ast.Node {
	if !plainText(r, text) {
		return nil
	}
	tokens := lexer.Tokenize(strings.TrimPrefix(string(text), byteOrderMark))
	if !plainTokens(r, tokens) {
		return nil
	}
	file, err := parseTokens(tokens)
	if err != nil {
		refuseSyntax(r, err)
		return nil
	}
	if len(file.Docs) > 1 {
		r.refuse(lineOf(file.Docs[1].Body), 1, "a second document begins here; the file holds one")
		return nil
	}
	if len(file.Docs) == 0 || file.Docs[0].Body == nil {
		r.refuse(0, 0, "the file is empty")
		return nil
	}
	body := file.Docs[0].Body
	if _, ok := body.(ast.MapNode); !ok {
		p := placeOf(body)
		r.refuse(p.Line, p.Column, "keys with values such as \"nodes:\" are wanted here, not %s", shapeOf(body))
		return nil
	}
	return body
}

// plainText refuses a file that is too large, empty, or not UTF-8 text.
func plainText(r *report, text []byte) bool {
	switch {
	case len(text) > MaxFileBytes:
		r.lines = nil
		r.refuse(0, 0, "the file has %d bytes; the largest that is read has %d", len(text), MaxFileBytes)
		return false
	case bytes.HasPrefix(text, []byte("PK\x03\x04")):
		r.lines = nil
		r.refuse(0, 0, "this is a workbook or another packed file, not plain text; of a workbook stillwatch plant import "+
			"makes a plant file")
		return false
	case len(bytes.TrimSpace(text)) == 0:
		r.refuse(0, 0, "the file is empty")
		return false
	}
	line, column := 1, 1
	for i := 0; i < len(text); {
		c, n := utf8.DecodeRune(text[i:])
		switch {
		case c == utf8.RuneError && n == 1:
			r.refuse(line, column, "byte %#02x is not UTF-8 text; save the file as UTF-8", text[i])
			return false
		case (c < ' ' && c != '\n' && c != '\r' && c != '\t') || (c >= 0x7f && c < 0xa0) || (isBidiControl(c) && i > 0):
			r.refuse(line, column, "character %U shows nothing and has no place here", c)
			return false
		}
		i += n
		if column++; c == '\n' {
			line, column = line+1, 1
		}
	}
	return true
}

// plainTokens refuses the parts of YAML that the files do not use, and what could exhaust the parser.
func plainTokens(r *report, tokens token.Tokens) bool {
	var g tokenGuard
	for _, t := range tokens {
		if what := g.fault(t); what != "" {
			r.refuse(t.Position.Line, t.Position.Column, "%s", what)
			return false
		}
	}
	return true
}

// parseTokens keeps a fault inside the YAML library from ending the program: a panic there becomes an error here.
func parseTokens(tokens token.Tokens) (file *ast.File, err error) {
	defer func() {
		if p := recover(); p != nil {
			file, err = nil, fmt.Errorf("not readable as YAML: %v", p)
		}
	}()
	return parser.Parse(tokens, 0)
}

func refuseSyntax(r *report, err error) {
	var at yaml.Error
	if errors.As(err, &at) && at.GetToken() != nil && at.GetToken().Position != nil {
		p, words := at.GetToken().Position, strings.ReplaceAll(at.GetMessage(), "'\t'", "a tab")
		if !strings.Contains(words, "already defined") { // a key twice, which is YAML, but not what anybody means
			words = "not YAML: " + words
		}
		r.refuse(p.Line, p.Column, "%s", words)
		return
	}
	r.refuse(0, 0, "not YAML: %v", err)
}

// placeOf returns where a node begins: a mapping at its first key, everything else at its own first character.
func placeOf(n ast.Node) token.Position {
	if m, ok := n.(ast.MapNode); ok {
		if it := m.MapRange(); it.Next() {
			n = it.Key()
		}
	}
	if n == nil || n.GetToken() == nil || n.GetToken().Position == nil {
		return token.Position{Line: 1, Column: 1}
	}
	return *n.GetToken().Position
}

func lineOf(n ast.Node) int { return placeOf(n).Line }

// shapeOf says in words what stands in the file where something else was wanted.
func shapeOf(n ast.Node) string {
	switch v := n.(type) {
	case nil, *ast.NullNode:
		return "empty"
	case ast.MapNode:
		return "a group of keys"
	case *ast.SequenceNode:
		return "a list"
	case *ast.LiteralNode:
		return "a block of text"
	default:
		return fmt.Sprintf("%q", shorten(v.GetToken().Value))
	}
}

// shorten keeps a quoted word of the file readable.
func shorten(s string) string {
	const most = 40
	if c := []rune(s); len(c) > most {
		return string(c[:most]) + "…"
	}
	return s
}
