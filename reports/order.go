package reports

import (
	"fmt"
	"slices"

	"circlip/inventory"
	"circlip/reports/plan"
)

// Totals of an order's sheet.
const (
	goodsTotal    = "Goods"
	carriageTotal = "Carriage"
	orderTotal    = "Total"
)

// NoteField is what a person may fill above an order.
const NoteField = "Note to the supplier"

// orderKey goes by the supplier's code, since names may be alike.
func orderKey(o plan.Order) string { return "order " + o.Supplier.Code }

// OrderSheets are all orders of the plan, as a workbook has them.
func OrderSheets(p plan.Plan) []Sheet {
	sheets := make([]Sheet, len(p.Orders))
	for i, o := range p.Orders {
		sheets[i] = SupplierOrder(p, o)
	}
	return sheets
}

// OrderTables are the same for a terminal: without lines of no packs, since
// nobody can type there.
func OrderTables(p plan.Plan) []Sheet {
	p.Forward = nil
	return OrderSheets(p)
}

// SupplierOrder is one order of the plan, to be looked over by a person, who
// may change packs, strike lines, write notes, and give packs to what is worth
// bringing forward; the other figures follow.
func SupplierOrder(p plan.Plan, o plan.Order) Sheet {
	unit, lines := p.Currency.Code, p.Offered(o)
	worth := slices.ContainsFunc(lines, func(l plan.Line) bool { return p.WorthAdding(o, l) > 0 })
	s := Sheet{
		Key: orderKey(o), Name: supplierName(o.Supplier),
		Title:  fmt.Sprintf("Order from %s to %s", p.Workshop, supplierName(o.Supplier)),
		Facts:  orderFacts(o),
		Fields: []Field{{Label: NoteField, Hint: "Stands on the order that is sent."}},
		Columns: []Column{
			{Name: "Your code"},
			{Name: "Item", Wrap: true},
			{Name: "Our code", Rank: 2},
			{Name: "Packs", Kind: CountKind, Edit: true, Hint: packsHint},
			{Name: "Pack", Kind: QuantityKind},
			{Name: "Quantity", Kind: QuantityKind},
			{Name: "Unit"},
			{Name: "Price", Unit: unit, Kind: MoneyKind},
			{Name: "Line total", Unit: unit, Kind: MoneyKind},
			{Name: "Expected on", Kind: DateKind, Rank: 1},
		},
		Empty: "No lines: nothing is ordered from this supplier.",
	}
	if worth {
		s.Columns = append(s.Columns, Column{Name: "Worth adding", Unit: "packs", Kind: CountKind, Rank: 3})
	}
	s.Columns = append(s.Columns, Column{Name: "Note", Wrap: true, Edit: true, Hint: "Goes to the supplier with the line."})
	for _, l := range lines {
		m := l.Item.Measure
		cells := []Cell{
			Words(l.SupplierCode), Words(itemName(l.Item)), Words(l.Item.Code),
			Counted(l.Packs), Measured(l.PackQty, m),
			Measured(l.Qty, m).With(Formula{Product: []string{"Packs", "Pack"}}), Words(string(m)),
			Amount(l.Price, p.Currency),
			Amount(l.Total, p.Currency).With(Formula{Product: []string{"Packs", "Price"}}),
			Day(l.ExpectedOn),
		}
		if worth {
			cells = append(cells, worthAdding(p, o, l))
		}
		s.Rows = append(s.Rows, Row{Cells: append(cells, Cell{})})
	}
	s.Totals = orderTotals(p.Currency, o)
	return s
}

// worthAdding is blank where nothing is.
func worthAdding(p plan.Plan, o plan.Order, l plan.Line) Cell {
	if packs := p.WorthAdding(o, l); packs > 0 {
		return Counted(packs)
	}
	return Cell{}
}

const packsHint = "To strike the line: 0, blank, or delete the row. Quantities and totals follow. The price stays that of the packs planned: price breaks do not follow."

// orderFacts is what stands above an order: by when it must go out, and when
// the last of it comes.
func orderFacts(o plan.Order) []Fact {
	facts := []Fact{{"Place by", Words(longDay(o.PlaceBy)), ""}}
	if o.Supplier.Cutoff != "" {
		facts = append(facts, Fact{"Before", Words(o.Supplier.Cutoff), ""})
	}
	if o.Moved != "" {
		facts = append(facts, Fact{"Why that day", Words(o.Moved), ""})
	}
	if last := lastDay(o); !last.IsZero() {
		facts = append(facts, Fact{"Expected by", Words(longDay(last)), ""})
	}
	return facts
}

// orderTotals are the lines below an order, each following from those above.
func orderTotals(c inventory.Currency, o plan.Order) []Total {
	s := o.Supplier
	carriage := &Carriage{Of: goodsTotal, Ordered: "Packs", Flat: s.Carriage, FreeFrom: s.CarriageFreeFrom, Free: s.HasFreeCarriage, Currency: c}
	return []Total{
		{goodsTotal, "Line total", Amount(o.Goods, c).With(Formula{ColumnSum: "Line total"})},
		{carriageTotal, "Line total", Amount(o.Carriage, c).With(Formula{Carriage: carriage})},
		{orderTotal, "Line total", Amount(o.Total, c).With(Formula{TotalSum: []string{goodsTotal, carriageTotal}})},
	}
}
