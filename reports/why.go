package reports

import (
	"fmt"

	"circlip/inventory"
	"circlip/reports/plan"
)

// causes names the columns of Why and the codes of the JSON, in the order in
// which they are told.
var causes = []struct {
	kind         plan.CauseKind
	column, code string
}{
	{plan.ForBooked, "Booked jobs", "booked"},
	{plan.ForFleet, "Fleet due", "fleet"},
	{plan.ForReturning, "Customers due", "returning"},
	{plan.ForWalkIn, "Walk-ins", "walk_in"},
	{plan.ForReadiness, "To reach readiness", "readiness"},
	{plan.OnShelf, "On the shelf", "on_hand"},
	{plan.Coming, "On order", "on_order"},
	{plan.WholePacks, "Whole packs", "packs"},
}

// Why says of every ordered item where its quantity comes from: the causes add
// up to it.
func Why(p plan.Plan) Sheet {
	s := Sheet{
		Key: "why", Name: "Why",
		Title: fmt.Sprintf("Why this much · %s · %s", p.Workshop, longDay(p.AsOf)),
		Notes: []string{
			"An order placed now must last until the day before the delivery after the next one. The causes add up to the order; what is there already counts with a minus.",
		},
		Columns: []Column{{Name: "Item"}, {Name: "Code", Rank: 6}, {Name: "Unit"}},
		Empty:   "Nothing to order, so nothing to explain. circlip forecast shows what is expected of every item.",
	}
	var names []string
	for _, c := range causes {
		s.Columns = append(s.Columns, Column{Name: c.column, Kind: QuantityKind})
		names = append(names, c.column)
	}
	s.Columns = append(s.Columns,
		Column{Name: "Order", Kind: QuantityKind},
		Column{Name: "Must last until", Kind: DateKind, Rank: 5},
		Column{Name: "Expected use", Kind: NumberKind, Rank: 4},
		Column{Name: "Spread (sd)", Kind: NumberKind, Rank: 5},
		Column{Name: "Order up to", Kind: QuantityKind, Rank: 4},
		Column{Name: "Enough without", Unit: "%", Kind: ShareKind, Rank: 3},
		Column{Name: "Enough with", Unit: "%", Kind: ShareKind, Rank: 3},
	)
	for _, i := range p.Items {
		if i.OrderQty != 0 {
			s.Rows = append(s.Rows, whyRow(i, names))
		}
	}
	return s
}

// whyRow leaves causes that add nothing blank: a row is read faster so, and a
// sum takes blanks for nothing.
func whyRow(i plan.Item, names []string) Row {
	m := i.Item.Measure
	amounts := map[plan.CauseKind]inventory.Quantity{}
	for _, c := range i.Why {
		amounts[c.Cause] += c.Qty
	}
	cells := []Cell{Words(itemName(i.Item)), Words(i.Item.Code), Words(string(m))}
	for _, c := range causes {
		cell := Cell{Kind: QuantityKind}
		if q := amounts[c.kind]; q != 0 {
			cell = Measured(q, m)
		}
		cells = append(cells, cell)
	}
	return Row{Cells: append(cells,
		Measured(i.OrderQty, m).With(Formula{Add: names}),
		Day(i.ProtectUntil), Figure(i.Protection.Mean, 1), Figure(i.Protection.SD, 1),
		Measured(i.OrderUpTo, m), Share(i.AvailabilityWithout), Share(i.Availability),
	)}
}
