package workbook

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/inventory/book"
	"circlip/reports/plan"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"
)

// quillon is the tab of the first order of the plan made by hand: its head in
// row 8, wipers in row 9, O-rings in row 10.
const quillon = "Quillon Seals"

// asProposed is each order of a plan answered with itself.
func asProposed(p plan.Plan) []inventory.Answer {
	var answers []inventory.Answer
	for _, o := range p.Orders {
		answer := inventory.Answer{Proposal: p.Proposal(o)}
		for _, l := range o.Lines {
			answer.Lines = append(answer.Lines, inventory.AnsweredLine{Item: l.Item.Code, Packs: l.Packs})
		}
		answers = append(answers, answer)
	}
	return answers
}

// saved puts a workbook into a file.
func saved(t testing.TB, workbook []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "slip.xlsx")
	if err := os.WriteFile(path, workbook, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// desk is a workbook on a person's screen; what cannot be done there fails the
// test.
type desk struct {
	t   testing.TB
	f   *excelize.File
	tab string
}

// edited is a workbook after a person worked on one of its tabs.
func edited(t testing.TB, workbook []byte, tab string, work func(desk)) []byte {
	t.Helper()
	d := desk{t, reorderFile(t, workbook), tab}
	work(d)
	var out bytes.Buffer
	d.ok(d.f.Write(&out))
	return out.Bytes()
}

func (d desk) ok(err error) {
	d.t.Helper()
	if err != nil {
		d.t.Fatal(err)
	}
}

func (d desk) set(cell string, value any) { d.t.Helper(); d.ok(d.f.SetCellValue(d.tab, cell, value)) }
func (d desk) formula(cell, f string)     { d.t.Helper(); d.ok(d.f.SetCellFormula(d.tab, cell, f)) }
func (d desk) remove(row int)             { d.t.Helper(); d.ok(d.f.RemoveRow(d.tab, row)) }
func (d desk) copyRow(from, to int)       { d.t.Helper(); d.ok(d.f.DuplicateRowTo(d.tab, from, to)) }
func (d desk) clear(cells ...string) {
	d.t.Helper()
	for _, c := range cells {
		d.set(c, nil)
	}
}

// swap exchanges two cells, with the formulas in them.
func (d desk) swap(a, b string) {
	d.t.Helper()
	content := func(cell string) (string, string) {
		formula, err := d.f.GetCellFormula(d.tab, cell)
		d.ok(err)
		value, err := d.f.GetCellValue(d.tab, cell, excelize.Options{RawCellValue: true})
		d.ok(err)
		return formula, value
	}
	put := func(cell, formula, value string) {
		if n, err := strconv.ParseFloat(value, 64); err == nil {
			d.set(cell, n)
		} else {
			d.set(cell, value)
		}
		if formula != "" {
			d.formula(cell, formula)
		}
	}
	formulaA, valueA := content(a)
	formulaB, valueB := content(b)
	put(a, formulaB, valueB)
	put(b, formulaA, valueA)
}

func TestAnOrderLeftAsItIsAnswersWithItself(t *testing.T) {
	answers, faults, err := ReadAnswers(saved(t, reorderBytes(t, plainPlan())))
	if err != nil || len(faults) > 0 {
		t.Fatal(faults, err)
	}
	if diff := cmp.Diff(asProposed(plainPlan()), answers); diff != "" {
		t.Errorf("(-proposed +answered)\n%s", diff)
	}
}

func TestAPlanWithoutOrdersHasNoAnswers(t *testing.T) {
	p := plainPlan()
	p.Orders = nil
	answers, faults, err := ReadAnswers(saved(t, reorderBytes(t, p)))
	if len(answers)+len(faults) > 0 || err != nil {
		t.Errorf("found %v, %v, %v, expected nothing", answers, faults, err)
	}
}

// goodWork is what a person may do to the first order, and what comes of it.
var goodWork = []struct {
	rule    string
	work    func(desk)
	changes []inventory.Change
	note    string
	notes   map[string]string // by item
}{
	{rule: "nothing", work: func(desk) {}},
	{rule: "other packs", work: func(d desk) { d.set("D9", 5) }, changes: []inventory.Change{{Item: "WIP-35", Proposed: 3, Now: 5}}},
	{rule: "packs typed as text", work: func(d desk) { d.set("D9", "5") }, changes: []inventory.Change{{Item: "WIP-35", Proposed: 3, Now: 5}}},
	{rule: "no packs strike the line", work: func(d desk) { d.set("D9", 0) }, changes: []inventory.Change{{Item: "WIP-35", Proposed: 3}}},
	{rule: "blank packs strike it", work: func(d desk) { d.clear("D10") }, changes: []inventory.Change{{Item: "OR-1.78x12", Proposed: 1}}},
	{rule: "a deleted row strikes it", work: func(d desk) { d.remove(9) }, changes: []inventory.Change{{Item: "WIP-35", Proposed: 3}}},
	{rule: "a row emptied but for its formulas strikes it", work: func(d desk) { d.clear("A10", "B10", "C10", "D10", "E10", "G10", "H10", "J10") },
		changes: []inventory.Change{{Item: "OR-1.78x12", Proposed: 1}}},
	{rule: "all lines struck", work: func(d desk) { d.remove(9); d.remove(9) },
		changes: []inventory.Change{{Item: "WIP-35", Proposed: 3}, {Item: "OR-1.78x12", Proposed: 1}}},
	{rule: "rows sorted", work: func(d desk) {
		for _, c := range "ABCDEGHJ" {
			d.swap(string(c)+"9", string(c)+"10")
		}
	}},
	{rule: "columns moved", work: func(d desk) {
		for row := 8; row <= 10; row++ {
			d.swap("D"+strconv.Itoa(row), "E"+strconv.Itoa(row))
		}
	}},
	{rule: "a column of one's own before all others", work: func(d desk) { d.ok(d.f.InsertCols(d.tab, "A", 1)) }},
	{rule: "a column of one's own behind", work: func(d desk) { d.set("L8", "Checked"); d.set("L9", "by Monday's shift") }},
	{rule: "a row of one's own above the table", work: func(d desk) { d.ok(d.f.InsertRows(d.tab, 1, 1)); d.set("A1", "to be looked over by Thursday") }},
	{rule: "totals taken away", work: func(d desk) { d.remove(13); d.remove(12); d.remove(11) }},
	{rule: "figures typed in the place of formulas that say the same", work: func(d desk) { d.set("F9", 30); d.set("I9", 55.2) }},
	{rule: "a note to the supplier of two lines", work: func(d desk) { d.set("B6", "one parcel, please\nring twice") }, note: "one parcel, please\nring twice"},
	{rule: "a note that looks like a formula", work: func(d desk) { d.set("B6", "=1+1") }, note: "=1+1"},
	{rule: "a note of digits", work: func(d desk) { d.set("B6", 4711) }, note: "4711"},
	{rule: "notes on lines", work: func(d desk) { d.set("K9", " black ones "); d.set("K10", "yes") },
		notes: map[string]string{"WIP-35": " black ones ", "OR-1.78x12": "yes"}},
	{rule: "a note on a line that is struck goes with it", work: func(d desk) { d.set("K9", "next time"); d.set("D9", 0) }, changes: []inventory.Change{{Item: "WIP-35", Proposed: 3}}},
	{rule: "other tabs taken away, moved or added", work: func(d desk) {
		d.ok(d.f.DeleteSheet("Oil"))
		d.ok(d.f.MoveSheet("Tarn Works", "Summary"))
		_, err := d.f.NewSheet("Scratch")
		d.ok(err)
	}},
	{rule: "the hidden sheet shown", work: func(d desk) { d.ok(d.f.SetSheetVisible(ordersMemory, true)) }},
	{rule: "capitals of a tab changed", work: func(d desk) { d.ok(d.f.SetSheetName(d.tab, "QUILLON SEALS")) }},
}

func TestWhatAPersonMakesOfAnOrderIsRead(t *testing.T) {
	workbook := reorderBytes(t, plainPlan())
	for _, r := range goodWork {
		t.Run(r.rule, func(t *testing.T) {
			answers, faults, err := ReadAnswers(saved(t, edited(t, workbook, quillon, r.work)))
			if err != nil || len(faults) > 0 || len(answers) != 3 {
				t.Fatal(answers, faults, err)
			}
			sameAnswer(t, answers[0], r.changes, r.note, r.notes)
			if diff := cmp.Diff(asProposed(plainPlan())[1:], answers[1:]); diff != "" {
				t.Errorf("the other orders (-proposed +answered)\n%s", diff)
			}
		})
	}
}

func sameAnswer(t *testing.T, a inventory.Answer, changes []inventory.Change, note string, notes map[string]string) {
	t.Helper()
	if diff := cmp.Diff(asProposed(plainPlan())[0].Proposal, a.Proposal); diff != "" {
		t.Errorf("the proposal (-as written +as read)\n%s", diff)
	}
	if diff := cmp.Diff(changes, a.Changes()); diff != "" {
		t.Errorf("changes (-expected +found)\n%s", diff)
	}
	if a.Note != note {
		t.Errorf("found the note %q, expected %q", a.Note, note)
	}
	for _, l := range a.Lines {
		if l.Packs < 1 || l.Note != notes[l.Item] {
			t.Errorf("found %d packs of %s with the note %q, expected %q", l.Packs, l.Item, l.Note, notes[l.Item])
		}
	}
}

// badWork is what is told of an order in which something is wrong.
var badWork = []struct {
	rule string
	work func(desk)
	want []string
}{
	{"text in packs", func(d desk) { d.set("D9", "three") }, []string{`Quillon Seals:9:Packs: not a number, found "three", expected a whole number from 0 to 1000000`}},
	{"a negative number", func(d desk) { d.set("D9", -3) }, []string{`Quillon Seals:9:Packs: negative, found "-3", expected a whole number from 0 to 1000000`}},
	{"a part of a pack", func(d desk) { d.set("D9", 2.5) }, []string{`Quillon Seals:9:Packs: not a whole number in range, found "2.5", expected a whole number from 0 to 1000000`}},
	{"a thousand million packs", func(d desk) { d.set("D9", 1e9) }, []string{`Quillon Seals:9:Packs: out of range, found "1000000000", expected a whole number from 0 to 1000000`}},
	{"one pack more than the most", func(d desk) { d.set("D9", 1_000_001) }, []string{`Quillon Seals:9:Packs: out of range, found "1000001", expected a whole number from 0 to 1000000`}},
	{"a number beyond all numbers", func(d desk) { d.set("D9", 1e300) }, []string{`Quillon Seals:9:Packs: not a whole number in range, found "100000000000000000000000000000000000000000000000000000000000"…, expected a whole number from 0 to 1000000`}},
	{"a formula", func(d desk) { d.formula("D9", "1+2") }, []string{`Quillon Seals:9:Packs: holds a formula, found "3", expected a plain value; type it`}},
	{"a formula that fails", func(d desk) { d.formula("D9", "1/0") }, []string{`Quillon Seals:9:Packs: holds a formula, found "3", expected a plain value; type it`}},
	{"a decimal comma", func(d desk) { d.set("D9", "2,5") }, []string{`Quillon Seals:9:Packs: a number with a decimal comma, found "2,5", expected a whole number from 0 to 1000000`}},
	{"yes in packs", func(d desk) { d.set("D9", true) }, []string{`Quillon Seals:9:Packs: not a number, found "yes", expected a whole number from 0 to 1000000`}},
	{"a formula in a note", func(d desk) { d.formula("K9", `"a"&"b"`) }, []string{"Quillon Seals:9:Note: holds a formula, expected a plain value; type it"}},
	{"a formula in the note to the supplier", func(d desk) { d.formula("B6", "D9") }, []string{"Quillon Seals:6:Note to the supplier: holds a formula, expected a plain value; type it"}},
	{"an item that was not proposed", func(d desk) { d.copyRow(10, 11); d.set("C11", "SEA-35") }, []string{`Quillon Seals:11:Our code: not an item of this order, found "SEA-35", expected one of the items proposed; order others by hand`}},
	{"a code with one letter wrong", func(d desk) { d.set("C9", "WIP-36") }, []string{`Quillon Seals:9:Our code: not an item of this order, found "WIP-36", expected one of the items proposed; is it WIP-35?`}},
	{"an item twice", func(d desk) { d.copyRow(9, 10) }, []string{`Quillon Seals:10:Our code: the item stands twice, found "WIP-35", expected each item once`}},
	{"a line without a code", func(d desk) { d.clear("C9") }, []string{"Quillon Seals:9:Our code: blank, expected a code"}},
	{"text below the table", func(d desk) { d.set("B15", "and two seals") }, []string{"Quillon Seals:15:Our code: blank, expected a code"}},
	{"another price", func(d desk) { d.set("H9", 17.5) }, []string{`Quillon Seals:9:Price: the price was changed, found "17.50", expected 18.40; prices come from the book's offers`}},
	{"a price as a formula", func(d desk) { d.formula("H9", "H10*4") }, []string{`Quillon Seals:9:Price: holds a formula, found "18.4", expected a plain value; type it`}},
	{"another pack", func(d desk) { d.set("E9", 12) }, []string{`Quillon Seals:9:Pack: the pack was changed, found "12", expected 10; packs come from the book's offers`}},
	{"a price taken away", func(d desk) { d.clear("H9") }, []string{"Quillon Seals:9:Price: the price was changed, expected 18.40; prices come from the book's offers"}},
	{"another quantity", func(d desk) { d.set("F9", 45) }, []string{`Quillon Seals:9:Quantity: was typed over and does not follow from packs, found "45", expected its formula; change packs`}},
	{"another line total", func(d desk) { d.set("I9", 50) }, []string{`Quillon Seals:9:Line total: was typed over and does not follow from packs, found "50.00", expected its formula; change packs`}},
	{"codes sorted without their rows", func(d desk) { d.swap("C9", "C10") }, []string{
		`Quillon Seals:9:Price: the price was changed, found "18.40", expected 3.95; prices come from the book's offers`,
		`Quillon Seals:10:Price: the price was changed, found "3.95", expected 18.40; prices come from the book's offers`,
	}},
	{"merged packs", func(d desk) { d.ok(d.f.MergeCell(d.tab, "D9", "D10")) }, []string{"Quillon Seals:9:D9: merged cells in the table, expected one cell a column and line; split them"}},
	{"merged codes across", func(d desk) { d.ok(d.f.MergeCell(d.tab, "B9", "C9")) }, []string{
		"Quillon Seals:9:Our code: blank, expected a code",
		"Quillon Seals:9:B9: merged cells in the table, expected one cell a column and line; split them",
	}},
	{"a merged head", func(d desk) { d.ok(d.f.MergeCell(d.tab, "D8", "E8")) }, []string{
		"Quillon Seals:8:D8: merged cells in the table, expected one cell a column and line; split them",
		"Quillon Seals:8:Pack: the column is missing, expected a column of this name in the header row",
		"Quillon Seals:9:Pack: the pack was changed, expected 10; packs come from the book's offers",
		"Quillon Seals:10:Pack: the pack was changed, expected 10; packs come from the book's offers",
	}},
	{"a hidden row", func(d desk) { d.ok(d.f.SetRowVisible(d.tab, 10, false)) }, []string{"Quillon Seals:10: the row is hidden, expected only rows that can be seen; show it, or delete it"}},
	{"a row of no height", func(d desk) { d.ok(d.f.SetRowHeight(d.tab, 10, 0)) }, []string{"Quillon Seals:10: the row is hidden, expected only rows that can be seen; show it, or delete it"}},
	{"a hidden column", func(d desk) { d.ok(d.f.SetColVisible(d.tab, "D", false)) }, []string{"Quillon Seals:Packs: the column is hidden, expected columns that can be seen; show it"}},
	{"a column taken away", func(d desk) { d.ok(d.f.RemoveCol(d.tab, "D")) }, []string{"Quillon Seals:8:Packs: the column is missing, expected a column of this name in the header row"}},
	{"a head that says something else", func(d desk) { d.set("D8", "Pieces") }, []string{"Quillon Seals:8:Packs: the column is missing, expected a column of this name in the header row"}},
	{"a column twice", func(d desk) { d.set("L8", "Packs"); d.set("L9", 7) }, []string{"Quillon Seals:8:Packs: the column stands twice, expected it once"}},
	{"no head", func(d desk) { d.remove(8) }, []string{"Quillon Seals: no row holds the names of the columns, expected the table under its own names"}},
	{"no field for the note", func(d desk) { d.remove(6) }, []string{"Quillon Seals:Note to the supplier: the field is missing, expected its row above the table, as it was written"}},
	{"two notes", func(d desk) { d.copyRow(6, 7) }, []string{"Quillon Seals:7:Note to the supplier: the field stands twice, expected it once"}},
	{"a note that holds a control character", func(d desk) { d.set("K9", "a_x0007_b") }, []string{`Quillon Seals:9:Note: holds a control character, found "a\ab", expected text`}},
	{"a renamed tab", func(d desk) { d.ok(d.f.SetSheetName(d.tab, "Quillon")) }, []string{"Quillon Seals: the sheet is missing, expected the order to quillon under this name; to order nothing from it, strike its lines"}},
	{"a tab taken away", func(d desk) { d.ok(d.f.DeleteSheet(d.tab)) }, []string{"Quillon Seals: the sheet is missing, expected the order to quillon under this name; to order nothing from it, strike its lines"}},
	{"a hidden tab", func(d desk) { d.ok(d.f.SetSheetVisible(d.tab, false)) }, []string{"Quillon Seals: the sheet is hidden, expected a sheet that can be seen; show it, and strike its lines if nothing is to be ordered"}},
	{"the tabs of two orders exchanged", func(d desk) {
		d.ok(d.f.SetSheetName("Tarn Works", "third"))
		d.ok(d.f.SetSheetName(d.tab, "Tarn Works"))
		d.ok(d.f.SetSheetName("third", quillon))
	}, []string{
		`Quillon Seals:8:Our code: not an item of this order, found "KIT-AIR-S", expected one of the items proposed; order others by hand`,
		`Tarn Works:9:Our code: not an item of this order, found "WIP-35", expected one of the items proposed; order others by hand`,
		`Tarn Works:10:Our code: not an item of this order, found "OR-1.78x12", expected one of the items proposed; order others by hand`,
	}},
	{"several things at once, each told", func(d desk) { d.set("D9", "x"); d.set("D10", -1); d.set("K9", nil); d.formula("B6", "1") }, []string{
		"Quillon Seals:6:Note to the supplier: holds a formula, expected a plain value; type it",
		`Quillon Seals:9:Packs: not a number, found "x", expected a whole number from 0 to 1000000`,
		`Quillon Seals:10:Packs: negative, found "-1", expected a whole number from 0 to 1000000`,
	}},
}

// badMemory is what is told of a hidden sheet that was touched: a line of it is
// the tab (A), the proposal's name (B), how many there are (C), workshop, day,
// supplier, day of the order, earlier orders, currency (D to I), item, unit,
// packs, pack, price, position (J to O).
var badMemory = []struct {
	rule string
	work func(desk)
	want []string
}{
	{"taken away", func(d desk) { d.ok(d.f.DeleteSheet(d.tab)) }, []string{"circlip: the hidden sheet is missing, expected a reorder workbook as it was written, with all its sheets"}},
	{"renamed", func(d desk) { d.ok(d.f.SetSheetName(d.tab, "memory")) }, []string{"circlip: the hidden sheet is missing, expected a reorder workbook as it was written, with all its sheets"}},
	{"emptied", func(d desk) {
		for range 6 {
			d.remove(1)
		}
	}, []string{"circlip: no row holds the names of the columns, expected the table under its own names"}},
	{"another workshop", func(d desk) { d.set("D2", "Elsewhere"); d.set("D3", "Elsewhere") }, touched},
	{"another workshop in one line", func(d desk) { d.set("D3", "Elsewhere") }, []string{"circlip:3: the hidden sheet was changed, expected it as it was written; write the workbook again"}},
	{"another day", func(d desk) { d.set("E6", "2027-03-08") }, touched},
	{"another supplier", func(d desk) { d.set("F6", "quillon") }, touched},
	{"another day to place by", func(d desk) { d.set("G6", "2027-03-11") }, touched},
	{"earlier orders forgotten", func(d desk) { d.set("H6", 7) }, touched},
	{"another tab", func(d desk) { d.set("A2", "Tarn Works") }, []string{"circlip:3: the hidden sheet was changed, expected it as it was written; write the workbook again"}},
	{"another name", func(d desk) { d.set("B6", "0123456789abcdef0123456789abcdef") }, touched},
	{"other packs", func(d desk) { d.set("L6", 60) }, touched},
	{"another pack", func(d desk) { d.set("M6", 12) }, touched},
	{"another price", func(d desk) { d.set("N6", 1) }, touched},
	{"another position", func(d desk) { d.set("O6", 300) }, touched},
	{"another item", func(d desk) { d.set("J6", "KIT-AIR-L") }, touched},
	{"a line less", func(d desk) { d.remove(3) }, touched},
	{"a line twice", func(d desk) { d.copyRow(6, 7) }, touched},
	{"an order less", func(d desk) { d.remove(6) }, touched},
	{"another currency in one line", func(d desk) { d.set("I2", "USD") }, []string{"circlip:3: the hidden sheet was changed, expected it as it was written; write the workbook again"}},
	{"no currency", func(d desk) { d.set("I6", "ABC") }, []string{`circlip:6:Currency: not a currency, found "ABC", expected a code of ISO 4217 such as EUR`}},
	{"text for a number", func(d desk) { d.set("O6", "much") }, []string{`circlip:6:Position: not a number, found "much", expected a whole number`}},
	{"a part of a step", func(d desk) { d.set("M6", 0.5) }, []string{`circlip:6:Pack: not a whole number in range, found "0.5", expected a whole number from 1 to 10000000000`}},
	{"a formula where a number was", func(d desk) { d.formula("L6", "3+3") }, []string{`circlip:6:Packs: holds a formula, found "6", expected a plain value; type it`}},
	{"a pack of nothing", func(d desk) { d.set("M6", 0) }, []string{`circlip:6:Pack: out of range, found "0", expected a whole number from 1 to 10000000000`}},
	{"a price beyond all money", func(d desk) { d.set("N6", 1e18) }, []string{`circlip:6:Price: out of range, found "1000000000000000000", expected a whole number from 0 to 100000000000000`}},
	{"a blank", func(d desk) { d.clear("F6") }, []string{"circlip:6:Supplier: blank, expected a code"}},
	{"a column less", func(d desk) { d.ok(d.f.RemoveCol(d.tab, "O")) }, []string{"circlip:1:Position: the column is missing, expected a column of this name in the header row"}},
}

var touched = []string{"circlip: the hidden sheet was changed, expected it as it was written; write the workbook again"}

func TestAHiddenSheetThatWasTouchedIsTold(t *testing.T) {
	workbook := reorderBytes(t, plainPlan())
	for _, r := range badMemory {
		t.Run(r.rule, func(t *testing.T) {
			answers, faults, err := ReadAnswers(saved(t, edited(t, workbook, ordersMemory, r.work)))
			toldOf(t, faults, err, r.want)
			if len(answers) > 0 {
				t.Errorf("found %d answers, expected none beside a fault", len(answers))
			}
		})
	}
}

func TestWhatIsWrongWithAnOrderIsTold(t *testing.T) {
	workbook := reorderBytes(t, plainPlan())
	for _, r := range badWork {
		t.Run(r.rule, func(t *testing.T) {
			answers, faults, err := ReadAnswers(saved(t, edited(t, workbook, quillon, r.work)))
			toldOf(t, faults, err, r.want)
			if len(answers) > 0 {
				t.Errorf("found %d answers, expected none beside a fault", len(answers))
			}
		})
	}
}

// toldOf compares faults with what is to be told, in order.
func toldOf(t *testing.T, faults []book.Fault, err error, want []string) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	var told []string
	for _, f := range faults {
		told = append(told, f.Error())
	}
	if diff := cmp.Diff(want, told); diff != "" {
		t.Errorf("(-expected +told)\n%s", strings.Join(slices.Clone(told), "\n"))
	}
}
