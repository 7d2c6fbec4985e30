package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/xuri/excelize/v2"
)

var update = flag.Bool("update", false, "write what was found as what is expected")

// TestMain makes the test binary be circlip itself when it is called so.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"circlip": main})
}

// The scripts of testdata/cli say what the program does as its users meet it.
// Beside testscript's own commands they have these:
//
//	database demo|small|empty   work on a database of one's own, with that book loaded
//	exits N circlip …           run the program; its exit status must be N
//	widest N FILE               no line is wider than N characters, but for those that hold a path
//	fill FILE TAB LABEL VALUE   type into the field of that label above a table
//	retype FILE TAB CODE COLUMN VALUE   on the row of that code of a sheet, type into a column as a person would
//	shape FILE                  print the keys of the one JSON document in FILE, each with its kinds of values
//
// and the variables $DEMO and $SMALL, the books' folders, and $OPEN, a folder
// that the private server's account may enter.
func TestScripts(t *testing.T) {
	t.Parallel()
	books, err := filepath.Abs("../../testdata")
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir:                 "../../testdata/cli",
		UpdateScripts:       *update,
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Setup: func(e *testscript.Env) error {
			e.Setenv("DEMO", filepath.Join(books, "demo"))
			e.Setenv("SMALL", filepath.Join(books, "cli", "small"))
			e.Setenv("OPEN", openFolder(t))
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"database": func(ts *testscript.TestScript, _ bool, args []string) {
				ts.Setenv("DATABASE_URL", database(t, args[0]))
			},
			"exits": exits, "widest": widest, "shape": shape, "retype": retype, "fill": fill,
		},
	})
}

// openFolder is a temporary folder that every account may pass through, in
// memory where there is such a disk.
func openFolder(t testing.TB) string {
	t.Helper()
	root := ""
	if info, err := os.Stat("/dev/shm"); err == nil && info.IsDir() {
		root = "/dev/shm"
	}
	dir, err := os.MkdirTemp(root, "circlip-cli-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.RemoveAll(dir) })
	if err := os.Chmod(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	return dir
}

func exits(ts *testscript.TestScript, _ bool, args []string) {
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	err = ts.Exec(args[1], args[2:]...)
	status := 0
	var failed *exec.ExitError
	if errors.As(err, &failed) {
		status = failed.ExitCode()
	} else {
		ts.Check(err)
	}
	if status != want {
		ts.Fatalf("exit status %d, expected %d", status, want)
	}
}

func widest(ts *testscript.TestScript, _ bool, args []string) {
	most, err := strconv.Atoi(args[0])
	ts.Check(err)
	text := ts.ReadFile(args[1])
	if text == "" {
		ts.Fatalf("%s is empty", args[1])
	}
	for line := range strings.Lines(text) {
		line = strings.TrimSuffix(line, "\n")
		if width := utf8.RuneCountInString(line); width > most && !strings.Contains(line, ts.Getenv("WORK")) {
			ts.Fatalf("%d characters wide, expected at most %d: %s", width, most, line)
		}
	}
}

func shape(ts *testscript.TestScript, _ bool, args []string) {
	text, err := shapeOf(ts.ReadFile(args[0]))
	ts.Check(err)
	_, err = io.WriteString(ts.Stdout(), text)
	ts.Check(err)
}

// shapeOf lists every key of a JSON document in the order of the document, as
// orders[].lines[].qty, with the kinds of values that it was found to have.
func shapeOf(document string) (string, error) {
	d := json.NewDecoder(strings.NewReader(document))
	d.UseNumber()
	w := shapeWalk{decoder: d, kinds: map[string][]string{}}
	if err := w.value(""); err != nil {
		return "", err
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return "", errors.New("more than one document")
	}
	var text bytes.Buffer
	for _, key := range w.keys {
		slices.Sort(w.kinds[key])
		fmt.Fprintf(&text, "%s %s\n", key, strings.Join(w.kinds[key], "|"))
	}
	return text.String(), nil
}

type shapeWalk struct {
	decoder *json.Decoder
	keys    []string // in the order in which they came
	kinds   map[string][]string
}

// value walks the value at a path.
func (w *shapeWalk) value(path string) error {
	token, err := w.decoder.Token()
	if err != nil {
		return err
	}
	switch token {
	case json.Delim('['):
		for w.decoder.More() {
			if err := w.value(path + "[]"); err != nil {
				return err
			}
		}
		_, err = w.decoder.Token()
		return err
	case json.Delim('{'):
		for w.decoder.More() {
			key, err := w.decoder.Token()
			if err != nil {
				return err
			}
			if err := w.value(strings.TrimPrefix(fmt.Sprintf("%s.%s", path, key), ".")); err != nil {
				return err
			}
		}
		_, err = w.decoder.Token()
		return err
	}
	w.note(path, kindOf(token))
	return nil
}

func (w *shapeWalk) note(path, kind string) {
	kinds, known := w.kinds[path]
	if !known {
		w.keys = append(w.keys, path)
	}
	if !slices.Contains(kinds, kind) {
		w.kinds[path] = append(kinds, kind)
	}
}

// written are the forms that texts of a document have.
var written = []struct {
	kind string
	form *regexp.Regexp
}{
	{"day", regexp.MustCompile(`^\d{4}-\d{2}-\d{2}$`)},
	{"week", regexp.MustCompile(`^\d{4}-W\d{2}$`)},
	{"amount", regexp.MustCompile(`^\d+\.\d{2}$`)},
}

func kindOf(value any) string {
	switch v := value.(type) {
	case nil:
		return "null"
	case bool:
		return "bool"
	case json.Number:
		return "number"
	case string:
		for _, w := range written {
			if w.form.MatchString(v) {
				return w.kind
			}
		}
	}
	return "text"
}

func TestShapeOfADocument(t *testing.T) {
	for rule, c := range map[string]struct{ document, want string }{
		"keys in their order, values by kind": {`{"b":1,"a":"2026-01-02","c":"1.50","w":"2026-W02"}`, "b number\na day\nc amount\nw week\n"},
		"lists are walked, kinds joined":      {`{"l":[{"x":1},{"x":null,"y":"t"}]}`, "l[].x null|number\nl[].y text\n"},
		"an empty list has no keys":           {`{"l":[]}`, ""},
	} {
		if got, err := shapeOf(c.document); err != nil || got != c.want {
			t.Errorf("%s: %q, %v, expected %q", rule, got, err, c.want)
		}
	}
	for rule, document := range map[string]string{"two documents": "{}{}", "a message before": "circlip: {}", "nothing": "", "half": `{"a":`} {
		if got, err := shapeOf(document); err == nil {
			t.Errorf("%s: taken as %q", rule, got)
		}
	}
}

// retype changes one cell of the row whose "Our code" is the code.
func retype(ts *testscript.TestScript, _ bool, args []string) {
	path, tab, code, column, value := ts.MkAbs(args[0]), args[1], args[2], args[3], args[4]
	file, err := excelize.OpenFile(path)
	ts.Check(err)
	defer file.Close()
	rows, err := file.GetRows(tab)
	ts.Check(err)
	typed := any(value)
	if number, err := strconv.ParseFloat(value, 64); err == nil {
		typed = number
	}
	codes, at := -1, -1
	for r, cells := range rows {
		for c, text := range cells {
			switch {
			case text == "Our code":
				codes = c
			case strings.HasPrefix(text, column):
				at = c
			}
		}
		if codes >= 0 && at >= 0 && codes < len(cells) && cells[codes] == code {
			cell, err := excelize.CoordinatesToCellName(at+1, r+1)
			ts.Check(err)
			ts.Check(file.SetCellValue(tab, cell, typed))
			ts.Check(file.Save())
			return
		}
	}
	ts.Fatalf("no row of %s with a column %s on the sheet %s of %v", code, column, tab, file.GetSheetList())
}

// fill types into the cell beside a label.
func fill(ts *testscript.TestScript, _ bool, args []string) {
	path, tab, label, value := ts.MkAbs(args[0]), args[1], args[2], args[3]
	file, err := excelize.OpenFile(path)
	ts.Check(err)
	defer file.Close()
	at, err := file.SearchSheet(tab, label)
	ts.Check(err)
	if len(at) != 1 {
		ts.Fatalf("the label %q stands %d times on the sheet %s of %v", label, len(at), tab, file.GetSheetList())
	}
	column, row, err := excelize.CellNameToCoordinates(at[0])
	ts.Check(err)
	beside, err := excelize.CoordinatesToCellName(column+1, row)
	ts.Check(err)
	ts.Check(file.SetCellStr(tab, beside, value))
	ts.Check(file.Save())
}
