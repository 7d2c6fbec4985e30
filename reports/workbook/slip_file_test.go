package workbook

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/inventory/book"
	"circlip/reports/plan"
	"circlip/testdata/golden/plans"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// readers are both doors for what comes back.
var readers = map[string]func(path string) (any, []book.Fault, error){
	"answers":  func(path string) (any, []book.Fault, error) { return three(ReadAnswers(path)) },
	"delivery": func(path string) (any, []book.Fault, error) { return three(ReadDelivery(path)) },
	"count":    func(path string) (any, []book.Fault, error) { return three(ReadCount(path)) },
}

func three[T any](value T, faults []book.Fault, err error) (any, []book.Fault, error) {
	return value, faults, err
}

// partOf is the name of the part in which a tab lies.
func partOf(t testing.TB, workbook []byte, tab string) string {
	t.Helper()
	b, err := openBook(bytes.NewReader(workbook), int64(len(workbook)), standard)
	if err != nil {
		t.Fatal(err)
	}
	part, known := b.tab(tab)
	if !known {
		t.Fatalf("no tab %q", tab)
	}
	return part.part
}

// damaged is a workbook in which a text of one tab's part was replaced.
func damaged(t testing.TB, workbook []byte, tab, old, new string) []byte {
	t.Helper()
	return unpack(t, workbook).replaced(partOf(t, workbook, tab), old, new).pack()
}

func TestOtherFilesAreNamed(t *testing.T) {
	var aBook bytes.Buffer
	if err := writeBook(&aBook, demo(t).tables()); err != nil {
		t.Fatal(err)
	}
	orders, delivery := reorderBytes(t, plainPlan()), deliveryBytes(t, dueOf(sent()))
	rows := []struct {
		rule, reader string
		file         []byte
		fault, err   string
	}{
		{"another program's workbook as an order", "answers", minimal(`<row r="1"><c r="A1" t="s"><v>0</v></c></row>`).pack(),
			"circlip: the hidden sheet is missing, expected a reorder workbook as it was written, with all its sheets", ""},
		{"another program's workbook as a delivery", "delivery", minimal("").pack(),
			"circlip delivery: the hidden sheet is missing, expected a delivery sheet as it was written, with all its sheets", ""},
		{"a book as an order", "answers", aBook.Bytes(), "circlip: the hidden sheet is missing, expected a reorder workbook as it was written, with all its sheets", ""},
		{"the order that was sent", "answers", orderBytes(t, sent()), "circlip: the hidden sheet is missing, expected a reorder workbook as it was written, with all its sheets", ""},
		{"a delivery sheet as an order", "answers", delivery, "circlip delivery: found a delivery sheet, expected a reorder workbook", ""},
		{"a reorder workbook as a delivery", "delivery", orders, "circlip: found a reorder workbook, expected a delivery sheet", ""},
		{"a text file", "answers", []byte("item,packs\nWIP-35,3\n"), "", "found a text file, expected .xlsx; a book of CSV files is loaded by naming its folder"},
		{"an empty file", "delivery", nil, "", "found an empty file, expected .xlsx"},
		{"half a file", "answers", orders[:len(orders)/2], "", "found a damaged or cut zip container (zip: not a valid zip file), expected a whole .xlsx; take the file from its source again"},
		{"damage in an order", "answers", damaged(t, orders, quillon, "</row>", "</rov>"), "Quillon Seals:1:A1: damaged XML: found </rov>, expected the end of <row>", ""},
		{"an order cut short", "answers", damaged(t, orders, quillon, "</sheetData>", ""), "Quillon Seals:13:I13: damaged XML: found <mergeCells> among the rows", ""},
		{"damage in the hidden sheet", "answers", damaged(t, orders, ordersMemory, "<v>", "<w>"), "circlip:2:C2: damaged XML: found <w> in a cell of the type \"n\"", ""},
		{"merged cells that are none", "answers", damaged(t, orders, quillon, `<mergeCell ref="A1:K1"`, `<mergeCell ref="A1"`), "Quillon Seals:13:behind the last row: damaged XML: found the merged cells \"A1\", expected a range such as A1:B2", ""},
		{"columns that are none", "answers", damaged(t, orders, quillon, `max="1"`, `max="x"`), "Quillon Seals: damaged XML: found the columns \"1\" to \"x\", expected numbers", ""},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			path := saved(t, r.file)
			_, faults, err := readers[r.reader](path)
			if r.err != "" {
				sameFailure(t, err, r.err, path)
				return
			}
			var told []string
			for _, f := range faults {
				told = append(told, atByte.ReplaceAllString(f.Error(), ""))
			}
			if err != nil || len(told) == 0 || told[0] != r.fault {
				t.Errorf("told %q, %v\nexpected %s", told, err, r.fault)
			}
		})
	}
}

func TestAFileThatIsNotThereIsAnError(t *testing.T) {
	for name, read := range readers {
		if _, _, err := read(filepath.Join(t.TempDir(), "none.xlsx")); !errors.Is(err, os.ErrNotExist) {
			t.Errorf("%s: found %v, expected that there is no such file", name, err)
		}
	}
}

// What a single damaged byte may do at most is to make another, whole answer:
// it never panics, and what it breaks is told.
func TestADamagedByteBreaksNothingUnseen(t *testing.T) {
	orders := reorderBytes(t, plainPlan())
	whole, err := zip.NewReader(bytes.NewReader(orders), int64(len(orders)))
	if err != nil {
		t.Fatal(err)
	}
	want := asProposed(plainPlan())
	for _, tab := range []string{quillon, ordersMemory} {
		name := partOf(t, orders, tab)
		part := []byte(unpack(t, orders)[name])
		told, others := 0, 0
		for at := 0; at < len(part); at += 11 {
			h := harms[at%len(harms)]
			file := repacked(t, whole, name, h.harm(slices.Clone(part), at))
			b, err := openBook(bytes.NewReader(file), int64(len(file)), standard)
			if err != nil {
				t.Fatal(err)
			}
			answers, faults, err := b.answers()
			switch {
			case err != nil:
				t.Errorf("byte %d %s: %v", at, h.name, err)
			case len(faults) == 0 && len(answers) != len(want):
				t.Errorf("byte %d %s: found %d answers", at, h.name, len(answers))
			case len(faults) == 0:
				others += differ(t, want, answers)
			default:
				told++
			}
		}
		t.Logf("%s: %d of %d harms told, %d made another answer", tab, told, 1+len(part)/11, others)
		if told < len(part)/11/3 {
			t.Errorf("%s: found %d harms told, expected a third of them or more", tab, told)
		}
	}
}

// differ counts answers that are not as proposed; their proposals must be.
func differ(t *testing.T, want, got []inventory.Answer) (count int) {
	t.Helper()
	for i, a := range got {
		if diff := cmp.Diff(want[i].Proposal, a.Proposal); diff != "" {
			t.Errorf("another proposal\n%s", diff)
		}
		if len(a.Changes()) > 0 || a.Note != "" {
			count++
		}
	}
	return count
}

// drawOrders is a plan of orders with codes and texts that a book may hold.
func drawOrders(t *rapid.T) plan.Plan {
	code := rapid.StringMatching(`[A-Za-z0-9äß漢./ _=+@'"&<-]{0,20}[A-Za-z0-9)]`).Filter(func(s string) bool {
		return s[0] != ' ' && !strings.Contains(s, "_x")
	})
	text := rapid.SampledFrom([]string{"", "=1+1", "Quillon & Söhne", "two\nlines", "'quoted'", "]a[b*", " padded ", "Kits", "🔩 bolts"})
	codes, _ := inventory.ParseCurrency(rapid.SampledFrom([]string{"EUR", "JPY", "KWD"}).Draw(t, "currency"))
	p := plan.Plan{AsOf: plans.AsOf, Workshop: text.Draw(t, "workshop"), Currency: codes}
	whole := func(name string, least, most int) int { return rapid.IntRange(least, most).Draw(t, name) }
	for _, supplier := range rapid.SliceOfNDistinct(code, 0, 4, rapid.ID[string]).Draw(t, "suppliers") {
		o := plan.Order{
			Supplier: inventory.Supplier{Code: supplier, Name: text.Draw(t, "name"), Carriage: inventory.Money(whole("carriage", 0, 5000))},
			PlaceBy:  p.AsOf + inventory.Date(whole("days", 0, 9)), Earlier: whole("earlier", 0, 50),
		}
		for _, item := range rapid.SliceOfNDistinct(code, 1, 6, rapid.ID[string]).Draw(t, "items") {
			of := inventory.Item{Code: item, Name: text.Draw(t, "item's name"), Measure: rapid.SampledFrom([]inventory.Measure{inventory.Each, inventory.Millilitre, inventory.Gram}).Draw(t, "measure")}
			p.Items = append(p.Items, plan.Item{Item: of, Position: inventory.Quantity(whole("position", -100, 1e6))})
			l := plan.Line{Item: of, SupplierCode: text.Draw(t, "their code"), Packs: whole("packs", 1, 1000), PackQty: inventory.Quantity(whole("pack", 1, 1e6)), Price: inventory.Money(whole("price", 0, 1e9))}
			l.Qty, l.Total = l.PackQty*inventory.Quantity(l.Packs), l.Price*inventory.Money(l.Packs)
			o.Goods += l.Total
			o.Lines = append(o.Lines, l)
		}
		o.Carriage, o.Total = o.Supplier.Carriage, o.Goods+o.Supplier.Carriage
		p.Orders = append(p.Orders, o)
	}
	return p
}

func TestEveryPlanAnswersWithItself(t *testing.T) {
	folder := t.TempDir()
	rapid.Check(t, func(rt *rapid.T) {
		p := drawOrders(rt)
		path := filepath.Join(folder, "reorder.xlsx")
		if err := WriteReorder(path, p); err != nil {
			rt.Fatal(err)
		}
		answers, faults, err := ReadAnswers(path)
		if err != nil || len(faults) > 0 {
			rt.Fatal(faults, err)
		}
		if diff := cmp.Diff(asProposed(p), answers); diff != "" {
			rt.Fatalf("(-proposed +answered)\n%s", diff)
		}
	})
}

// FuzzAnswers reads any text as the sheet of an order and as the hidden sheet:
// no panic, no error, and either faults or answers that order nothing that was
// not proposed. Run it with -fuzzminimizetime=10x.
func FuzzAnswers(f *testing.F) {
	small := plan.Plan{Workshop: "Larchfell Bike Park", AsOf: plans.AsOf, Currency: plainPlan().Currency, Orders: plainPlan().Orders[:1]}
	workbook := reorderBytes(f, small)
	p, order, hidden := unpack(f, workbook), partOf(f, workbook, quillon), partOf(f, workbook, ordersMemory)
	f.Add(p[order], p[hidden])
	for _, r := range badWork[:12] {
		other := edited(f, workbook, quillon, r.work)
		if b, err := openBook(bytes.NewReader(other), int64(len(other)), standard); err == nil {
			if _, known := b.tab(quillon); known {
				f.Add(unpack(f, other)[partOf(f, other, quillon)], p[hidden])
			}
		}
	}
	f.Fuzz(func(t *testing.T, orderSheet, hiddenSheet string) {
		file := p.with(parts{order: orderSheet + " ", hidden: hiddenSheet + " "}).pack() // a part is never left out
		b, err := openBook(bytes.NewReader(file), int64(len(file)), standard)
		if err != nil {
			t.Fatal(err)
		}
		answers, faults, err := b.answers()
		switch {
		case err != nil:
			t.Fatal(err)
		case len(faults) > 0 && len(answers) > 0:
			t.Fatalf("found answers beside %v", faults)
		}
		for _, a := range answers {
			if err := sane(a); err != nil {
				t.Error(err)
			}
		}
	})
}

// sane checks what every answer promises.
func sane(a inventory.Answer) error {
	proposed := map[string]bool{}
	for _, l := range a.Proposal.Lines {
		proposed[l.Item] = true
	}
	for _, l := range a.Lines {
		if !proposed[l.Item] || l.Packs < 1 || l.Packs > mostPacks {
			return fmt.Errorf("found %d packs of %q", l.Packs, l.Item)
		}
		delete(proposed, l.Item)
	}
	return nil
}

// A sheet made to fill the memory is told of and not kept.
func TestASheetWithoutEndIsCutShort(t *testing.T) {
	workbook := reorderBytes(t, lean())
	name := partOf(t, workbook, quillon)
	row := `<row r="%[1]d"><c r="C%[1]d" t="inlineStr"><is><t>WIP-35</t></is></c><c r="D%[1]d"><v>1</v></c><c r="E%[1]d"><v>10</v></c><c r="H%[1]d"><v>18.4</v></c></row>`
	var rows strings.Builder
	for n := 100; n < 200_000; n++ {
		fmt.Fprintf(&rows, row, n)
	}
	file := unpack(t, workbook).replaced(name, "</sheetData>", rows.String()+"</sheetData>").pack()
	answers, faults, err := ReadAnswers(saved(t, file))
	if err != nil || len(answers) > 0 || len(faults) < 100 || len(faults) > 2*mostTold {
		t.Fatalf("found %d answers and %d faults, %v", len(answers), len(faults), err)
	}
	if !slices.ContainsFunc(faults, func(f book.Fault) bool { return f.Problem == "the table is too long" }) {
		t.Errorf("expected a word on the length, found %v", faults[:3])
	}
}
