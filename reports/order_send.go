package reports

import (
	"strings"

	"circlip/inventory"
)

// OrderToSend is an order as its supplier gets it.
type OrderToSend struct {
	Order, Workshop string
	Supplier        inventory.Supplier
	Currency        inventory.Currency
	PlacedOn        inventory.Date
	ExpectedBy      inventory.Date // zero: not said
	Note            string         // about the whole order
	Lines           []LineToSend
	Carriage        inventory.Money
}

// LineToSend is one item of it, under the supplier's own code where there is
// one.
type LineToSend struct {
	Item         inventory.Item
	SupplierCode string
	Packs        int
	PackQty      inventory.Quantity
	Price        inventory.Money // a pack
	Note         string
}

// Sheet is the order and nothing else: neither why nor how much is on the
// shelf. The column of notes is there where a line has one.
func (o OrderToSend) Sheet() Sheet {
	unit := o.Currency.Code
	s := Sheet{
		Key: "send", Name: "Order", Title: "Order " + o.Order,
		Notes: o.notes(),
		Facts: o.facts(),
		Columns: []Column{
			{Name: "Your code"},
			{Name: "Item", Wrap: true},
			{Name: "Packs", Kind: CountKind},
			{Name: "Pack", Kind: QuantityKind},
			{Name: "Quantity", Kind: QuantityKind},
			{Name: "Unit"},
			{Name: "Price", Unit: unit, Kind: MoneyKind},
			{Name: "Line total", Unit: unit, Kind: MoneyKind},
		},
		Empty: "No lines: nothing is ordered.",
	}
	if o.noted() {
		s.Columns = append(s.Columns, Column{Name: "Note", Wrap: true})
	}
	goods := inventory.Money(0)
	for _, l := range o.Lines {
		s.Rows = append(s.Rows, Row{Cells: o.cells(l)[:len(s.Columns)]})
		goods += l.total()
	}
	s.Totals = []Total{
		{goodsTotal, "Line total", Amount(goods, o.Currency).With(Formula{ColumnSum: "Line total"})},
		{carriageTotal, "Line total", Amount(o.Carriage, o.Currency)},
		{orderTotal, "Line total", Amount(goods+o.Carriage, o.Currency).With(Formula{TotalSum: []string{goodsTotal, carriageTotal}})},
	}
	return s
}

// facts are who orders from whom and when.
func (o OrderToSend) facts() []Fact {
	facts := []Fact{
		{"From", Words(o.Workshop), ""},
		{"To", Words(supplierName(o.Supplier)), ""},
		{"Date", Words(longDay(o.PlacedOn)), ""},
	}
	if !o.ExpectedBy.IsZero() {
		facts = append(facts, Fact{"Expected by", Words(longDay(o.ExpectedBy)), ""})
	}
	return facts
}

// notes are the lines of the note about the whole order, as they were typed.
func (o OrderToSend) notes() []string {
	var notes []string
	for line := range strings.SplitSeq(o.Note, "\n") {
		if line = strings.TrimSpace(line); line != "" {
			notes = append(notes, line)
		}
	}
	if len(notes) > 0 {
		notes[0] = "Note: " + notes[0]
	}
	return notes
}

// noted reports whether any line has a note.
func (o OrderToSend) noted() bool {
	for _, l := range o.Lines {
		if l.Note != "" {
			return true
		}
	}
	return false
}

// cells are those of a line, its note last.
func (o OrderToSend) cells(l LineToSend) []Cell {
	m := l.Item.Measure
	return []Cell{
		Words(l.SupplierCode), Words(itemName(l.Item)), Counted(l.Packs), Measured(l.PackQty, m),
		Measured(l.PackQty*inventory.Quantity(l.Packs), m).With(Formula{Product: []string{"Packs", "Pack"}}), Words(string(m)),
		Amount(l.Price, o.Currency), Amount(l.total(), o.Currency).With(Formula{Product: []string{"Packs", "Price"}}),
		Words(l.Note),
	}
}

func (l LineToSend) total() inventory.Money { return l.Price * inventory.Money(l.Packs) }
