package workbook

import (
	"math"
	"slices"
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/inventory/book"
	"circlip/reports"
	"circlip/testdata/golden/plans"
)

func TestAreasAreRead(t *testing.T) {
	rows := []struct {
		rule, text string
		want       area
		ok         bool
	}{
		{"a rectangle", "B2:D10", area{2, 2, 4, 10}, true},
		{"one cell twice", "A1:A1", area{1, 1, 1, 1}, true},
		{"the whole sheet", "A1:XFD1048576", area{1, 1, lastColumn, lastRow}, true},
		{"one cell is none", "A1", area{}, false},
		{"from right to left is none", "D1:A1", area{4, 1, 1, 1}, false},
		{"upwards is none", "A2:A1", area{1, 2, 1, 1}, false},
		{"beyond the sheet is none", "A1:XFE1", area{}, false},
		{"nothing is none", "", area{}, false},
		{"three are none", "A1:B2:C3", area{}, false},
	}
	for _, r := range rows {
		got, ok := parseArea([]byte(r.text))
		if ok != r.ok || (ok && got != r.want) {
			t.Errorf("%s: found %v, %v, expected %v, %v", r.rule, got, ok, r.want, r.ok)
		}
	}
}

func TestOnlySoMuchFitsOnALine(t *testing.T) {
	rows := []struct {
		rule  string
		packs int
		pack  inventory.Quantity
		price inventory.Money
		want  bool
	}{
		{"nothing", 0, inventory.MaxQuantity, math.MaxInt64, false},
		{"a pack of all there may be", 1, inventory.MaxQuantity, 1, false},
		{"two of them", 2, inventory.MaxQuantity, 1, true},
		{"the most packs of the most that then fits", 1_000_000, 10_000, 100, false},
		{"and one step more", 1_000_000, 10_001, 100, true},
		{"free of charge", 1_000_000, 1, 0, false},
		{"a price that a thousand such lines can still add up", 1_000_000, 1, math.MaxInt64 / 1_000 / 1_000_000, false},
		{"and one that they cannot", 1_000_000, 1, math.MaxInt64/1_000/1_000_000 + 1, true},
	}
	for _, r := range rows {
		if got := tooMuch(r.packs, r.pack, r.price); got != r.want {
			t.Errorf("%s: found %v", r.rule, got)
		}
	}
}

func TestNumbersAreTheSameToFifteenDigits(t *testing.T) {
	tenth := 0.1
	rows := []struct {
		rule string
		a, b float64
		want bool
	}{
		{"what a spreadsheet adds up", tenth + 0.2, 0.3, true},
		{"nothing and nothing below it", 0, math.Copysign(0, -1), true},
		{"a cent of a million", 1_000_000.01, 1_000_000.02, false},
		{"the last digit kept", 123456789012345, 123456789012346, false},
	}
	for _, r := range rows {
		if got := sameNumber(r.a, r.b); got != r.want {
			t.Errorf("%s: %v and %v: found %v", r.rule, r.a, r.b, got)
		}
	}
}

// A workbook of the 1904 system counts its days from another one; what a person
// types into it is moved, what the program wrote as text is not.
func TestDaysOfTheOtherSystemAreMoved(t *testing.T) {
	filled := edited(t, deliveryBytes(t, dueOf(sent())), "Delivery", func(d desk) {
		d.set("B8", int(whole().On)+epoch-1462)
		d.set("J12", int(whole().On)+epoch-1462-300)
		d.set("K12", int(whole().On)+epoch-1462+300)
	})
	p := unpack(t, filled)
	path := saved(t, p.with(parts{workbookPart: strings.Replace(p[workbookPart], "<workbookPr", `<workbookPr date1904="1"`, 1)}).pack())
	got, faults, err := ReadDelivery(path)
	if err != nil || len(faults) > 0 {
		t.Fatal(faults, err)
	}
	line, day := got.Lines[0], whole().On
	if got.On != day || line.Cure.From != day-300 || line.Expires != day+300 {
		t.Errorf("found %s, %s, %s, expected %s, %s, %s", got.On, line.Cure.From, line.Expires, day, day-300, day+300)
	}
}

// Every column that is read back stands on the sheet that is written, under the
// same name, and every field.
func TestWhatIsReadIsWhatIsWritten(t *testing.T) {
	order := reports.SupplierOrder(lean(), lean().Orders[0])
	rows := []struct {
		rule  string
		sheet reports.Sheet
		slip  slip
	}{
		{"an order", order, orderSlip},
		{"a delivery", dueOf(sent()).Sheet(), deliverySlip},
	}
	for _, r := range rows {
		var columns, fields []string
		for _, c := range r.sheet.Columns {
			columns = append(columns, nameOf(c.Name))
			typed := slices.ContainsFunc(r.slip.columns, func(b book.Column) bool { return b.Name == nameOf(c.Name) })
			if c.Edit && !typed {
				t.Errorf("%s: what is typed into %s is not read", r.rule, c.Name)
			}
		}
		for _, f := range r.sheet.Fields {
			fields = append(fields, nameOf(f.Label))
		}
		for _, name := range namesOf(r.slip.columns) {
			if !slices.Contains(columns, name) {
				t.Errorf("%s: the column %s is read and not written", r.rule, name)
			}
		}
		if got := namesOf(r.slip.fields); !slices.Equal(got, fields) {
			t.Errorf("%s: found the fields %v, expected %v", r.rule, got, fields)
		}
	}
	var totals []string
	for _, total := range order.Totals {
		totals = append(totals, total.Name)
	}
	if !slices.Equal(totals, orderSlip.totals) {
		t.Errorf("found the totals %v, expected %v", orderSlip.totals, totals)
	}
}

func TestWhatIsTypedIsCheckedAsItIsTyped(t *testing.T) {
	workbook := deliveryBytes(t, dueOf(sent()))
	part := zipParts(t, workbook)[partOf(t, workbook, "Delivery")]
	rows := []struct{ rule, mark string }{
		{"the day is a day", `sqref="B8" type="date"`},
		{"the rest is one of two words", `<formula1>"yes,no"</formula1>`},
		{"packs are whole", `sqref="G12:G13" type="whole"`},
		{"prices are amounts", `sqref="H12:H13" type="decimal"`},
		{"expiry is a day", `sqref="K12:K13" type="date"`},
		{"a cure mark is told how to be written", `prompt="A quarter such as 3Q24`},
	}
	for _, r := range rows {
		if !strings.Contains(part, r.mark) {
			t.Errorf("%s: expected %s", r.rule, r.mark)
		}
	}
}

func BenchmarkReadAnswers(b *testing.B) {
	path := saved(b, reorderBytes(b, plans.Big(1000, 26, 500)))
	for b.Loop() {
		answers, faults, err := ReadAnswers(path)
		if err != nil || len(faults) > 0 || len(answers) != 20 {
			b.Fatal(len(answers), faults, err)
		}
	}
}
