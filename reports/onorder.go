package reports

import (
	"cmp"
	"fmt"
	"slices"

	"circlip/inventory"
	"circlip/reports/plan"
)

// OnOrder lists what is ordered and still to come, by the day it is due.
func OnOrder(shop inventory.Shop) Sheet {
	unit := shop.Settings.Currency.Code
	s := Sheet{
		Key: "on order", Name: "On order", Title: fmt.Sprintf("What is on order · %s · %s", shop.Settings.Workshop, longDay(shop.AsOf)),
		Columns: []Column{
			{Name: "Due on", Kind: DateKind}, {Name: "Order"}, {Name: "Supplier", Rank: 3}, {Name: "Item"},
			{Name: "Ordered", Unit: "packs", Kind: CountKind, Rank: 1}, {Name: "To come", Unit: "packs", Kind: CountKind},
			{Name: "Placed on", Kind: DateKind, Rank: 4}, {Name: "Value", Unit: unit, Kind: MoneyKind, Rank: 2},
		},
		Empty: "Nothing is on order.",
	}
	var value inventory.Money
	for _, o := range outstanding(shop) {
		packs := o.Packs - o.ReceivedPacks
		worth := o.Price * inventory.Money(packs)
		value += worth
		s.Rows = append(s.Rows, Row{Strong: o.DueOn < shop.AsOf, Cells: []Cell{
			Day(o.DueOn), Words(o.Order), Words(o.Supplier), Words(o.Item), Counted(o.Packs), Counted(packs), Day(o.PlacedOn),
			Amount(worth, shop.Settings.Currency),
		}})
	}
	if len(s.Rows) > 0 {
		s.Totals = []Total{{"All orders", "Value", Amount(value, shop.Settings.Currency).With(Formula{ColumnSum: "Value"})}}
	}
	return s
}

// outstanding is the order lines of which something is still to come.
func outstanding(shop inventory.Shop) []inventory.OrderLine {
	var open []inventory.OrderLine
	for _, o := range shop.Orders {
		if o.Outstanding() > 0 {
			open = append(open, o)
		}
	}
	slices.SortStableFunc(open, func(a, b inventory.OrderLine) int {
		return cmp.Or(cmp.Compare(a.DueOn, b.DueOn), cmp.Compare(a.Order, b.Order), cmp.Compare(a.Item, b.Item))
	})
	return open
}

// onOrderJSON is a line of which something is still to come.
type onOrderJSON struct {
	Order       string  `json:"order"`
	Supplier    string  `json:"supplier"`
	Item        string  `json:"item"`
	Packs       int     `json:"packs"`
	Outstanding int     `json:"outstanding_packs"`
	PlacedOn    string  `json:"placed_on"`
	DueOn       *string `json:"due_on"`
	Price       string  `json:"price"`
}

// OnOrderJSON is the document of `order list --json`.
func OnOrderJSON(shop inventory.Shop, p plan.Plan) ([]byte, error) {
	document := struct {
		documentHead
		Orders []onOrderJSON `json:"orders"`
		Chase  []chaseJSON   `json:"chase"`
	}{documentHead: headOf(p), Orders: []onOrderJSON{}, Chase: chaseDocument(p.Chase)}
	for _, o := range outstanding(shop) {
		document.Orders = append(document.Orders, onOrderJSON{
			o.Order, o.Supplier, o.Item, o.Packs, o.Packs - o.ReceivedPacks, o.PlacedOn.String(), dayOrNull(o.DueOn), shop.Settings.Currency.Format(o.Price),
		})
	}
	return encode("orders", document)
}
