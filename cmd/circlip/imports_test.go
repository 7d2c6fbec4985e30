package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// arrows is who may import whom among our own packages: a statement of
// policy. Change the code, not this table.
var arrows = map[string][]string{
	"inventory":                  {},
	"inventory/book":             {"inventory"},
	"inventory/book/folder":      {"inventory/book"},
	"inventory/audit":            {"inventory"},
	"inventory/cost":             {"inventory"},
	"inventory/oring":            {"inventory"},
	"forecast":                   {},
	"forecast/stock":             {"forecast"},
	"forecast/learn":             {"forecast"},
	"forecast/series":            {"forecast"},
	"forecast/score":             {"forecast"},
	"forecast/rehearse":          {"forecast"},
	"forecast/order":             {},
	"db":                         {"inventory", "inventory/book", "inventory/cost"},
	"db/local":                   {"inventory"},
	"db/dbtest":                  {"db", "db/local"},
	"reports/lessons":            {"inventory", "forecast", "forecast/learn", "forecast/series"},
	"reports/plan":               {"inventory", "inventory/audit", "forecast", "forecast/stock", "forecast/order", "forecast/learn", "reports/lessons"},
	"reports/rehearsal":          {"inventory", "forecast", "forecast/rehearse", "forecast/score", "forecast/series", "reports/plan", "reports/rehearsal/invented"},
	"reports/rehearsal/invented": {"inventory"},
	"reports/chart":              {"inventory"},
	"reports":                    {"inventory", "inventory/oring", "inventory/audit", "inventory/cost", "forecast/learn", "forecast/score", "forecast/rehearse", "reports/lessons", "reports/plan", "reports/rehearsal", "reports/chart"},
	"reports/workbook":           {"inventory", "inventory/audit", "inventory/book", "inventory/cost", "reports", "reports/plan", "reports/rehearsal", "reports/chart"},
	"reports/web":                {"reports", "reports/chart"},
	"cmd/circlip":                {"*"},
}

// homes are outside packages with one home each; "!" before a package of ours
// means everywhere but there.
var homes = map[string][]string{
	"github.com/go-playground/validator/v10": {"inventory/book"},
	"github.com/xuri/excelize/v2":            {"reports/workbook"},
	"github.com/boombuler/barcode":           {"reports"},
	"github.com/jackc/pgx/v5":                {"db", "db/local", "db/dbtest"},
	"github.com/alecthomas/kong":             {"cmd/circlip"},
	"net/http":                               {},
	"html/template":                          {"reports/web"},
	"database/sql":                           {},
	"math/rand":                              {},
}

// pure packages know no clock, no files, no context, no processes.
var pure = []string{"inventory", "inventory/book", "inventory/audit", "inventory/cost", "inventory/oring", "forecast", "forecast/stock", "forecast/learn", "forecast/series", "forecast/score", "forecast/rehearse", "forecast/order", "reports/lessons", "reports/plan"}

var impure = []string{"os", "context", "net", "os/exec", "database/sql", "github.com/jackc/pgx/v5"}

// forTests may be imported by tests alone.
var forTests = []string{"circlip/db/dbtest", "testing", "github.com/google/go-cmp/cmp", "pgregory.net/rapid", "github.com/rogpeppe/go-internal/testscript", "github.com/makiuchi-d/gozxing", "github.com/makiuchi-d/gozxing/qrcode"}

func TestArrowsBetweenPackages(t *testing.T) {
	eachFile(t, func(pkg, file string, imports []string) {
		allowed, known := arrows[pkg]
		if !known && !isTest(file) {
			t.Errorf("%s: package %s stands in no row of the table of arrows", file, pkg)
		}
		for _, imported := range imports {
			ours, is := strings.CutPrefix(imported, "circlip/")
			if is && !isTest(file) && !slices.Contains(allowed, ours) && !slices.Contains(allowed, "*") {
				t.Errorf("%s imports %s, which %s may not", file, ours, pkg)
			}
		}
	})
}

func TestOutsidePackagesHaveOneHome(t *testing.T) {
	eachFile(t, func(pkg, file string, imports []string) {
		if isTest(file) {
			return
		}
		for _, imported := range imports {
			for outside, at := range homes {
				if (imported == outside || strings.HasPrefix(imported, outside+"/")) && imported != "math/rand/v2" && !slices.Contains(at, pkg) {
					t.Errorf("%s imports %s, whose only home is %v", file, imported, at)
				}
			}
			if slices.Contains(pure, pkg) && slices.Contains(impure, imported) {
				t.Errorf("%s imports %s: %s is pure", file, imported, pkg)
			}
			if slices.Contains(forTests, imported) && pkg != "db/dbtest" && !strings.HasSuffix(pkg, "test") {
				t.Errorf("%s imports %s, which is for tests", file, imported)
			}
		}
	})
}

// The clock is read where commands begin, and where the database is waited for.
func TestPurePackagesReadNoClock(t *testing.T) {
	root := os.DirFS("../..")
	eachFile(t, func(pkg, file string, _ []string) {
		if isTest(file) || !slices.Contains(pure, pkg) {
			return
		}
		source, err := fs.ReadFile(root, file)
		if err != nil {
			t.Fatal(err)
		}
		for _, word := range []string{"time.Now(", "rand.Int", "rand.Float64()", "rand.Perm("} {
			if strings.Contains(string(source), word) {
				t.Errorf("%s has %s…: what it needs must be handed in", file, word)
			}
		}
	})
}

func isTest(file string) bool { return strings.HasSuffix(file, "_test.go") }

// eachFile parses the imports of every Go file of the project. It reads the
// files itself: a test that asks a command to do so is not run again when they
// change.
func eachFile(t *testing.T, visit func(pkg, file string, imports []string)) {
	t.Helper()
	root := os.DirFS("../..")
	for _, top := range []string{"cmd", "inventory", "forecast", "db", "reports"} {
		err := fs.WalkDir(root, top, func(file string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !strings.HasSuffix(file, ".go") {
				return err
			}
			source, err := fs.ReadFile(root, file)
			if err != nil {
				return err
			}
			parsed, err := parser.ParseFile(token.NewFileSet(), file, source, parser.ImportsOnly)
			if err != nil {
				return err
			}
			var imports []string
			for _, i := range parsed.Imports {
				name, _ := strconv.Unquote(i.Path.Value)
				imports = append(imports, name)
			}
			visit(path.Dir(file), file, imports)
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
}
