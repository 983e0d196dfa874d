package permits

import (
	"bytes"
	"fmt"
	"go/ast"
	"go/parser"
	"go/printer"
	"go/token"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// refusalText is a refusal as the source has it; what is filled in stands between braces.
type refusalText struct {
	where, gate, field, what, opens string
}

// TestEveryRefusalIsReadByAPerson writes down every refusal of the package, so that a person reads each one who has not
// written it. It holds each to what a tired reader needs: whole sentences of twenty words at most, and a way on.
func TestEveryRefusalIsReadByAPerson(t *testing.T) {
	list := refusalsOf(t)
	var all strings.Builder
	for _, r := range list {
		fmt.Fprintf(&all, "%s: %s\n\t%s\n", r.where, r.gate+either(r.field != "", " ("+r.field+")", ""), r.what)
		if r.opens != "" {
			fmt.Fprintf(&all, "\t-> %s\n", r.opens)
		}
		for _, text := range []string{r.what, r.opens} {
			for _, s := range sentences(text) {
				if n := len(strings.Fields(s)); n > 20 {
					t.Errorf("%s: %d words in a sentence, 20 at most: %s", r.where, n, s)
				}
			}
			if text != "" && !strings.ContainsAny(text[len(text)-1:], ".}") {
				t.Errorf("%s: %q does not end as a sentence", r.where, text)
			}
		}
	}
	if len(list) < 200 {
		t.Errorf("%d refusals were found in the source, want some hundreds: the test looks at too little", len(list))
	}
	compareGolden(t, "refusals.golden", all.String())
}

var sentenceEnd = regexp.MustCompile(`[.:;] `)

func sentences(text string) []string {
	return sentenceEnd.Split(filledIn.ReplaceAllString(text, "X"), -1)
}

var filledIn = regexp.MustCompile(`\{[^}]*\}`)

// refusalsOf finds every refusal that the package's source makes, by file and in their order.
func refusalsOf(t *testing.T) []refusalText {
	t.Helper()
	set, files := token.NewFileSet(), map[string]*ast.File{}
	names, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	read := sourceText{set: set, consts: map[string]string{}}
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(set, name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		files[name] = f
		for _, d := range f.Decls {
			read.learn(d)
		}
	}
	var out []refusalText
	for _, name := range names {
		if files[name] == nil || name == "refusal.go" || name == "state.go" { // the words of a stored state are no refusal
			continue
		}
		for _, d := range files[name].Decls {
			f, is := d.(*ast.FuncDecl)
			if !is || f.Body == nil {
				continue
			}
			read := read.inside(f)
			ast.Inspect(f.Body, func(n ast.Node) bool {
				if r, is := read.refusal(n); is {
					r.where = strings.TrimSuffix(name, ".go") + " " + f.Name.Name
					out = append(out, r)
				}
				return true
			})
		}
	}
	return out
}

// sourceText reads texts from the source.
type sourceText struct {
	set    *token.FileSet
	consts map[string]string
}

// learn keeps the texts that are named by constants.
func (s sourceText) learn(n ast.Node) {
	ast.Inspect(n, func(n ast.Node) bool {
		if v, is := n.(*ast.ValueSpec); is && len(v.Names) == len(v.Values) {
			for i, name := range v.Names {
				if l, is := v.Values[i].(*ast.BasicLit); is && l.Kind == token.STRING {
					s.consts[name.Name] = s.of(l)
				}
			}
		}
		_, function := n.(*ast.FuncDecl)
		return !function
	})
}

// inside is the same with the constants of a function.
func (s sourceText) inside(f *ast.FuncDecl) sourceText {
	in := sourceText{s.set, map[string]string{}}
	for name, text := range s.consts {
		in.consts[name] = text
	}
	in.learn(f.Body)
	return in
}

// refusal reads a call of refuse or invalid, or a literal.
func (s sourceText) refusal(n ast.Node) (r refusalText, is bool) {
	switch n := n.(type) {
	case *ast.CallExpr:
		name, _ := n.Fun.(*ast.Ident)
		switch {
		case name == nil:
		case name.Name == "refuse":
			return refusalText{gate: s.of(n.Args[0]), opens: s.of(n.Args[1]), what: s.filled(n.Args[2:])}, true
		case name.Name == "invalid":
			return refusalText{gate: "form", field: s.of(n.Args[0]), what: s.filled(n.Args[1:])}, true
		}
	case *ast.CompositeLit:
		if name, _ := n.Type.(*ast.Ident); name == nil || name.Name != "Refusal" {
			return r, false
		}
		for _, e := range n.Elts {
			f := e.(*ast.KeyValueExpr)
			to := map[string]*string{"Gate": &r.gate, "Field": &r.field, "What": &r.what,
				"Opens": &r.opens}[f.Key.(*ast.Ident).Name]
			if to != nil {
				*to = s.of(f.Value)
			}
		}
		return r, true
	}
	return r, false
}

var verb = regexp.MustCompile(`%[-+.0-9]*[a-z]`)

// filled is a format with the names of what is filled in.
func (s sourceText) filled(args []ast.Expr) string {
	text, rest := s.of(args[0]), args[1:]
	return verb.ReplaceAllStringFunc(text, func(v string) string {
		if len(rest) == 0 {
			return v
		}
		arg := rest[0]
		rest = rest[1:]
		said := s.of(arg)
		if v == "%q" {
			said = strconv.Quote(said)
		}
		return said
	})
}

// of is the text of an expression; what is not known before the program runs stands between braces.
func (s sourceText) of(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.BasicLit:
		if text, err := strconv.Unquote(e.Value); err == nil {
			return text
		}
	case *ast.BinaryExpr:
		return s.of(e.X) + s.of(e.Y)
	case *ast.Ident:
		if text, known := s.consts[e.Name]; known {
			return text
		}
	case *ast.CallExpr:
		if name, is := e.Fun.(*ast.Ident); is && name.Name == "either" && len(e.Args) == 3 {
			return "{" + s.of(e.Args[1]) + "|" + s.of(e.Args[2]) + "}"
		}
	}
	var b bytes.Buffer
	if err := printer.Fprint(&b, s.set, e); err != nil {
		return "{?}"
	}
	return "{" + strings.Join(strings.Fields(b.String()), " ") + "}"
}
