package reports

import (
	"fmt"

	"circlip/inventory"
)

// Labels of what a person fills above a delivery sheet, and the columns below
// them that are read back.
const (
	CameOnField   = "Came on"
	RestField     = "The rest will not come"
	CameColumn    = "Packs came"
	ChargedColumn = "Price charged"
)

// DeliveryDue is an order of which something is still to come, to be ticked
// off against the parcel.
type DeliveryDue struct {
	Order, Workshop string
	Supplier        inventory.Supplier
	Currency        inventory.Currency
	PlacedOn        inventory.Date
	ExpectedBy      inventory.Date // zero: not said
	Lines           []LineDue
}

// LineDue is one item of it.
type LineDue struct {
	Item        inventory.Item
	Packs       int // ordered
	Outstanding int // packs still to come
	PackQty     inventory.Quantity
	Price       inventory.Money // a pack, as ordered
}

// Sheet is filled in as if all that is outstanding had come as ordered: a
// person corrects what did not.
func (d DeliveryDue) Sheet() Sheet {
	s := Sheet{
		Key: "delivery", Name: "Delivery",
		Title: fmt.Sprintf("Delivery of order %s from %s", d.Order, supplierName(d.Supplier)),
		Notes: []string{"Fill in the day, correct what came otherwise than it stands here, and copy from the parts what is marked on them. Where an item came in two lots, copy its row."},
		Facts: d.facts(),
		Fields: []Field{
			{Label: CameOnField, Kind: DateKind, Hint: "The day on which the parcel came."},
			{Label: RestField, Value: Words("no"), OneOf: []string{"yes", "no"}, Hint: "yes: what is missing after this delivery is given up."},
		},
		Columns: []Column{
			{Name: "Our code"},
			{Name: "Item", Wrap: true},
			{Name: "Pack", Kind: QuantityKind, Rank: 3},
			{Name: "Unit", Rank: 3},
			{Name: "Packs ordered", Kind: CountKind, Rank: 1},
			{Name: "Packs outstanding", Kind: CountKind},
			{Name: CameColumn, Kind: CountKind, Edit: true, Hint: "Of this delivery alone; 0 or blank: none."},
			{Name: ChargedColumn, Unit: d.Currency.Code, Kind: MoneyKind, Edit: true, Rank: 2, Hint: "A pack, as the invoice says; blank: as ordered."},
			{Name: "Lot", Edit: true, Hint: "As marked; blank: it is named after the order."},
			{Name: "Cure mark", Edit: true, Hint: "A quarter such as 3Q24, or a day as YYYY-MM-DD; blank: not marked."},
			{Name: "Expires on", Kind: DateKind, Edit: true, Hint: "The day printed on it; blank: it follows from material and cure."},
		},
		Empty: "Nothing of this order is still to come.",
	}
	for _, l := range d.Lines {
		m := l.Item.Measure
		s.Rows = append(s.Rows, Row{Cells: []Cell{
			Words(l.Item.Code), Words(itemName(l.Item)), Measured(l.PackQty, m), Words(string(m)),
			Counted(l.Packs), Counted(l.Outstanding), Counted(l.Outstanding), Amount(l.Price, d.Currency), {}, {}, {},
		}})
	}
	return s
}

// facts are the order's own; the fields stand below them.
func (d DeliveryDue) facts() []Fact {
	facts := []Fact{
		{"Order", Words(d.Order), ""},
		{"From", Words(supplierName(d.Supplier)), ""},
		{"Placed on", Words(longDay(d.PlacedOn)), ""},
	}
	if !d.ExpectedBy.IsZero() {
		facts = append(facts, Fact{"Expected by", Words(longDay(d.ExpectedBy)), ""})
	}
	return facts
}
