package workbook

import (
	"archive/zip"
	"bytes"
	"errors"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"circlip/inventory"
	"circlip/inventory/book"
)

// parts are the parts of a workbook made by hand.
type parts map[string]string

const (
	workbookPart = "xl/workbook.xml"
	sheetPart1   = "xl/worksheets/sheet1.xml"
	textsPart    = "xl/sharedStrings.xml"
	officeRels   = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
)

// minimal is the least workbook with one sheet, items, of these rows, and the
// shared texts zero, one and two.
func minimal(rows string) parts {
	return parts{
		"[Content_Types].xml": `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"/>`,
		"_rels/.rels": `<Relationships xmlns="` + relationships + `"><Relationship Id="a" Type="` + officeRels +
			`/officeDocument" Target="xl/workbook.xml"/></Relationships>`,
		workbookPart: `<workbook xmlns="` + mainNamespace + `" xmlns:r="` + officeRels +
			`"><sheets><sheet name="items" sheetId="1" r:id="b"/></sheets></workbook>`,
		"xl/_rels/workbook.xml.rels": `<Relationships xmlns="` + relationships + `"><Relationship Id="b" Type="` + officeRels +
			`/worksheet" Target="worksheets/sheet1.xml"/><Relationship Id="c" Type="` + officeRels +
			`/sharedStrings" Target="/xl/sharedStrings.xml"/></Relationships>`,
		sheetPart1: `<worksheet xmlns="` + mainNamespace + `"><sheetData>` + rows + `</sheetData></worksheet>`,
		textsPart:  `<sst xmlns="` + mainNamespace + `"><si><t>zero</t></si><si><t>one</t></si><si><t>two</t></si></sst>`,
	}
}

// with is p with other parts in their places; an empty text leaves one out.
func (p parts) with(others parts) parts {
	p = maps.Clone(p)
	for name, text := range others {
		if p[name] = text; text == "" {
			delete(p, name)
		}
	}
	return p
}

// replaced is p with a text of one part replaced.
func (p parts) replaced(name, old, new string) parts {
	if !strings.Contains(p[name], old) {
		panic("no " + old + " in " + name)
	}
	return p.with(parts{name: strings.Replace(p[name], old, new, 1)})
}

// pack makes the file.
func (p parts) pack() []byte {
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for _, name := range slices.Sorted(maps.Keys(p)) {
		if w, err := z.Create(name); err == nil {
			io.WriteString(w, p[name])
		}
	}
	z.Close()
	return out.Bytes()
}

// unpack is the inverse of pack.
func unpack(t testing.TB, file []byte) parts {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(file), int64(len(file)))
	if err != nil {
		t.Fatal(err)
	}
	p := parts{}
	for _, f := range z.File {
		text, err := readAll(f)
		if err != nil {
			t.Fatal(err)
		}
		p[f.Name] = string(text)
	}
	return p
}

// rowsOf reads a table of a file in memory. Rows come whole: a table that ends
// in an error has none.
func rowsOf(file []byte, table string) ([]book.Row, error) {
	b, err := openBook(bytes.NewReader(file), int64(len(file)), standard)
	if err != nil {
		return nil, err
	}
	return allRows(b, table)
}

func allRows(source book.Source, table string) ([]book.Row, error) {
	var all []book.Row
	for row, err := range source.Rows(table) {
		if err != nil {
			return nil, err
		}
		row.Cells = slices.Clone(row.Cells)
		all = append(all, row)
	}
	return all, nil
}

func text(texts ...string) []book.Cell {
	var cells []book.Cell
	for _, t := range texts {
		cells = append(cells, book.Cell{Text: t})
	}
	return cells
}

func TestCellsAreReadAsTheyAreStored(t *testing.T) {
	for _, test := range []struct {
		rule, rows string
		want       []book.Cell // of row 1
	}{
		{"numbers keep their text", `<row r="1"><c r="A1"><v>12.50</v></c><c r="B1" t="n"><v>-1.2E-3</v></c></row>`,
			[]book.Cell{{Text: "12.50", Numeric: true}, {Text: "-1.2E-3", Numeric: true}}},
		{"shared texts", `<row r="1"><c r="A1" t="s"><v>2</v></c><c r="B1" t="s"><v>0</v></c></row>`, text("two", "zero")},
		{"texts in the cell", `<row r="1"><c r="A1" t="inlineStr"><is><t>007</t></is></c></row>`, text("007")},
		{"rich texts are joined", `<row r="1"><c r="A1" t="inlineStr"><is><r><rPr><b/></rPr><t>air </t></r><r><t xml:space="preserve">can</t></r></is></c></row>`,
			text("aircan")},
		{"blanks count where they are preserved", `<row r="1"><c r="A1" t="inlineStr" xml:space="preserve"><is><t> a </t></is></c><c r="B1" t="inlineStr"><is><t> a </t></is></c></row>`,
			text(" a ", "a")},
		{"phonetic runs are left out", `<row r="1"><c r="A1" t="inlineStr"><is><t>油</t><rPh sb="0" eb="1"><t>あぶら</t></rPh><phoneticPr fontId="1"/></is></c></row>`, text("油")},
		{"escaped characters", `<row r="1"><c r="A1" t="inlineStr"><is><t>_x0041__x000D_b_x005F_x0041__xD83D__xDE00_ _x00_ _xGGGG_</t></is></c></row>`,
			text("A\rb_x0041_\U0001F600 _x00_ _xGGGG_")},
		{"yes and no", `<row r="1"><c r="A1" t="b"><v>1</v></c><c r="B1" t="b"><v>0</v></c></row>`, text("yes", "no")},
		{"days written as days", `<row r="1"><c r="A1" t="d"><v>2027-03-01T00:00:00</v></c><c r="B1" t="d"><v>2027-03-02</v></c></row>`, text("2027-03-01", "2027-03-02")},
		{"formulas are told, with their result", `<row r="1"><c r="A1"><f>1+1</f><v>2</v></c><c r="B1" t="str"><f>"a"</f><v>a</v></c><c r="C1"><f>NOW()</f></c></row>`,
			[]book.Cell{{Text: "2", Numeric: true, Formula: true}, {Text: "a", Formula: true}, {Formula: true}}},
		{"error values count as formulas", `<row r="1"><c r="A1" t="e"><v>#N/A</v></c></row>`, []book.Cell{{Text: "#N/A", Formula: true}}},
		{"blank cells between and behind", `<row r="1"><c r="A1" s="3"/><c r="C1"><v>1</v></c><c r="D1" t="inlineStr"><is><t></t></is></c><c r="E1"><v/></c></row>`,
			[]book.Cell{{}, {}, {Text: "1", Numeric: true}}},
		{"cells without a place", `<row><c><v>1</v></c><c/><c t="s"><v>1</v></c></row>`, []book.Cell{{Text: "1", Numeric: true}, {}, {Text: "one"}}},
		{"hidden rows", `<row r="1" hidden="1" spans="1:2" x:dyDescent="0.2"><c r="A1" t="s"><v>1</v></c></row>`, text("one")},
	} {
		t.Run(test.rule, func(t *testing.T) {
			rows, err := rowsOf(minimal(test.rows).pack(), "items")
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff([]book.Row{{Number: 1, Cells: test.want}}, rows); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestBlankRowsAreLeftOutAndTheOthersKeepTheirNumbers(t *testing.T) {
	rows, err := rowsOf(minimal(`<row r="2"><c r="A2" t="s"><v>0</v></c></row><row r="3"><c r="A3" s="1"/></row><row r="4"/><row r="90000"><c r="B90000" t="s"><v>1</v></c></row>`).pack(), "items")
	if err != nil {
		t.Fatal(err)
	}
	want := []book.Row{{Number: 2, Cells: text("zero")}, {Number: 90000, Cells: text("", "one")}}
	if diff := cmp.Diff(want, rows); diff != "" {
		t.Error(diff)
	}
}

// Of merged cells the top left one has the value; the others are blank.
func TestWhatStandsAroundTheRowsIsPassedOver(t *testing.T) {
	p := minimal(`<row r="1"><c r="A1" t="s"><v>1</v></c><c r="B1"/></row>`)
	p = p.replaced(sheetPart1, "<sheetData>", `<sheetPr/><dimension ref="A1:Z9"/><cols><col min="1" max="2" width="9"/></cols><sheetData>`)
	p = p.replaced(sheetPart1, "</sheetData>", `</sheetData><mergeCells count="1"><mergeCell ref="A1:B1"/></mergeCells><extLst><ext uri="{1}"><x14:a xmlns:x14="b"><c xmlns="d">e</c></x14:a></ext></extLst>`)
	rows, err := rowsOf(p.pack(), "items")
	if diff := cmp.Diff([]book.Row{{Number: 1, Cells: text("one")}}, rows); err != nil || diff != "" {
		t.Error(err, diff)
	}
}

// Some programs give the main namespace a prefix, or use the strict one.
func TestPrefixesAndTheStrictNamespace(t *testing.T) {
	p := minimal("").with(parts{sheetPart1: `<?xml version="1.0" encoding="utf-8"?><x:worksheet xmlns:x="` + strictNamespace +
		`"><x:sheetData><x:row r="1"><x:c r="A1" t="s"><x:v>1</x:v></x:c></x:row></x:sheetData></x:worksheet>`})
	rows, err := rowsOf(p.pack(), "items")
	if diff := cmp.Diff([]book.Row{{Number: 1, Cells: text("one")}}, rows); err != nil || diff != "" {
		t.Error(err, diff)
	}
}

// Day 0 of the 1904 system is 1904-01-01, day 1462 of the 1900 system
// (ISO/IEC 29500-1, 18.17.4.1).
func TestDatesOfThe1904SystemAreMoved(t *testing.T) {
	const rows = `<row r="1"><c r="A1" t="inlineStr"><is><t>item</t></is></c><c r="B1" t="inlineStr"><is><t> Date</t></is></c><c r="C1" t="inlineStr"><is><t>qty</t></is></c></row>` +
		`<row r="2"><c r="A2"><v>7</v></c><c r="B2"><v>44985</v></c><c r="C2"><v>3</v></c></row>`
	p := minimal(rows).replaced(workbookPart, `<sheet name="items"`, `<sheet name="Counts"`)
	p = p.replaced(workbookPart, "<sheets>", `<workbookPr date1904="1"/><sheets>`)
	got, err := rowsOf(p.pack(), "counts")
	if err != nil {
		t.Fatal(err)
	}
	want := []book.Cell{{Text: "7", Numeric: true}, {Text: "46447", Numeric: true}, {Text: "3", Numeric: true}} // 2027-03-01
	if diff := cmp.Diff(want, got[1].Cells); diff != "" {
		t.Error(diff)
	}
}

func TestTablesAreTheSheetsInLowerCaseWithoutTheGuide(t *testing.T) {
	p := minimal("").replaced(workbookPart, `<sheet name="items" sheetId="1" r:id="b"/>`,
		`<sheet name=" Items" r:id="b"/><sheet name="About this book" r:id="b"/><sheet name="old" state="hidden" r:id="b"/><sheet name="picture" r:id="d"/>`)
	p = p.replaced("xl/_rels/workbook.xml.rels", "</Relationships>",
		`<Relationship Id="d" Type="`+officeRels+`/chartsheet" Target="chartsheets/1.xml"/><Relationship Id="e" Type="x/hyperlink" Target="http://example.org/" TargetMode="External"/></Relationships>`)
	file := p.pack()
	b, err := openBook(bytes.NewReader(file), int64(len(file)), standard)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]string{"items", "old"}, b.Tables()); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff([]string{"sheet old is hidden; it is read like the others"}, b.Warnings()); diff != "" {
		t.Error(diff)
	}
	if _, err := allRows(b, "offers"); !errors.Is(err, inventory.ErrNotFound) {
		t.Errorf("rows of a sheet that is not there: %v", err)
	}
}

func TestRowsCanBeLeftAndReadAgain(t *testing.T) {
	file := minimal(`<row r="1"><c r="A1" t="s"><v>0</v></c></row><row r="2"><c r="A2" t="s"><v>1</v></c></row>`).pack()
	b, err := openBook(bytes.NewReader(file), int64(len(file)), standard)
	if err != nil {
		t.Fatal(err)
	}
	for range b.Rows("items") {
		break
	}
	if rows, err := allRows(b, "items"); err != nil || len(rows) != 2 {
		t.Errorf("the second time there were %d rows, %v", len(rows), err)
	}
}

func TestOpenBookTakesPlainFilesOnly(t *testing.T) {
	folder := t.TempDir()
	if _, err := OpenBook(filepath.Join(folder, "none.xlsx")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a file that is not there: %v", err)
	}
	if _, err := OpenBook(folder); !errors.Is(err, inventory.ErrInvalid) {
		t.Errorf("a folder: %v", err)
	}
	path := filepath.Join(folder, "book.xlsx")
	if err := os.WriteFile(path, minimal("").pack(), 0o600); err != nil {
		t.Fatal(err)
	}
	b, err := OpenBook(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := b.Close(); err != nil {
		t.Error(err)
	}
}

func TestReadingEndsWithItsTime(t *testing.T) {
	watch := &stopwatch{r: strings.NewReader("<a/>"), limit: time.Hour}
	watch.start()
	if _, err := io.ReadAll(watch); err != nil {
		t.Errorf("within an hour: %v", err)
	}
	watch.spent = 2 * time.Hour
	if _, err := ours(watch); err == nil || err.Error() != "the part cannot be unpacked: not read within 1h0m0s" {
		t.Errorf("after two hours: %v", err)
	}
}
