package reports

import (
	"fmt"

	"circlip/inventory"
	"circlip/reports/plan"
)

// Forward is what is worth adding to an order now although it is not needed
// before the next one: a row a line, and on the first of each supplier's what all
// of them save and what it costs to keep them. It is a proposal; no order holds
// it yet.
func Forward(p plan.Plan) Sheet {
	unit := p.Currency.Code
	money := func(name string, rank int) Column { return Column{Name: name, Unit: unit, Kind: MoneyKind, Rank: rank} }
	s := Sheet{
		Key: "forward", Name: "Bring forward",
		Title: fmt.Sprintf("Worth bringing forward · %s · %s", p.Workshop, longDay(p.AsOf)),
		Notes: []string{
			"What would be ordered later anyway and costs less in all if it goes along now. The saving is the carriage and price breaks gained, less what it costs to keep the goods for so long; it is that of all lines of a supplier together. It is a proposal: no order of this plan holds it; on the sheet to the supplier these lines stand without packs, or with those of the order alone.",
		},
		Columns: []Column{
			{Name: "Supplier"},
			{Name: "Their code", Rank: 4},
			{Name: "Add now", Wrap: true},
			{Name: "Packs", Kind: CountKind},
			{Name: "Pack", Kind: QuantityKind, Rank: 3},
			{Name: "Unit", Rank: 3},
			money("Line total", 1),
			money("Carriage saved", 2),
			money("Price breaks", 2),
			money("Costs to keep", 2),
			money("Saving", 0),
			{Name: "Why", Wrap: true},
		},
		Empty: "Nothing is worth bringing forward: each order is cheapest as it stands.",
	}
	for _, f := range p.Forward {
		s.Rows = append(s.Rows, forwardRows(p, f)...)
	}
	if len(p.Forward) > 0 {
		s.Totals = []Total{{"All suppliers", "Saving", Amount(saved(p), p.Currency).With(Formula{ColumnSum: "Saving"})}}
	}
	return s
}

// forwardRows is a row a line.
func forwardRows(p plan.Plan, f plan.Forward) []Row {
	var rows []Row
	for i, l := range f.Lines {
		m := l.Item.Measure
		cells := []Cell{
			Words(supplierName(f.Supplier)), Words(l.SupplierCode), Words(itemName(l.Item)),
			Counted(l.Packs), Measured(l.PackQty, m), Words(string(m)), Amount(l.Total, p.Currency),
		}
		if i == 0 {
			cells = append(cells,
				Amount(f.Carriage, p.Currency), Amount(breaks(f), p.Currency), Amount(f.Holding, p.Currency),
				Amount(f.Saving, p.Currency).With(Formula{Add: []string{"Carriage saved", "Price breaks"}, Less: []string{"Costs to keep"}}),
				Words(f.Why))
		} else {
			cells = append(cells, Cell{}, Cell{}, Cell{}, Cell{}, Cell{})
		}
		rows = append(rows, Row{Cells: cells})
	}
	return rows
}

// breaks is what dearer packs would have cost more: the part of the saving that
// is not carriage.
func breaks(f plan.Forward) inventory.Money { return f.Saving - f.Carriage + f.Holding }

// saved is the saving of all that is worth bringing forward.
func saved(p plan.Plan) inventory.Money {
	var sum inventory.Money
	for _, f := range p.Forward {
		sum += f.Saving
	}
	return sum
}

// packsOf says of each line how many packs of what, with the code that the
// supplier goes by.
func packsOf(lines []plan.Line) []string {
	var texts []string
	for _, l := range lines {
		text := fmt.Sprintf("%s of %s %s", plural(l.Packs, "pack", "packs"), quantity(l.PackQty, l.Item.Measure), itemName(l.Item))
		if l.SupplierCode != "" {
			text += " (" + l.SupplierCode + ")"
		}
		texts = append(texts, text)
	}
	return texts
}

// forwardSentences tell on the page what to add to which order, and why.
func forwardSentences(p plan.Plan) []string {
	var sentences []string
	for _, f := range p.Forward {
		why := capital(f.Why)
		if why != "" {
			why = " " + why + "."
		}
		sentences = append(sentences, fmt.Sprintf("%s, add %s, for %s: it saves %s in all, %s to keep it taken off.%s",
			supplierName(f.Supplier), semicolons(packsOf(f.Lines), pageLacks), amount(f.Goods, p.Currency),
			amount(f.Saving, p.Currency), amount(f.Holding, p.Currency), why))
	}
	return sentences
}
