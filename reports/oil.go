package reports

import (
	"fmt"

	"circlip/inventory"
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
		Empty: "No fluid has been counted twice yet. Weigh or measure the oils and greases today and again in a few weeks (circlip count): from then on this sheet says where they went.",
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
