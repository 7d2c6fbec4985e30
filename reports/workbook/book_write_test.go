package workbook

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"iter"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	gocmp "github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"

	"circlip/inventory"
	"circlip/inventory/book"
)

// contents are the rows of a book's tables as texts.
type contents map[string][][]string

// tables gives the contents in the book's order.
func (c contents) tables() iter.Seq2[book.Table, iter.Seq2[[]string, error]] {
	return func(yield func(book.Table, iter.Seq2[[]string, error]) bool) {
		for _, t := range book.Tables {
			if rows, ok := c[t.Name]; ok && !yield(t, each(rows)) {
				return
			}
		}
	}
}

func each(rows [][]string) iter.Seq2[[]string, error] {
	return func(yield func([]string, error) bool) {
		for _, row := range rows {
			if !yield(row, nil) {
				return
			}
		}
	}
}

// contentsOf reads a book as load does and writes what it read as texts again.
func contentsOf(t testing.TB, source book.Source) contents {
	t.Helper()
	c := contents{}
	context := &book.Context{}
	tables, warnings := book.Match(source.Tables())
	for _, table := range tables {
		c[table.Name] = [][]string{}
		faults, more, err := book.Read(table, source.Rows(table.Name), context, func(r book.Record) error {
			c[table.Name] = append(c[table.Name], table.Format(r.Values, context))
			return nil
		})
		for _, f := range faults {
			t.Error(f)
		}
		if warnings = append(warnings, more...); err != nil {
			t.Fatal(err)
		}
	}
	for _, w := range warnings {
		t.Error("warning:", w)
	}
	return c
}

// demo is the book that the demo loads, our own invention; tables that it leaves
// out are empty.
func demo(t testing.TB) contents {
	t.Helper()
	source, err := book.Folder(os.DirFS("../../testdata/demo"))
	if err != nil {
		t.Fatal(err)
	}
	defer source.Close()
	c := contentsOf(t, source)
	for _, table := range book.Tables {
		if c[table.Name] == nil {
			c[table.Name] = [][]string{}
		}
	}
	return c
}

// tablePart is the part of a table's sheet in a book as we write it: one tells
// how to fill it in, the others are the tables.
func tablePart(table string) string {
	at := slices.IndexFunc(book.Tables, func(t book.Table) bool { return t.Name == table })
	return fmt.Sprintf("xl/worksheets/sheet%d.xml", at+2)
}

func opened(t testing.TB, path string) *Book {
	t.Helper()
	b, err := OpenBook(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close() })
	return b
}

func TestABookWrittenAndReadIsTheSame(t *testing.T) {
	want := demo(t)
	path := filepath.Join(t.TempDir(), "book.xlsx")
	if err := WriteBook(path, want.tables()); err != nil {
		t.Fatal(err)
	}
	if diff := gocmp.Diff(want, contentsOf(t, opened(t, path))); diff != "" {
		t.Error(diff)
	}
}

func TestTheSameBookGivesTheSameBytes(t *testing.T) {
	var files [2]bytes.Buffer
	for i := range files {
		if err := writeBook(&files[i], demo(t).tables()); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(files[0].Bytes(), files[1].Bytes()) {
		t.Error("two files of one book differ")
	}
}

// The blank book is filled in by another program: the library, as a second
// opinion on what it means.
func TestABlankBookFilledInIsTheBook(t *testing.T) {
	want := demo(t)
	path := filepath.Join(t.TempDir(), "book.xlsx")
	if err := WriteBlank(path); err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenFile(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for _, table := range book.Tables[1:] {
		for i, row := range want[table.Name] {
			for j, text := range row {
				typeIn(t, f, table, i+2, j, text)
			}
		}
	}
	values := settings(want)
	expected := settings(want)
	for i, c := range book.Settings { // the keys are there
		typeIn(t, f, book.Tables[0], i+2, 1, values[c.Name])
		expected[c.Name] = cmp.Or(values[c.Name], c.Default)
	}
	if err := f.Save(); err != nil {
		t.Fatal(err)
	}
	got := contentsOf(t, opened(t, path))
	if diff := gocmp.Diff(expected, settings(got)); diff != "" {
		t.Error(diff)
	}
	got["settings"] = want["settings"]
	if diff := gocmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// settings are the values of the settings that are not blank.
func settings(c contents) map[string]string {
	values := map[string]string{}
	for _, row := range c["settings"] {
		if row[1] != "" {
			values[row[0]] = row[1]
		}
	}
	return values
}

// typeIn enters a text as a person would: days as days, numbers as numbers.
func typeIn(t *testing.T, f *excelize.File, table book.Table, row, column int, text string) {
	t.Helper()
	cell, err := excelize.CoordinatesToCellName(column+1, row)
	if err != nil {
		t.Fatal(err)
	}
	value := any(text)
	kind := table.Columns[column].Kind
	if day, err := inventory.ParseDate(text); err == nil {
		value = day.Time()
	} else if number, err := strconv.ParseFloat(text, 64); err == nil && formOf(kind) == formNumber {
		value = number
	}
	if text == "" {
		return
	}
	if err := f.SetCellValue(table.Name, cell, value); err != nil {
		t.Fatal(err)
	}
}

func TestABlankBookHasAllSheetsHeadersAndTheSettingsKeys(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.xlsx")
	if err := WriteBlank(path); err != nil {
		t.Fatal(err)
	}
	b := opened(t, path)
	var names []string
	for _, table := range book.Tables {
		names = append(names, table.Name)
		rows, err := allRows(b, table.Name)
		if err != nil {
			t.Fatal(err)
		}
		var header []string
		for _, c := range table.Columns {
			header = append(header, c.Name)
		}
		if diff := gocmp.Diff(text(header...), rows[0].Cells); diff != "" {
			t.Errorf("header of %s: %s", table.Name, diff)
		}
		if table.Name != "settings" && len(rows) != 1 {
			t.Errorf("%s has %d rows, expected the header alone", table.Name, len(rows))
		}
	}
	if diff := gocmp.Diff(names, b.Tables()); diff != "" {
		t.Error(diff)
	}
	rows, _ := allRows(b, "settings")
	for i, c := range book.Settings {
		if diff := gocmp.Diff(book.Row{Number: i + 2, Cells: text(c.Name)}, rows[i+1]); diff != "" {
			t.Error(diff)
		}
	}
	if len(b.Warnings()) > 0 {
		t.Error(b.Warnings())
	}
}

// Checks, notes and panes that are set too late are lost without an error:
// count them in the file as it is.
func TestABlankBookChecksWhatIsTypedAndExplainsItself(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.xlsx")
	if err := WriteBlank(path); err != nil {
		t.Fatal(err)
	}
	file, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	p := unpack(t, file)
	plain := strings.NewReplacer("&#39;", "'", "&#34;", `"`)
	for i, table := range book.Tables {
		sheet, notes := p[fmt.Sprintf("xl/worksheets/sheet%d.xml", i+2)], p[fmt.Sprintf("xl/comments%d.xml", i+1)]
		for what, n := range map[string]int{"<dataValidation ": len(table.Columns), `state="frozen"`: 1, "<legacyDrawing": 1, "<dimension": 0, `fitToPage="true"`: 1, "<f>": 0} {
			if got := strings.Count(sheet, what); got != n {
				t.Errorf("sheet %s has %q %d times, expected %d", table.Name, what, got, n)
			}
		}
		for _, c := range table.Columns {
			if !strings.Contains(plain.Replace(notes), c.Help) {
				t.Errorf("sheet %s has no note %q", table.Name, c.Help)
			}
		}
	}
	for table, want := range map[string]string{
		"suppliers": `type="whole"><formula1>0</formula1><formula2>3650</formula2>`,
		"items":     `type="list"><formula1>"yes,no"</formula1>`,
		"offers":    `type="list"><formula1>OFFSET(items!$A$2,0,0,MAX(1,COUNTA(items!$A:$A)-1),1)</formula1>`,
		"kits":      `operator="greaterThan" prompt="How much of it one kit holds.&#xA;Expected: a quantity in the item's unit above 0.&#xA;Required."`,
		"units":     `type="list"><formula1>"fleet,customer"</formula1>`,
		"readings":  `type="date"><formula1>25570</formula1><formula2>109574</formula2>`,
	} {
		part := plain.Replace(p[tablePart(table)])
		if !strings.Contains(part, want) {
			t.Errorf("the sheet of %s has no %s", table, want)
		}
	}
}

func TestCellsAreStoredAsWhatTheyAre(t *testing.T) {
	rows := [][]string{{"007", "=1+1", "oil", "ml", "", "36", "no", "0.5", "1e5", "12345678901234567"}}
	var out bytes.Buffer
	if err := writeBook(&out, (contents{"items": rows, "counts": {{"x", "2027-03-01", "1.5"}, {"x", "soon"}}}).tables()); err != nil {
		t.Fatal(err)
	}
	p := unpack(t, out.Bytes())
	for _, test := range []struct{ rule, part, want string }{
		{"a code of digits stays a text", tablePart("items"), `<c r="A2" s="1" t="inlineStr"><is><t>007</t></is></c>`},
		{"a text is never a formula", tablePart("items"), `<t>=1+1</t>`},
		{"a number is a number", tablePart("items"), `<v>0.5</v>`},
		{"an exponent is no number of ours", tablePart("items"), `<t>1e5</t>`},
		{"digits that would be lost are a text", tablePart("items"), `<t>12345678901234567</t>`},
		{"a day is its serial", tablePart("counts"), `<v>46447</v>`}, // 2027-03-01, by LibreOffice
		{"what is no day is a text", tablePart("counts"), `<t>soon</t>`},
		{"a quantity is a number", tablePart("counts"), `<v>1.5</v>`},
		{"days are shown by ISO 8601", "xl/styles.xml", `formatCode="yyyy-mm-dd"`},
	} {
		if !strings.Contains(p[test.part], test.want) {
			t.Errorf("%s: no %s in %s", test.rule, test.want, p[test.part][:min(3000, len(p[test.part]))])
		}
	}
}

// Any text of Unicode comes back as it was, however it looks.
func TestEveryTextComesBack(t *testing.T) {
	piece := rapid.OneOf(rapid.String(), rapid.SampledFrom([]string{"_x0041_", "_x005F_", "_x", "_", "x0041_", "_xD83D_", "0", " ", "\n", "\r", "\t", "\x00", "\x0b", "\uFFFE", "]]>", "&amp;", "=", "'", "@", "\U0001F600"}))
	rapid.Check(t, func(t *rapid.T) {
		want := strings.Join(rapid.SliceOfN(piece, 0, 6).Draw(t, "pieces"), "")
		items, _ := book.TableOf("items")
		row, err := newRowXML(items, make([]int, len(items.Columns))).next([]string{want})
		if err != nil {
			t.Fatal(err)
		}
		rows, err := rowsOf(minimal(string(row)).pack(), "items")
		if err != nil {
			t.Fatal(err)
		}
		got := ""
		if len(rows) > 0 {
			got = rows[0].Cells[0].Text
		}
		if got != want {
			t.Fatalf("wrote %q, read %q", want, got)
		}
	})
}

func TestABookIsWrittenWholeOrNotAtAll(t *testing.T) {
	items, _ := book.TableOf("items")
	broken := errors.New("the database is gone")
	for _, test := range []struct {
		rule string
		rows iter.Seq2[[]string, error]
		want error
		text string
	}{
		{"rows that end in an error", func(yield func([]string, error) bool) { yield([]string{"a"}, nil); yield(nil, broken) }, broken, "sheet items: the database is gone"},
		{"too many cells", each([][]string{slices.Repeat([]string{"a"}, 17)}), inventory.ErrInvalid, "sheet items: invalid: 17 cells, expected at most 16"},
		{"a text too long for a cell", each([][]string{{"a", strings.Repeat("é", 32768)}}), inventory.ErrInvalid, "sheet items: row 2, column name: invalid: a text of 32768 characters, expected at most 32767"},
		{"a text that is not UTF-8", each([][]string{{"a"}, {"\xff"}}), inventory.ErrInvalid, `sheet items: row 3, column item: invalid: a text that is not UTF-8: "\xff"`},
		{"more rows than a sheet holds", func(yield func([]string, error) bool) {
			for range lastRow {
				if !yield(nil, nil) {
					return
				}
			}
		}, inventory.ErrInvalid, "sheet items: invalid: more than 1048575 rows, the most that a sheet holds; save the book as a folder of CSV files"},
	} {
		t.Run(test.rule, func(t *testing.T) {
			folder := t.TempDir()
			path := filepath.Join(folder, "book.xlsx")
			if err := os.WriteFile(path, []byte("the old book"), 0o600); err != nil {
				t.Fatal(err)
			}
			err := WriteBook(path, func(yield func(book.Table, iter.Seq2[[]string, error]) bool) { yield(items, test.rows) })
			if want := "book " + path + ": " + test.text; !errors.Is(err, test.want) || err.Error() != want {
				t.Errorf("got  %v\nwant %s", err, want)
			}
			left, _ := os.ReadDir(folder)
			if old, _ := os.ReadFile(path); string(old) != "the old book" || len(left) != 1 {
				t.Errorf("the folder holds %v and the book is %q", left, old)
			}
		})
	}
}

func TestATableIsWrittenOnce(t *testing.T) {
	items, _ := book.TableOf("items")
	for rule, tables := range map[string][]book.Table{"twice": {items, items}, "of no book": {{Name: "invoices"}}} {
		err := writeBook(&bytes.Buffer{}, func(yield func(book.Table, iter.Seq2[[]string, error]) bool) {
			for _, table := range tables {
				if !yield(table, each(nil)) {
					return
				}
			}
		})
		if !errors.Is(err, inventory.ErrInvalid) {
			t.Errorf("a table %s: %v", rule, err)
		}
	}
}

// Nothing of ours is left in the temp folder, whatever was read or written.
func TestNoTemporaryFilesAreLeft(t *testing.T) {
	temp, folder := t.TempDir(), t.TempDir()
	t.Setenv("TMPDIR", temp)
	path := filepath.Join(folder, "book.xlsx")
	if err := WriteBook(path, demo(t).tables()); err != nil {
		t.Fatal(err)
	}
	b := opened(t, path)
	for _, err := range b.Rows("readings") {
		if err != nil {
			t.Fatal(err)
		}
		break // left early
	}
	b.Close()
	for dir, want := range map[string]int{temp: 0, folder: 1} {
		if left, err := os.ReadDir(dir); err != nil || len(left) != want {
			t.Errorf("%s holds %v, %v", dir, left, err)
		}
	}
}

func TestWordsForTheChecksFit(t *testing.T) {
	if got := cut(strings.Repeat("ä", 256), messageChars); utf8.RuneCountInString(got) != messageChars || !strings.HasSuffix(got, "…") {
		t.Errorf("cut to %d characters: %q", utf8.RuneCountInString(got), got)
	}
}
