package reports

import (
	"math"
	"slices"
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/testdata/golden/plans"
)

// sentOrder is the first order of the plan made by hand as it goes out.
func sentOrder() OrderToSend {
	p := plans.Plan()
	o := p.Orders[0]
	order := OrderToSend{
		Order: "PO-2027-014", Workshop: p.Workshop, Supplier: o.Supplier, Currency: p.Currency,
		PlacedOn: plans.AsOf, ExpectedBy: plans.AsOf + 4, Note: "One parcel, please.\nThe gate is closed after noon.", Carriage: o.Carriage,
	}
	for _, l := range o.Lines {
		order.Lines = append(order.Lines, LineToSend{Item: l.Item, SupplierCode: l.SupplierCode, Packs: l.Packs, PackQty: l.PackQty, Price: l.Price})
	}
	order.Lines[0].Note = "black"
	return order
}

func dueOrder() DeliveryDue {
	o := sentOrder()
	d := DeliveryDue{Order: o.Order, Workshop: o.Workshop, Supplier: o.Supplier, Currency: o.Currency, PlacedOn: o.PlacedOn, ExpectedBy: o.ExpectedBy}
	for i, l := range o.Lines {
		d.Lines = append(d.Lines, LineDue{Item: l.Item, Packs: l.Packs, Outstanding: l.Packs - i, PackQty: l.PackQty, Price: l.Price})
	}
	return d
}

func TestAnOrderThatIsSentAndItsDeliveryAreAsApproved(t *testing.T) {
	text := textOf(t, sentOrder().Sheet(), dueOrder().Sheet())
	golden(t, "send.txt", text)
	fitsTheTerminal(t, text)
}

func TestWhatTheOrderToSendHolds(t *testing.T) {
	rows := []struct {
		rule   string
		change func(*OrderToSend)
		want   []string
		not    []string
	}{
		{"who, to whom, when", func(*OrderToSend) {}, []string{"Order PO-2027-014", "Larchfell Bike Park", "Quillon Seals", "Monday 1 March 2027", "Friday 5 March 2027"}, nil},
		{"their codes and not ours", func(*OrderToSend) {}, []string{"QW-35-10", "Q-178-1242"}, []string{"WIP-35", "OR-1.78x12"}},
		{"the note line by line, in front of the table", func(*OrderToSend) {}, []string{"Note: One parcel, please.\nThe gate"}, nil},
		{"no note, no word of it", func(o *OrderToSend) { o.Note = " \n" }, nil, []string{"Note:"}},
		{"a note on a line has its column", func(*OrderToSend) {}, []string{"Note\n", "black"}, nil},
		{"no notes, no column", func(o *OrderToSend) { o.Note, o.Lines[0].Note = "", "" }, nil, []string{"Note"}},
		{"no day of arrival, none said", func(o *OrderToSend) { o.ExpectedBy = 0 }, nil, []string{"Expected by"}},
		{"an item without a name goes by its code", func(o *OrderToSend) { o.Lines[0].Item.Name = "" }, []string{"WIP-35"}, nil},
		{"a supplier without a name goes by its code", func(o *OrderToSend) { o.Supplier.Name = "" }, []string{"quillon"}, nil},
		{"nothing ordered says so", func(o *OrderToSend) { o.Lines = nil }, []string{"nothing is ordered"}, nil},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			o := sentOrder()
			r.change(&o)
			text := textOf(t, o.Sheet())
			for _, want := range r.want {
				if !strings.Contains(text, want) {
					t.Errorf("expected %q in\n%s", want, text)
				}
			}
			for _, not := range r.not {
				if strings.Contains(text, not) {
					t.Errorf("expected no %q in\n%s", not, text)
				}
			}
		})
	}
}

func TestTheOrderToSendAddsUp(t *testing.T) {
	s := sentOrder().Sheet()
	for n, r := range s.Rows {
		for _, c := range r.Cells {
			if c.Formula != nil {
				if got := computed(t, s, *c.Formula, n); math.Abs(got-c.Number()) > 1e-9 {
					t.Errorf("row %d: the formula gives %v, the sheet says %v", n, got, c.Number())
				}
			}
		}
	}
	want := []inventory.Money{59_15, 6_90, 66_05} // 3 × 18.40 + 3.95, carriage, both
	for i, total := range s.Totals {
		if got := total.Value.Number(); got != plans.Plan().Currency.Number(want[i]) {
			t.Errorf("%s: found %v, expected %v", total.Name, got, want[i])
		}
	}
}

func TestADeliverySheetIsFilledInAsIfAllCame(t *testing.T) {
	s := dueOrder().Sheet()
	outstanding, came := s.column("Packs outstanding"), s.column(CameColumn)
	for _, r := range s.Rows {
		if r.Cells[came].String() != r.Cells[outstanding].String() {
			t.Errorf("found %s packs that came of %s outstanding", r.Cells[came], r.Cells[outstanding])
		}
	}
	for _, c := range s.Columns {
		typed := slices.Contains([]string{CameColumn, ChargedColumn, "Lot", "Cure mark", "Expires on"}, c.Name)
		if c.Edit != typed || (c.Edit && c.Hint == "") {
			t.Errorf("column %s: Edit = %v, hint %q", c.Name, c.Edit, c.Hint)
		}
	}
}
