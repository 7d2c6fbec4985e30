package workbook

import (
	"bytes"
	"cmp"
	"encoding/xml"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	gocmp "github.com/google/go-cmp/cmp"

	"circlip/inventory"
	"circlip/inventory/book"
)

// Both targets want -fuzzminimizetime=10x: with the default the fuzzer spends
// its whole time making its inputs smaller.

// FuzzOpenBook opens any bytes as a book and reads all its sheets: no panic,
// no row out of order, no error that is not named invalid, twice the same.
func FuzzOpenBook(f *testing.F) {
	good := minimal(`<row r="1"><c r="A1" t="s"><v>0</v></c></row><row r="3"><c r="B3"><v>1.5</v></c></row>`)
	f.Add(good.pack())
	f.Add(good.with(parts{textsPart: ""}).pack())
	f.Add(good.replaced(workbookPart, "<sheets>", `<workbookPr date1904="true"/><sheets>`).pack())
	for _, name := range []string{"old.xls", "open.ods", "password.xlsx"} {
		file, err := os.ReadFile(filepath.Join(hostile, name))
		if err != nil {
			f.Fatal(err)
		}
		f.Add(file)
	}
	lim := standard // a fuzzer's inputs are small: so are their limits
	lim.unpacked, lim.free = 1<<20, 1<<16
	f.Fuzz(func(t *testing.T, file []byte) {
		b, err := openBook(bytes.NewReader(file), int64(len(file)), lim)
		if err != nil {
			return
		}
		for _, name := range b.Tables() {
			first, err := allRows(b, name)
			if err != nil && !errors.Is(err, inventory.ErrInvalid) {
				t.Errorf("%v does not wrap %v", err, inventory.ErrInvalid)
			}
			inOrder(t, first)
			second, again := allRows(b, name)
			if (err == nil) != (again == nil) || !gocmp.Equal(first, second) {
				t.Errorf("read twice %s is not the same: %v, %v", name, err, again)
			}
		}
	})
}

func inOrder(t *testing.T, rows []book.Row) {
	t.Helper()
	last := 0
	for _, row := range rows {
		if row.Number <= last || len(row.Cells) == 0 || len(row.Cells) > book.MaxCells {
			t.Errorf("row %d of %d cells comes behind row %d", row.Number, len(row.Cells), last)
		}
		last = row.Number
	}
}

// FuzzSheet reads any text as the sheet of a whole book. What is taken must be
// XML for encoding/xml too, and its cells those that a plain decoding of the
// sheet finds.
func FuzzSheet(f *testing.F) {
	for _, rows := range []string{
		`<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" s="1"/></row>`,
		`<row r="2" hidden="1"><c r="A2"><f>1+1</f><v>2</v></c><c r="C2" t="b"><v>1</v></c></row><row r="9"/>`,
		`<row><c t="inlineStr"><is><t xml:space="preserve"> a_x0041_ </t></is></c><c t="inlineStr"><is><r><rPr/><t>b</t></r><rPh sb="0" eb="1"><t>c</t></rPh></is></c></row>`,
		`<row r="1"><c r="A1" t="e"><v>#N/A</v></c><c r="B1" t="d"><v>2027-03-01</v></c><c r="C1" t="str"><v>&lt;&#65;</v></c></row>`,
	} {
		f.Add(minimal(rows)[sheetPart1])
	}
	file := minimal("")
	f.Fuzz(func(t *testing.T, sheet string) {
		rows, err := rowsOf(file.with(parts{sheetPart1: sheet + " "}).pack(), "items") // a part is never left out
		if err != nil {
			if !errors.Is(err, inventory.ErrInvalid) {
				t.Errorf("%v does not wrap %v", err, inventory.ErrInvalid)
			}
			return
		}
		inOrder(t, rows)
		agree(t, sheet)
		if strings.Contains(sheet, "_x") { // escapes are not XML's
			return
		}
		var got []string
		for _, row := range rows {
			for _, c := range row.Cells {
				if text := withoutBlanks(c.Text); text != "" {
					got = append(got, text)
				}
			}
		}
		if diff := gocmp.Diff(plainTexts(t, sheet), got); diff != "" {
			t.Errorf("%q is read differently (-encoding/xml +ours):\n%s", sheet, diff)
		}
	})
}

// withoutBlanks drops what xml:space decides on.
func withoutBlanks(text string) string { return strings.Join(strings.Fields(text), "") }

// plainSheet is the sheet as encoding/xml decodes it, with what we know of it.
type plainSheet struct {
	Data struct {
		Rows []struct {
			Cells []struct {
				Type  string `xml:"t,attr"`
				Value string `xml:"v"`
				Text  struct {
					Pieces []struct {
						XMLName xml.Name
						Own     string   `xml:",chardata"`
						Text    []string `xml:"t"`
					} `xml:",any"`
				} `xml:"is"`
			} `xml:"c"`
		} `xml:"row"`
	} `xml:"sheetData"`
}

// plainTexts are the texts of a sheet's cells that are not blank.
func plainTexts(t *testing.T, text string) (texts []string) {
	t.Helper()
	var sheet plainSheet
	if err := xml.Unmarshal([]byte(strings.TrimPrefix(text, "\uFEFF")), &sheet); err != nil {
		t.Fatalf("encoding/xml refuses %q: %v", text, err)
	}
	shared := map[string]string{"0": "zero", "1": "one", "2": "two"}
	for _, row := range sheet.Data.Rows {
		for _, c := range row.Cells {
			value := c.Value
			switch c.Type {
			case "s":
				value = shared[cmp.Or(strings.TrimLeft(value, "0"), "0")]
			case "b":
				value = map[string]string{"0": "no", "1": "yes"}[value]
			case "d":
				value = strings.TrimSuffix(value, "T00:00:00")
			case "inlineStr":
				value = ""
				for _, piece := range c.Text.Pieces {
					switch piece.XMLName.Local {
					case "t":
						value += piece.Own
					case "r":
						value += strings.Join(piece.Text, "")
					}
				}
			}
			if value = withoutBlanks(value); value != "" {
				texts = append(texts, value)
			}
		}
	}
	return texts
}
