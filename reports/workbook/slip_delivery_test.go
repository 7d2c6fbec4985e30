package workbook

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"circlip/inventory"
	"circlip/reports"
	"circlip/testdata/golden/plans"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"
)

// sent is the first order of the plan made by hand as it goes out, with a pack
// more of each line than was proposed and a note on one.
func sent() reports.OrderToSend {
	p := plainPlan()
	o := p.Orders[0]
	order := reports.OrderToSend{
		Order: "PO-2027-014", Workshop: p.Workshop, Supplier: o.Supplier, Currency: p.Currency,
		PlacedOn: plans.AsOf, ExpectedBy: plans.AsOf + 4, Carriage: o.Carriage,
		Note: "Please send with the parcel of last week, if it has not left.\nThe gate is closed on Fridays after noon.",
	}
	for _, l := range o.Lines {
		order.Lines = append(order.Lines, reports.LineToSend{Item: l.Item, SupplierCode: l.SupplierCode, Packs: l.Packs + 1, PackQty: l.PackQty, Price: l.Price})
	}
	order.Lines[1].Note = "no other hardness, please"
	return order
}

// dueOf is the order when it is to come, one pack of its second line here
// already.
func dueOf(order reports.OrderToSend) reports.DeliveryDue {
	d := reports.DeliveryDue{Order: order.Order, Workshop: order.Workshop, Supplier: order.Supplier, Currency: order.Currency, PlacedOn: order.PlacedOn, ExpectedBy: order.ExpectedBy}
	for i, l := range order.Lines {
		d.Lines = append(d.Lines, reports.LineDue{Item: l.Item, Packs: l.Packs, Outstanding: l.Packs - i, PackQty: l.PackQty, Price: l.Price})
	}
	return d
}

func orderBytes(t testing.TB, o reports.OrderToSend) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := EncodeOrder(&out, o); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func deliveryBytes(t testing.TB, d reports.DeliveryDue) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := EncodeDelivery(&out, d); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func TestTheOrderToSendTellsNothingOfTheWorkshopsOwn(t *testing.T) {
	parts := zipParts(t, orderBytes(t, sent()))
	f := reorderFile(t, orderBytes(t, sent()))
	if tabs := f.GetSheetList(); len(tabs) != 1 {
		t.Errorf("found the sheets %v, expected one", tabs)
	}
	for name, part := range parts {
		for _, secret := range []string{"WIP-35", "OR-1.78x12", "externalLink", "hidden"} {
			if strings.Contains(part, secret) {
				t.Errorf("%s holds %q", name, secret)
			}
		}
	}
	for _, want := range []string{"PO-2027-014", "Larchfell Bike Park", "Quillon Seals", "Monday 1 March 2027", "QW-35-10", "if it has not left", "no other hardness, please"} {
		if !strings.Contains(parts["xl/worksheets/sheet1.xml"], want) {
			t.Errorf("expected %q on the sheet", want)
		}
	}
}

func TestTheOrderToSendAddsUp(t *testing.T) {
	f := reorderFile(t, orderBytes(t, sent()))
	rows, err := f.GetRows("Order", excelize.Options{RawCellValue: true})
	if err != nil {
		t.Fatal(err)
	}
	total := rows[len(rows)-1]
	if got := total[len(total)-1]; got != "88.4" { // 4 × 18.40 + 2 × 3.95 + 6.90
		t.Errorf("found the total %s, expected 88.4", got)
	}
	if got := sent().Sheet().Totals[2].Value.Number(); got != 88.4 {
		t.Errorf("the terminal shows %v, expected 88.4", got)
	}
}

func TestTheSameOrderGivesTheSameBytes(t *testing.T) {
	for range 5 {
		if !bytes.Equal(orderBytes(t, sent()), orderBytes(t, sent())) || !bytes.Equal(deliveryBytes(t, dueOf(sent())), deliveryBytes(t, dueOf(sent()))) {
			t.Fatal("found other bytes for the same order")
		}
	}
}

// whole is the delivery of all that is outstanding, on the sixth of March.
func whole() inventory.Delivery {
	return inventory.Delivery{
		Workshop: sent().Workshop, Order: "PO-2027-014", Supplier: "quillon", On: inventory.NewDate(2027, time.March, 6),
		Lines: []inventory.DeliveredLine{{Item: "WIP-35", Packs: 4}, {Item: "OR-1.78x12", Packs: 1}},
		Due:   map[string]int{"WIP-35": 4, "OR-1.78x12": 1},
	}
}

// came is the delivery sheet with its day filled in: Came on in B8, the rest in
// B9, wipers in row 12, O-rings in row 13; packs came in G, price in H, lot,
// cure mark and expiry in I, J and K.
func came(more func(desk)) func(desk) {
	return func(d desk) {
		d.set("B8", int(whole().On)+epoch)
		if more != nil {
			more(d)
		}
	}
}

func TestADeliveryIsReadAsItWasFilled(t *testing.T) {
	price := inventory.Money(19_95)
	quarter, err := inventory.ParseCure("3Q26")
	if err != nil {
		t.Fatal(err)
	}
	day := inventory.NewDate(2026, time.August, 15)
	rows := []struct {
		rule   string
		work   func(desk)
		change func(*inventory.Delivery)
	}{
		{"all came", nil, nil},
		{"the day as text", func(d desk) { d.set("B8", "2027-03-05") }, func(w *inventory.Delivery) { w.On-- }},
		{"fewer came", func(d desk) { d.set("G12", 2) }, func(w *inventory.Delivery) { w.Lines[0].Packs = 2 }},
		{"more came", func(d desk) { d.set("G12", 9) }, func(w *inventory.Delivery) { w.Lines[0].Packs = 9 }},
		{"none of one came", func(d desk) { d.set("G12", 0) }, func(w *inventory.Delivery) { w.Lines = w.Lines[1:] }},
		{"a row deleted: none came", func(d desk) { d.remove(12) }, func(w *inventory.Delivery) { w.Lines = w.Lines[1:] }},
		{"the rest is given up", func(d desk) { d.set("G12", 2); d.set("B9", "yes") }, func(w *inventory.Delivery) { w.Lines[0].Packs = 2; w.Closed = true }},
		{"all is given up", func(d desk) { d.clear("G12", "G13"); d.set("B9", true) }, func(w *inventory.Delivery) { w.Lines, w.Closed = nil, true }},
		{"another price", func(d desk) { d.set("H12", 19.95) }, func(w *inventory.Delivery) { w.Lines[0].Price = &price }},
		{"no price is the one ordered at", func(d desk) { d.clear("H12") }, nil},
		{"a lot", func(d desk) { d.set("I12", "L-77") }, func(w *inventory.Delivery) { w.Lines[0].Lot = "L-77" }},
		{"a lot of digits", func(d desk) { d.set("I12", 4711) }, func(w *inventory.Delivery) { w.Lines[0].Lot = "4711" }},
		{"a cure mark", func(d desk) { d.set("J12", "3q26") }, func(w *inventory.Delivery) { w.Lines[0].Cure = quarter }},
		{"a day of cure", func(d desk) { d.set("J12", int(day)+epoch) }, func(w *inventory.Delivery) { w.Lines[0].Cure = inventory.Cure{From: day, Through: day} }},
		{"a printed expiry", func(d desk) { d.set("K13", int(day)+epoch) }, func(w *inventory.Delivery) { w.Lines[1].Expires = day }},
		{"two lots of one item", func(d desk) {
			d.set("G12", 3)
			d.set("I12", "A")
			d.copyRow(12, 13)
			d.set("G13", 1)
			d.set("I13", "B")
		},
			func(w *inventory.Delivery) {
				w.Lines = []inventory.DeliveredLine{{Item: "WIP-35", Packs: 3, Lot: "A"}, {Item: "WIP-35", Packs: 1, Lot: "B"}, w.Lines[1]}
			}},
	}
	workbook := deliveryBytes(t, dueOf(sent()))
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			want := whole()
			if r.change != nil {
				r.change(&want)
			}
			got, faults, err := ReadDelivery(saved(t, edited(t, workbook, "Delivery", came(r.work))))
			if err != nil || len(faults) > 0 {
				t.Fatal(faults, err)
			}
			if diff := cmp.Diff(want, got); diff != "" {
				t.Errorf("(-expected +read)\n%s", diff)
			}
		})
	}
}

func TestWhatIsWrongWithADeliveryIsTold(t *testing.T) {
	rows := []struct {
		rule string
		work func(desk)
		want []string
	}{
		{"no day", func(d desk) { d.clear("B8") }, []string{"Delivery:8:Came on: blank, expected the day on which it came, YYYY-MM-DD"}},
		{"no such day", func(d desk) { d.set("B8", "2027-02-30") }, []string{`Delivery:8:Came on: no such day, found "2027-02-30", expected a day that exists, as YYYY-MM-DD`}},
		{"a day and an hour", func(d desk) { d.set("B8", float64(whole().On)+epoch+0.5) }, []string{`Delivery:8:Came on: a date with a time of day, found "46452.5", expected a date alone`}},
		{"neither yes nor no", func(d desk) { d.set("B9", "perhaps") }, []string{`Delivery:9:The rest will not come: neither yes nor no, found "perhaps", expected yes or no`}},
		{"no word on the rest", func(d desk) { d.clear("B9") }, []string{"Delivery:9:The rest will not come: blank, expected yes or no"}},
		{"nothing came and nothing is given up", func(d desk) { d.clear("G12"); d.set("G13", 0) }, []string{"Delivery:Packs came: nothing came, expected packs that came, or yes behind The rest will not come"}},
		{"text for packs that came", func(d desk) { d.set("G12", "all") }, []string{`Delivery:12:Packs came: not a number, found "all", expected a whole number from 0 to 1000000`}},
		{"fewer than none", func(d desk) { d.set("G12", -1) }, []string{`Delivery:12:Packs came: negative, found "-1", expected a whole number from 0 to 1000000`}},
		{"packs as a formula, though", func(d desk) { d.formula("G12", "F12") }, []string{`Delivery:12:Packs came: holds a formula, found "4", expected a plain value; type it`}},
		{"a price of three decimals", func(d desk) { d.set("H12", 18.405) }, []string{`Delivery:12:Price charged: not an amount in EUR, found "18.405", expected an amount with 2 decimals at most`}},
		{"a price below nothing", func(d desk) { d.set("H12", -1) }, []string{`Delivery:12:Price charged: negative, found "-1", expected an amount of 0 or more with a decimal point`}},
		{"a lot of two codes", func(d desk) { d.set("I12", "A;B") }, []string{`Delivery:12:Lot: holds a ;, found "A;B", expected one code`}},
		{"no cure mark", func(d desk) { d.set("J12", "5Q26") }, []string{`Delivery:12:Cure mark: neither a date nor a quarter mark, found "5Q26", expected YYYY-MM-DD, or a quarter such as 3Q24`}},
		{"no expiry", func(d desk) { d.set("K12", "soon") }, []string{`Delivery:12:Expires on: not a date, found "soon", expected YYYY-MM-DD`}},
		{"an item that was not ordered", func(d desk) { d.copyRow(12, 14); d.set("C14", 10); d.set("A14", "SEA-35") }, []string{`Delivery:14:Our code: not an item of this order, found "SEA-35", expected one of the items ordered; what else came is counted in by hand`}},
		{"an item of one lot twice", func(d desk) { d.copyRow(12, 13) }, []string{`Delivery:13:Our code: the item stands twice, found "WIP-35", expected each item once, or each of its lots once`}},
		{"more ordered than was", func(d desk) { d.set("E12", 40) }, []string{`Delivery:12:Packs ordered: the figure was changed, found "40", expected 4`}},
		{"more outstanding than is", func(d desk) { d.set("F13", 2) }, []string{`Delivery:13:Packs outstanding: the figure was changed, found "2", expected 1`}},
		{"other packs came", func(d desk) { d.set("C12", 12) }, []string{`Delivery:12:Pack: the pack was changed, found "12", expected 10; other packs are counted in by hand`}},
		{"packs that came merged", func(d desk) { d.ok(d.f.MergeCell(d.tab, "G12", "G13")) }, []string{"Delivery:12:G12: merged cells in the table, expected one cell a column and line; split them"}},
		{"a delivery's row hidden", func(d desk) { d.ok(d.f.SetRowVisible(d.tab, 12, false)) }, []string{"Delivery:12: the row is hidden, expected only rows that can be seen; show it, or delete it"}},
		{"the sheet renamed", func(d desk) { d.ok(d.f.SetSheetName(d.tab, "Parcel")) }, []string{"Delivery: the sheet is missing or hidden, expected the delivery under this name"}},
		{"the order on the hidden sheet", func(d desk) { d.ok(d.f.SetCellValue(deliveryMemory, "B2", "PO-2027-015")) }, []string{"circlip delivery:2: the hidden sheet was changed, expected it as it was written; write the workbook again"}},
		{"what is outstanding on the hidden sheet", func(d desk) { d.ok(d.f.SetCellValue(deliveryMemory, "I2", 3)) }, []string{"circlip delivery:2: the hidden sheet was changed, expected it as it was written; write the workbook again"}},
		{"all lines of the hidden sheet gone", func(d desk) { d.ok(d.f.RemoveRow(deliveryMemory, 2)); d.ok(d.f.RemoveRow(deliveryMemory, 2)) }, []string{"circlip delivery: the hidden sheet was changed, expected it as it was written; write the workbook again"}},
		{"the hidden sheet gone", func(d desk) { d.ok(d.f.DeleteSheet(deliveryMemory)) }, []string{"circlip delivery: the hidden sheet is missing, expected a delivery sheet as it was written, with all its sheets"}},
	}
	workbook := deliveryBytes(t, dueOf(sent()))
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			got, faults, err := ReadDelivery(saved(t, edited(t, workbook, "Delivery", came(r.work))))
			toldOf(t, faults, err, r.want)
			if diff := cmp.Diff(inventory.Delivery{}, got); diff != "" {
				t.Errorf("found a delivery beside a fault:\n%s", diff)
			}
		})
	}
}
