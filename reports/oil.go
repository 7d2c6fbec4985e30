package reports

import (
	"fmt"
	"slices"

	"circlip/inventory"
	"circlip/inventory/audit"
	"circlip/reports/plan"
)

// Oil is what left the shelf of every fluid between two counts, against what
// the job cards say and what the bill of materials allows.
func Oil(p plan.Plan) Sheet {
	s := Sheet{
		Key: "oil", Name: "Oil",
		Title: fmt.Sprintf("Where the oil went · %s · %s", p.Workshop, longDay(p.AsOf)),
		Notes: []string{
			"Drawn is what left the shelf by the counts; recorded is what the job cards say; standard is what the bill of materials allows the jobs done.",
			"Unrecorded = drawn - recorded: it left the shelf and stands on no card. Over standard = recorded - standard: cards that took more than the bill allows; below zero, less.",
		},
		Columns: []Column{
			{Name: "Fluid"},
			{Name: "Code", Rank: 5},
			{Name: "After", Kind: DateKind, Rank: 1},
			{Name: "Until", Kind: DateKind},
			{Name: "Unit"},
			{Name: "Jobs", Kind: CountKind, Rank: 2},
			{Name: "Opening", Kind: QuantityKind, Rank: 3},
			{Name: "Received", Kind: QuantityKind, Rank: 3},
			{Name: "Closing", Kind: QuantityKind, Rank: 3},
			{Name: "Drawn", Kind: QuantityKind},
			{Name: "Standard", Kind: QuantityKind},
			{Name: "Recorded", Kind: QuantityKind},
			{Name: "Unrecorded", Kind: QuantityKind},
			{Name: "Over standard", Kind: QuantityKind},
		},
		Empty: "No fluid has been counted twice yet. Weigh or measure the oils and greases today and again in a few weeks, and write both into the book's table counts: from then on this sheet says where they went.",
	}
	items := make(map[string]inventory.Item, len(p.Items))
	for _, i := range p.Items {
		items[i.Item.Code] = i.Item
	}
	for _, period := range p.Oil {
		item, known := items[period.Item]
		if !known {
			item = inventory.Item{Code: period.Item, Measure: inventory.Millilitre}
		}
		q := func(q inventory.Quantity) Cell { return Measured(q, item.Measure) }
		s.Rows = append(s.Rows, Row{Cells: []Cell{
			Words(itemName(item)), Words(item.Code), Day(period.From), Day(period.To), Words(string(item.Measure)), Counted(period.Jobs),
			q(period.Opening), q(period.Received), q(period.Closing),
			q(period.Drawn()).With(Formula{Add: []string{"Opening", "Received"}, Less: []string{"Closing"}}),
			q(period.Standard), q(period.Recorded),
			q(period.Unrecorded()).With(Formula{Add: []string{"Drawn"}, Less: []string{"Recorded"}}),
			q(period.OverStandard()).With(Formula{Add: []string{"Recorded"}, Less: []string{"Standard"}}),
		}})
	}
	return s
}

// periodsTold is how many periods of each fluid a narrow page tells.
const periodsTold = 3

// OilTables is Oil for a narrow page, in two tables: what left the shelf by
// the counts, and what the jobs account for, in the latest periods.
func OilTables(p plan.Plan) []Sheet {
	all := len(p.Oil)
	p.Oil = latest(p.Oil, periodsTold)
	whole := Oil(p)
	if len(p.Oil) < all {
		whole.Notes = append(whole.Notes, fmt.Sprintf("The latest %d periods of each fluid. The workbook and circlip oil --json have all.", periodsTold))
	}
	counted := whole.only("Fluid", "Unit", "Until", "Opening", "Received", "Closing", "Drawn")
	jobs := whole.only("Fluid", "Unit", "Until", "Standard", "Recorded", "Unrecorded", "Over standard")
	jobs.Title, jobs.Notes = "What the jobs account for", nil
	return []Sheet{counted, jobs}
}

// latest keeps the last so many periods of each item, in their order.
func latest(periods []audit.Period, most int) []audit.Period {
	var kept []audit.Period
	told := map[string]int{}
	for _, period := range slices.Backward(periods) {
		if told[period.Item]++; told[period.Item] <= most {
			kept = append(kept, period)
		}
	}
	slices.Reverse(kept)
	return kept
}

// only is the sheet with the named columns and no others, for the terminal,
// which shows values and not formulas.
func (s Sheet) only(names ...string) Sheet {
	kept := s
	kept.Columns, kept.Rows = nil, make([]Row, len(s.Rows))
	for i, r := range s.Rows {
		kept.Rows[i] = Row{Strong: r.Strong}
	}
	for _, name := range names {
		at := s.column(name)
		column := s.Columns[at]
		column.Rank = 0
		kept.Columns = append(kept.Columns, column)
		for i, r := range s.Rows {
			kept.Rows[i].Cells = append(kept.Rows[i].Cells, r.Cells[at])
		}
	}
	return kept
}
