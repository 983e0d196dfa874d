package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"
)

// The rules of the house as a test: who may import whom and why, how long a file and a function may be, that every
// package says what it is for and every exported name is explained.

const (
	maxFileLines     = 500
	maxFunctionLines = 80
	maxParameters    = 5
	maxLineWidth     = 120 // characters, a tab counted as one; raw strings may be wider
	maxFilesAFolder  = 20  // Go files without tests
)

// crowded are the folders that have more files, and how many: their numbers only fall.
var crowded = map[string]int{
	"isolation":         21,
	"isolation/drain":   24,
	"isolation/planner": 23,
	"isolation/proof":   21,
	"permits":           65,
	"permits/paper":     23,
	"permits/register":  36,
	"web":               37,
	"web/screens":       37,
}

// mayImport lists, for each package, what it may import beside the standard library. A path that ends in "/..." stands
// for everything below. Tests may import more.
var mayImport = map[string][]string{
	// Pure mathematics on plain values: they can be checked with bare numbers.
	"isolation/cut":        {"stillwatch/isolation/sat"},
	"isolation/sat":        {},
	"isolation/sequence":   {},
	"isolation/drain":      {},
	"isolation/energy":     {},
	"isolation/atmosphere": {},
	// The nouns of the plant know no people, no permits and no file. Of drain only what a section was computed from, of
	// atmosphere only the limits that a plan carries.
	"isolation": {"stillwatch/isolation/drain", "stillwatch/isolation/atmosphere"},
	// The only readers of YAML; exchange reads it to write a plant file that people recognise.
	"isolation/plantfile": {"stillwatch/isolation", "stillwatch/isolation/atmosphere", "github.com/goccy/go-yaml/..."},
	"isolation/exchange": {"stillwatch/isolation", "stillwatch/isolation/plantfile", "github.com/xuri/excelize/v2",
		"github.com/goccy/go-yaml/..."},
	// What makes a plan, and what foretells and judges its draining.
	"isolation/graph": {"stillwatch/isolation"},
	"isolation/envelope": {"stillwatch/isolation", "stillwatch/isolation/graph", "stillwatch/isolation/drain",
		"stillwatch/isolation/energy", "stillwatch/isolation/atmosphere"},
	"isolation/planner": {"stillwatch/isolation", "stillwatch/isolation/graph", "stillwatch/isolation/envelope",
		"stillwatch/isolation/atmosphere", "stillwatch/isolation/cut", "stillwatch/isolation/sequence"},
	// The proof knows the nouns and the published limits alone, see TestTheProofSharesNothingWithWhatItChecks.
	"isolation/proof": {"stillwatch/isolation", "stillwatch/isolation/atmosphere"},
	// The one place where planner and proof meet.
	"isolation/proved": {"stillwatch/isolation", "stillwatch/isolation/planner", "stillwatch/isolation/proof"},
	// Drawings of plans and of what is foretold.
	"isolation/drawing/svg":     {},
	"isolation/drawing/diagram": {"stillwatch/isolation", "stillwatch/isolation/drawing/svg"},
	"isolation/drawing/chart": {"stillwatch/isolation", "stillwatch/isolation/drawing/svg", "stillwatch/isolation/drain",
		"stillwatch/isolation/energy"},
	// The gates know no database and no clock.
	"permits": {"stillwatch/isolation", "stillwatch/isolation/plantfile", "stillwatch/isolation/envelope",
		"stillwatch/isolation/proof", "golang.org/x/text/...", "github.com/mtibben/confusables"},
	// What was drained, as the Oil Record Book wants it.
	"permits/oilrecord": {"stillwatch/isolation", "stillwatch/permits"},
	// What is asked about the permits of a time, and tables for a spreadsheet.
	"permits/lookback": {"stillwatch/isolation", "stillwatch/permits", "stillwatch/permits/register"},
	// The log: it asks for rows, and knows no SQL.
	"permits/register": {"stillwatch/isolation", "stillwatch/isolation/plantfile", "stillwatch/permits",
		"stillwatch/permits/register/store",
		"golang.org/x/mod/sumdb/...", "github.com/alexedwards/...", "github.com/google/uuid"},
	// The only package that knows the database; it knows no act and no gate.
	"permits/register/store": {"gorm.io/...", "modernc.org/sqlite/...", "golang.org/x/sys/..."},
	// Many ships ashore: what both sides say to each other, the ship's side, the shore's, and its own database. The rows
	// of a log are the register's.
	"permits/shore/wire":   {"stillwatch/permits/register", "golang.org/x/mod/sumdb/..."},
	"permits/shore/sender": {"stillwatch/permits/register", "stillwatch/permits/shore/wire"},
	"permits/shore": {"stillwatch/isolation", "stillwatch/isolation/plantfile", "stillwatch/permits",
		"stillwatch/permits/lookback",
		"stillwatch/permits/register", "stillwatch/permits/register/store", "stillwatch/permits/shore/store",
		"stillwatch/permits/shore/wire", "github.com/alexedwards/..."},
	"permits/shore/store": {"stillwatch/permits/register/store", "gorm.io/...", "github.com/jackc/pgx/..."},
	// The papers take plain values.
	"permits/paper": {"github.com/jung-kurt/gofpdf", "github.com/skip2/go-qrcode", "golang.org/x/text/...",
		"golang.org/x/image/..."},
	"templates": {},
	// Keys and certificates, and figures for a supervisor: beside the pages, not in them.
	"web/authority": {},
	"web/metrics":   {"stillwatch/permits", "stillwatch/permits/register", "github.com/prometheus/client_golang/..."},
	"web/static":    {},
	// What every site of the program has, whatever its pages are.
	"web/site": {"stillwatch/web/static"},
	// The shore's site.
	"web/office": {"stillwatch/permits/lookback", "stillwatch/permits/shore", "stillwatch/permits/shore/wire",
		"stillwatch/web/office/desk", "stillwatch/web/screens", "stillwatch/web/site", "github.com/gin-gonic/gin/...",
		"github.com/alexedwards/scs/..."},
	// What pages and papers show, made from values alone.
	"web/screens": {"stillwatch/isolation", "stillwatch/isolation/plantfile", "stillwatch/isolation/drawing/diagram",
		"stillwatch/isolation/drawing/chart",
		"stillwatch/permits", "stillwatch/permits/lookback", "stillwatch/permits/oilrecord",
		"stillwatch/permits/register",
		"stillwatch/templates",
		"github.com/skip2/go-qrcode"},
	"web/sheets": {"stillwatch/isolation", "stillwatch/isolation/drawing/diagram", "stillwatch/permits",
		"stillwatch/permits/lookback", "stillwatch/permits/oilrecord", "stillwatch/permits/paper",
		"stillwatch/permits/register", "stillwatch/web/screens"},
	"web/office/desk": {"stillwatch/isolation", "stillwatch/isolation/plantfile", "stillwatch/permits",
		"stillwatch/permits/lookback",
		"stillwatch/permits/shore", "stillwatch/web/screens"},
	"web/sample": {"stillwatch/permits/shore", "stillwatch/web/office/desk",
		"stillwatch/isolation", "stillwatch/isolation/plantfile", "stillwatch/isolation/proved",
		"stillwatch/permits", "stillwatch/permits/lookback", "stillwatch/permits/oilrecord",
		"stillwatch/permits/register",
		"stillwatch/web/screens",
		"stillwatch/web/static"},
	// The pages ask the register; no query and no PDF drawing happens in a handler.
	"web": {"stillwatch/isolation", "stillwatch/isolation/plantfile", "stillwatch/isolation/exchange",
		"stillwatch/isolation/planner",
		"stillwatch/isolation/proved", "stillwatch/permits", "stillwatch/permits/lookback", "stillwatch/permits/oilrecord",
		"stillwatch/permits/register",
		"stillwatch/permits/paper", "stillwatch/web/authority", "stillwatch/web/metrics", "stillwatch/web/screens",
		"stillwatch/web/sheets", "stillwatch/web/site", "stillwatch/web/static", "github.com/gin-gonic/gin/...",
		"github.com/alexedwards/scs/...", "github.com/prometheus/client_golang/..."},
	// What the commands share: flags and environment, folders, addresses, the version.
	"cmd/stillwatch/line": {"github.com/spf13/..."},
	// Each command that is more than a file is a package of its own.
	"cmd/stillwatch/calc": {"stillwatch/cmd/stillwatch/line", "stillwatch/isolation/drain", "stillwatch/isolation/energy",
		"github.com/spf13/cobra"},
	"cmd/stillwatch/doctor": {"stillwatch/cmd/stillwatch/line", "stillwatch/permits", "stillwatch/permits/paper",
		"stillwatch/permits/register", "stillwatch/permits/shore/sender", "stillwatch/web/authority",
		"golang.org/x/sys/...", "github.com/spf13/cobra"},
	"cmd/stillwatch/shore": {"stillwatch/cmd/stillwatch/line", "stillwatch/permits/shore", "stillwatch/web/authority",
		"stillwatch/web/office", "github.com/spf13/..."},
	"cmd/stillwatch/ship": {"stillwatch/cmd/stillwatch/line", "stillwatch/permits/register",
		"stillwatch/permits/shore/sender", "github.com/spf13/cobra"},
	"cmd/stillwatch/demo": {"stillwatch/cmd/stillwatch/line", "stillwatch/isolation", "stillwatch/isolation/plantfile",
		"stillwatch/permits", "stillwatch/permits/register", "stillwatch/web", "stillwatch/web/screens",
		"golang.org/x/net/html", "github.com/spf13/cobra"},
	"cmd/stillwatch": {"stillwatch/...", "github.com/spf13/...", "gorm.io/...", "golang.org/x/mod/..."},
}

// pure names the packages that read no clock and write nowhere, so that a plan or a permit can be computed again years
// later.
var pure = []string{"isolation/cut", "isolation/sat", "isolation/sequence", "isolation/drain", "isolation/energy",
	"isolation/atmosphere", "isolation", "isolation/plantfile", "isolation/graph", "isolation/envelope",
	"isolation/planner", "isolation/proof",
	"isolation/drawing/svg", "isolation/drawing/diagram", "isolation/drawing/chart", "isolation/proved", "permits",
	"permits/oilrecord", "web/screens", "web/sheets"}

var bannedNames = []string{"utils", "util", "helpers", "helper", "common", "types", "models", "base", "service",
	"manager", "impl", "misc"}

// goFile is one Go file of the tree.
type goFile struct {
	path string // from the top of the tree, with slashes
	dir  string
	file *ast.File
	set  *token.FileSet
}

func (f goFile) isTest() bool { return strings.HasSuffix(f.path, "_test.go") }

func (f goFile) lines(n ast.Node) int {
	return f.set.Position(n.End()).Line - f.set.Position(n.Pos()).Line + 1
}

func houseFiles(t *testing.T) []goFile {
	t.Helper()
	top := filepath.Join("..", "..")
	var files []goFile
	err := filepath.WalkDir(top, func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() && (d.Name() == ".git" || d.Name() == "testdata") {
			if err == nil {
				err = fs.SkipDir
			}
			return err
		}
		if filepath.Ext(p) != ".go" {
			return nil
		}
		set := token.NewFileSet()
		parsed, err := parser.ParseFile(set, p, nil, parser.ParseComments)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(top, p)
		rel = filepath.ToSlash(rel)
		files = append(files, goFile{path: rel, dir: path.Dir(rel), file: parsed, set: set})
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return files
}

func TestImportsRunDownward(t *testing.T) {
	for _, f := range houseFiles(t) {
		if f.isTest() {
			continue
		}
		allowed, known := mayImport[f.dir]
		if !known {
			t.Errorf("%s: package %s has no place in the house's list of packages", f.path, f.dir)
			continue
		}
		for _, spec := range f.file.Imports {
			name, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				t.Fatal(err)
			}
			if isStandard(name) || slices.ContainsFunc(allowed, func(a string) bool { return matches(a, name) }) {
				continue
			}
			t.Errorf("%s imports %s, which %s may not", f.path, name, f.dir)
		}
	}
}

// A plan is made by one algorithm and checked by another. If the proof could see the planner, or the envelope and the
// graph that the planner starts from, a fault there could hide itself in the very check that should find it. So the
// proof has its own view of the plant, and this rule stands apart from the list, which somebody could extend.
func TestTheProofSharesNothingWithWhatItChecks(t *testing.T) {
	for _, f := range houseFiles(t) {
		if f.isTest() || f.dir != "isolation/proof" {
			continue
		}
		for _, spec := range f.file.Imports {
			name, _ := strconv.Unquote(spec.Path.Value)
			if !isStandard(name) && name != "stillwatch/isolation" && name != "stillwatch/isolation/atmosphere" {
				t.Errorf("%s imports %s: the proof knows the nouns and the published limits alone", f.path, name)
			}
		}
	}
}

func isStandard(name string) bool {
	first, _, _ := strings.Cut(name, "/")
	return !strings.Contains(first, ".") && first != "stillwatch"
}

func matches(pattern, name string) bool {
	below, all := strings.CutSuffix(pattern, "/...")
	return name == pattern || all && (name == below || strings.HasPrefix(name, below+"/"))
}

func TestPurePackagesReadNoClockAndWriteNoLog(t *testing.T) {
	for _, f := range houseFiles(t) {
		if f.isTest() || !slices.Contains(pure, f.dir) {
			continue
		}
		for _, spec := range f.file.Imports {
			for _, banned := range []string{`"os"`, `"log"`, `"log/slog"`, `"net/http"`, `"database/sql"`} {
				if spec.Path.Value == banned {
					t.Errorf("%s imports %s: %s is pure", f.path, banned, f.dir)
				}
			}
		}
		ast.Inspect(f.file, func(n ast.Node) bool {
			if s, ok := n.(*ast.SelectorExpr); ok {
				if x, ok := s.X.(*ast.Ident); ok && x.Name == "time" &&
					(s.Sel.Name == "Now" || s.Sel.Name == "Since" || s.Sel.Name == "Until") {
					t.Errorf("%s:%d reads the clock; time is an argument here", f.path, f.set.Position(s.Pos()).Line)
				}
			}
			return true
		})
	}
}

func TestFilesAndFunctionsStayShort(t *testing.T) {
	for _, f := range houseFiles(t) {
		if n := f.set.File(f.file.Pos()).LineCount(); n > maxFileLines {
			t.Errorf("%s has %d lines, %d at most: two ideas in one file?", f.path, n, maxFileLines)
		}
		for _, d := range f.file.Decls {
			fn, ok := d.(*ast.FuncDecl)
			if !ok {
				continue
			}
			if n := f.lines(fn); n > maxFunctionLines && !f.isTest() && !isTable(fn) {
				t.Errorf("%s: %s has %d lines, %d at most", f.path, fn.Name.Name, n, maxFunctionLines)
			}
			if n := fn.Type.Params.NumFields(); n > maxParameters && !f.isTest() {
				t.Errorf("%s: %s takes %d parameters, %d at most: make a struct", f.path, fn.Name.Name, n, maxParameters)
			}
		}
	}
}

func TestFoldersStaySmall(t *testing.T) {
	count := map[string]int{}
	for _, f := range houseFiles(t) {
		if !f.isTest() {
			count[f.dir]++
		}
	}
	for dir, n := range count {
		if most := max(maxFilesAFolder, crowded[dir]); n > most {
			t.Errorf("%s has %d files, %d at most: two ideas in one folder?", dir, n, most)
		}
	}
	for dir, said := range crowded {
		if n := count[dir]; n < said {
			t.Errorf("%s has %d files and is listed with %d: lower the number, so that it stays", dir, n, said)
		}
	}
}

func TestLinesFitTheScreen(t *testing.T) {
	for _, f := range houseFiles(t) {
		raw := map[int]bool{} // lines with a part of a raw string
		ast.Inspect(f.file, func(n ast.Node) bool {
			if lit, ok := n.(*ast.BasicLit); ok && lit.Kind == token.STRING && lit.Value[0] == '`' {
				for i := f.set.Position(lit.Pos()).Line; i <= f.set.Position(lit.End()).Line; i++ {
					raw[i] = true
				}
			}
			return true
		})
		text, err := os.ReadFile(filepath.Join("..", "..", f.path))
		if err != nil {
			t.Fatal(err)
		}
		for i, line := range strings.Split(string(text), "\n") {
			if n := utf8.RuneCountInString(line); n > maxLineWidth && !raw[i+1] {
				t.Errorf("%s:%d: %d characters, %d at most", f.path, i+1, n, maxLineWidth)
			}
		}
	}
}

// isTable reports whether a function is one literal and nothing else: a table may be as long as what it lists.
func isTable(fn *ast.FuncDecl) bool {
	if fn.Body == nil || len(fn.Body.List) != 1 {
		return false
	}
	ret, ok := fn.Body.List[0].(*ast.ReturnStmt)
	if !ok || len(ret.Results) != 1 {
		return false
	}
	_, ok = ret.Results[0].(*ast.CompositeLit)
	return ok
}

func TestNamesSayWhatIsInside(t *testing.T) {
	for _, f := range houseFiles(t) {
		name := strings.TrimSuffix(strings.TrimSuffix(path.Base(f.path), ".go"), "_test")
		if slices.Contains(bannedNames, name) || slices.Contains(bannedNames, f.file.Name.Name) {
			t.Errorf("%s: the name says nothing about what is inside", f.path)
		}
	}
}

func TestEveryPackageSaysWhatItIsFor(t *testing.T) {
	said := map[string]bool{}
	for _, f := range houseFiles(t) {
		said[f.dir] = said[f.dir] || f.file.Doc != nil
	}
	for dir, ok := range said {
		if !ok {
			t.Errorf("package %s has no package comment", dir)
		}
	}
}

func TestEveryExportedNameIsExplained(t *testing.T) {
	for _, f := range houseFiles(t) {
		if f.isTest() {
			continue
		}
		for _, d := range f.file.Decls {
			switch d := d.(type) {
			case *ast.FuncDecl:
				if d.Name.IsExported() && d.Doc == nil && (d.Recv == nil || receiverIsExported(d)) {
					t.Errorf("%s: %s has no comment", f.path, d.Name.Name)
				}
			case *ast.GenDecl:
				for _, spec := range d.Specs {
					checkSpec(t, f, d, spec)
				}
			}
		}
	}
}

func receiverIsExported(d *ast.FuncDecl) bool {
	x := d.Recv.List[0].Type
	if s, ok := x.(*ast.StarExpr); ok {
		x = s.X
	}
	id, ok := x.(*ast.Ident)
	return ok && id.IsExported()
}

func checkSpec(t *testing.T, f goFile, d *ast.GenDecl, spec ast.Spec) {
	switch s := spec.(type) {
	case *ast.TypeSpec:
		if s.Name.IsExported() && d.Doc == nil && s.Doc == nil {
			t.Errorf("%s: type %s has no comment", f.path, s.Name.Name)
		}
	case *ast.ValueSpec:
		for _, name := range s.Names {
			if name.IsExported() && d.Doc == nil && s.Doc == nil && s.Comment == nil {
				t.Errorf("%s: %s has no comment", f.path, name.Name)
			}
		}
	}
}
