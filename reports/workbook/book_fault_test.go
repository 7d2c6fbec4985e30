package workbook

import (
	"bytes"
	"testing"

	"github.com/google/go-cmp/cmp"

	"circlip/inventory"
	"circlip/inventory/book"
)

// What the book's rules say of a workbook's cells: the same as of a text, but
// that numbers and days may be stored as such.
func TestCellsAreJudgedByTheBooksRules(t *testing.T) {
	const header = `<row r="1"><c r="A1" t="inlineStr"><is><t>item</t></is></c><c r="B1" t="inlineStr"><is><t>date</t></is></c><c r="C1" t="inlineStr"><is><t>qty</t></is></c></row>`
	code := func(place string) string { return `<c r="` + place + `" t="inlineStr"><is><t>oil</t></is></c>` }
	for _, test := range []struct {
		rule, cells string // of row 2
		want        string
	}{
		{"a day stored as a day", code("A2") + `<c r="B2"><v>46447</v></c><c r="C2"><v>1.5</v></c>`, ""},
		{"a day stored as text", code("A2") + `<c r="B2" t="inlineStr"><is><t>2027-03-01</t></is></c><c r="C2"><v>1.5</v></c>`, ""},
		{"a number with a spreadsheet's rounding", code("A2") + `<c r="B2"><v>46447</v></c><c r="C2"><v>0.30000000000000004</v></c>`, ""},
		{"a wrong day", code("A2") + `<c r="B2" t="inlineStr"><is><t>30.2.2027</t></is></c><c r="C2"><v>1</v></c>`, `counts:2:date: not a date, found "30.2.2027", expected YYYY-MM-DD`},
		{"a day with a time", code("A2") + `<c r="B2"><v>46447.5</v></c><c r="C2"><v>1</v></c>`, `counts:2:date: a date with a time of day, found "46447.5", expected a date alone`},
		{"text where a number belongs", code("A2") + `<c r="B2"><v>46447</v></c><c r="C2" t="inlineStr"><is><t>two</t></is></c>`, `counts:2:qty: not a number, found "two", expected a quantity of 0 or more with a decimal point`},
		{"a negative quantity", code("A2") + `<c r="B2"><v>46447</v></c><c r="C2"><v>-1</v></c>`, `counts:2:qty: negative, found "-1", expected a quantity of 0 or more with a decimal point`},
		{"a formula", code("A2") + `<c r="B2"><v>46447</v></c><c r="C2"><f>1+1</f><v>2</v></c>`, `counts:2:qty: holds a formula, found "2", expected a plain value`},
		{"a formula without its result", code("A2") + `<c r="B2"><v>46447</v></c><c r="C2"><f>1+1</f></c>`, `counts:2:qty: holds a formula, expected a plain value`},
		{"an error value", code("A2") + `<c r="B2"><v>46447</v></c><c r="C2" t="e"><v>#N/A</v></c>`, `counts:2:qty: holds a formula, found "#N/A", expected a plain value`},
		{"yes where a number belongs", code("A2") + `<c r="B2"><v>46447</v></c><c r="C2" t="b"><v>1</v></c>`, `counts:2:qty: not a number, found "yes", expected a quantity of 0 or more with a decimal point`},
		{"no item", `<c r="B2"><v>46447</v></c><c r="C2"><v>1</v></c>`, `counts:2:item: blank, expected a code`},
	} {
		t.Run(test.rule, func(t *testing.T) {
			p := minimal(header+`<row r="2">`+test.cells+`</row>`).replaced(workbookPart, `"items"`, `"counts"`)
			file := p.pack()
			source, err := openBook(bytes.NewReader(file), int64(len(file)), standard)
			if err != nil {
				t.Fatal(err)
			}
			counts, _ := book.TableOf("counts")
			context := &book.Context{Measure: func(string) (inventory.Measure, bool) { return inventory.Millilitre, true }}
			faults, warnings, err := book.Read(counts, source.Rows("counts"), context, func(book.Record) error { return nil })
			if err != nil || len(warnings) > 0 {
				t.Fatal(err, warnings)
			}
			got := ""
			for _, f := range faults {
				got += f.Error()
			}
			if diff := cmp.Diff(test.want, got); diff != "" {
				t.Error(diff)
			}
		})
	}
}
