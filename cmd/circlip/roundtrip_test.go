package main

import (
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"circlip/inventory"
	"circlip/inventory/book"
)

// filledIn is a book that went into a database, and what came out of it.
type filledIn struct {
	name, asOf string
	dsn        string
	folder     string // saved as CSV files
	workbook   string // saved as .xlsx
	files      files  // of the folder
	plan       string // the document
}

// A blank book is filled in, loaded and saved; what was saved loads to the same
// state again, whichever format it has and whoever saved it in between: no row
// is new or changed, nothing moves, and the plan is the same.
func TestARoundTripIsAFixedPoint(t *testing.T) {
	t.Parallel()
	demo := map[string]table{}
	for name, text := range folderOf(t, "../../testdata/demo") {
		if known, ok := book.TableOf(strings.TrimSuffix(name, ".csv")); ok {
			demo[known.Name] = readTable(t, known, text)
		}
	}
	all := []filledIn{fillIn(t, "demo", "2026-06-15", demo)}
	for seed := range uint64(2) {
		all = append(all, fillIn(t, fmt.Sprintf("generated-%d", seed), "2026-04-06", generated(seed)))
	}
	for _, b := range all {
		t.Run(b.name+" as CSV", func(t *testing.T) { t.Parallel(); b.comesBack(t, b.folder) })
		t.Run(b.name+" as xlsx", func(t *testing.T) { t.Parallel(); b.comesBack(t, b.workbook) })
	}
	for format, convert := range map[string]func(*testing.T, []filledIn) string{"CSV": foldersByOffice, "xlsx": workbooksByOffice} {
		t.Run("by LibreOffice as "+format, func(t *testing.T) {
			t.Parallel()
			theirs := convert(t, all)
			for _, b := range all {
				t.Run(b.name, func(t *testing.T) { b.comesBack(t, filepath.Join(theirs, b.name+suffix[format])) })
			}
		})
	}
}

var suffix = map[string]string{"CSV": "", "xlsx": ".xlsx"}

// fillIn fills in a blank book, loads and saves it.
func fillIn(t *testing.T, name, asOf string, tables map[string]table) filledIn {
	t.Helper()
	dir := t.TempDir()
	b := filledIn{
		name: name, asOf: asOf, dsn: database(t, "empty"),
		folder: filepath.Join(dir, name), workbook: filepath.Join(dir, name+".xlsx"),
	}
	blank := filepath.Join(dir, "blank.xlsx")
	done(t, "book", "blank", blank)
	rows := typeInto(t, blank, tables)
	if loaded := load(t, b.dsn, blank); loaded.rows != rows || loaded.fresh != rows || loaded.movements == 0 {
		t.Fatalf("%s: loaded %+v, expected %d new rows and some movements", name, loaded, rows)
	}
	done(t, "book", "save", b.folder, "--database", b.dsn)
	done(t, "book", "save", b.workbook, "--database", b.dsn)
	b.files, b.plan = folderOf(t, b.folder), b.planned(t, b.dsn)
	if !strings.Contains(b.plan, `"cause":`) {
		t.Fatalf("%s: nothing is planned: %s", name, b.plan)
	}
	return b
}

func (b filledIn) planned(t *testing.T, dsn string) string {
	t.Helper()
	return done(t, "plan", "--json", "--as-of", b.asOf, "--out", filepath.Join(t.TempDir(), "reorder.xlsx"), "--database", dsn)
}

// comesBack loads a saved book into the database that it came from, where it is
// all there, and into one of its own, where it is all new.
func (b filledIn) comesBack(t *testing.T, path string) {
	t.Helper()
	again := load(t, b.dsn, path)
	if again != (loaded{rows: again.rows}) {
		t.Errorf("where it came from: %+v, expected no change", again)
	}
	fresh := database(t, "empty")
	if first := load(t, fresh, path); first.rows != again.rows || first.fresh != again.rows {
		t.Errorf("into an empty database: %+v, expected %d new rows", first, again.rows)
	}
	if diff := cmp.Diff(b.files, saved(t, fresh)); diff != "" {
		t.Errorf("saved again it differs: %s", diff)
	}
	if diff := cmp.Diff(b.plan, b.planned(t, fresh)); diff != "" {
		t.Errorf("the plan differs: %s", diff)
	}
}

// loaded counts what a load did.
type loaded struct{ rows, fresh, changed, missing, movements int }

func load(t *testing.T, dsn, path string) loaded {
	t.Helper()
	var d loadDocument
	if err := json.Unmarshal([]byte(done(t, "load", path, "--json", "--database", dsn)), &d); err != nil {
		t.Fatal(err)
	}
	l := loaded{movements: d.Movements}
	for _, table := range d.Tables {
		l.rows += table.Rows
		l.fresh += table.New
		l.changed += table.Changed
		l.missing += table.Missing
	}
	return l
}

// readTable reads a CSV file into rows in the order of the table's columns.
func readTable(t *testing.T, known book.Table, text string) table {
	t.Helper()
	lines, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	at := map[string]int{}
	for i, name := range lines[0] {
		at[name] = i
	}
	var rows table
	for _, line := range lines[1:] {
		row := make([]string, len(known.Columns))
		for i, c := range known.Columns {
			if from, there := at[c.Name]; there {
				row[i] = line[from]
			}
		}
		rows = append(rows, row)
	}
	return rows
}

// typeInto writes the tables into a workbook as a person does: numbers and days
// as such, everything else as text, below the heads that are there. It returns
// how many rows the book then has.
func typeInto(t *testing.T, path string, tables map[string]table) (rows int) {
	t.Helper()
	f, err := excelize.OpenFile(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for name, typed := range tables {
		known, _ := book.TableOf(name)
		if name == "settings" { // the keys are there; those left blank stay
			typed = settingsRows(typed)
		}
		rows += len(typed)
		for r, row := range typed {
			for c, text := range row {
				typeCell(t, f, known, c, 2+r, text)
			}
		}
	}
	if err := f.Save(); err != nil {
		t.Fatal(err)
	}
	return rows
}

// settingsRows puts the settings into the order of the blank book.
func settingsRows(typed table) table {
	values := map[string]string{}
	for _, row := range typed {
		values[row[0]] = row[1]
	}
	var rows table
	for _, c := range book.Settings {
		rows = append(rows, []string{c.Name, values[c.Name]})
	}
	return rows
}

func typeCell(t *testing.T, f *excelize.File, known book.Table, column, row int, text string) {
	t.Helper()
	cell, err := excelize.CoordinatesToCellName(column+1, row)
	if err != nil {
		t.Fatal(err)
	}
	switch known.Columns[column].Kind {
	case book.Integer, book.Decimal, book.Quantity, book.Money, book.UnitCost:
		var number float64
		if number, err = strconv.ParseFloat(text, 64); err == nil {
			err = f.SetCellFloat(known.Name, cell, number, -1, 64)
		}
	case book.Date:
		var day inventory.Date
		if day, err = inventory.ParseDate(text); err == nil {
			err = f.SetCellInt(known.Name, cell, int64(day)+25569) // 1970-01-01 as a spreadsheet counts
		}
	default:
		err = f.SetCellStr(known.Name, cell, text)
	}
	if err != nil && text != "" {
		t.Fatalf("%s %s: %v", known.Name, cell, err)
	}
}

// A hidden sheet is read like any other, and said to be hidden: nobody sees
// what it holds.
func TestAHiddenSheetIsTold(t *testing.T) {
	t.Parallel()
	dsn, path := database(t, "small"), filepath.Join(t.TempDir(), "book.xlsx")
	done(t, "book", "save", path, "--database", dsn)
	f, err := excelize.OpenFile(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := errors.Join(f.SetSheetVisible("stock", false), f.Save()); err != nil {
		t.Fatal(err)
	}
	o := circlip(t, "load", path, "--database", dsn)
	if o.status != statusDone || !strings.HasPrefix(o.err, "circlip: warning: ") || !strings.Contains(o.err, "stock") {
		t.Errorf("exit status %d and %q, expected a warning of the sheet stock", o.status, o.err)
	}
}
