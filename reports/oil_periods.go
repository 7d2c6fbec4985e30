package reports

import (
	"math"

	"circlip/inventory"
	"circlip/inventory/audit"
)

// OilPeriods is every item between its counts, with all that is reckoned of it.
func OilPeriods(a audit.Audit) Sheet {
	of := thingsOf(a.Scope)
	s := Sheet{
		Key: of.key + " periods", Name: "Periods", Title: oilTitle(of.where+", count by count", a),
		Notes: []string{
			"Drawn is what left the shelf by the counts; recorded is what the job cards say; standard is what the bill of materials allows the jobs done.",
			"Unrecorded = drawn - recorded: it left the shelf and stands on no card. Over standard = recorded - standard: cards that took more than the bill allows; below zero, less.",
			"Other is what went otherwise on record, such as parts of a kit that was opened; below zero, it left. Behind ± stands one standard deviation. What is found about a count may keep its period from the estimates of what jobs take; no figure here is changed for it.",
		},
		Columns: periodColumns(of, a.Currency),
		Empty:   of.empty,
	}
	for _, item := range a.Items {
		for i, p := range item.Periods {
			mark := markOf(item, i)
			s.Rows = append(s.Rows, Row{Cells: append(amountCells(item, p), chartCells(a, item, p, mark)...), Strong: mark.Signal != ""})
		}
	}
	return s
}

func periodColumns(of things, c inventory.Currency) []Column {
	return []Column{
		{Name: of.column}, {Name: "Code", Rank: 5},
		{Name: "After", Kind: DateKind, Rank: 1}, {Name: untilColumn, Kind: DateKind},
		{Name: "Unit"}, {Name: "Jobs", Kind: CountKind, Rank: 2},
		{Name: "Opening", Kind: QuantityKind, Rank: 3}, {Name: "Received", Kind: QuantityKind, Rank: 3},
		{Name: otherColumn, Kind: QuantityKind, Rank: 3}, {Name: "Closing", Kind: QuantityKind, Rank: 3},
		{Name: drawnColumn, Kind: QuantityKind}, {Name: standardColumn, Kind: QuantityKind}, {Name: recordedColumn, Kind: QuantityKind},
		{Name: unrecordedColumn, Kind: QuantityKind}, {Name: overColumn, Kind: QuantityKind},
		{Name: "Unrecorded ±", Kind: NumberKind, Rank: 4}, {Name: "Over standard ±", Kind: NumberKind, Rank: 4},
		{Name: "Unrecorded cost", Unit: c.Code, Kind: MoneyKind, Rank: 4}, {Name: "Over standard cost", Unit: c.Code, Kind: MoneyKind, Rank: 4},
		{Name: "Excess", Kind: QuantityKind, Rank: 4}, {Name: "Sigma", Kind: NumberKind, Rank: 4}, {Name: "z", Kind: NumberKind, Rank: 4},
		{Name: "EWMA", Kind: NumberKind, Rank: 4}, {Name: "CUSUM high", Kind: NumberKind, Rank: 4}, {Name: "CUSUM low", Kind: NumberKind, Rank: 4},
		{Name: signalColumn}, {Name: "Estimates", Rank: 6},
	}
}

// amountCells are the period's quantities, with the formulas between them.
func amountCells(of audit.ItemAudit, p audit.Period) []Cell {
	q := func(q inventory.Quantity) Cell { return Measured(q, of.Item.Measure) }
	other := q(p.Other)
	if p.Other == 0 {
		other = Cell{} // few items have any: a column of noughts takes the room of others
	}
	return []Cell{
		Words(itemName(of.Item)), Words(of.Item.Code), Day(p.From), Day(p.To), Words(string(of.Item.Measure)), Counted(p.Jobs),
		q(p.Opening), q(p.Received), other, q(p.Closing),
		q(p.Drawn()).With(Formula{Add: []string{"Opening", "Received", otherColumn}, Less: []string{"Closing"}}),
		q(p.Standard), q(p.Recorded),
		q(p.Unrecorded()).With(Formula{Add: []string{drawnColumn}, Less: []string{recordedColumn}}),
		q(p.OverStandard()).With(Formula{Add: []string{recordedColumn}, Less: []string{standardColumn}}),
	}
}

// chartCells are how sure the period's differences are, what they are worth,
// and where the charts stand after it.
func chartCells(a audit.Audit, of audit.ItemAudit, p audit.Period, mark audit.Mark) []Cell {
	m := of.Item.Measure
	return []Cell{
		measured(unrecordedSpread(p), m), measured(p.JobSpread, m),
		worth(a, of, p.Unrecorded()), worth(a, of, p.OverStandard()),
		Measured(p.Excess(), m).With(Formula{Add: []string{unrecordedColumn, overColumn}}),
		measured(mark.Sigma, m), Figure(mark.Z, 2), Figure(mark.EWMA, 2), Figure(mark.High, 2), Figure(mark.Low, 2),
		Words(string(mark.Signal)), Words(inEstimates(p)),
	}
}

// unrecordedSpread is the standard deviation of what was drawn less what the
// cards say: of the two counts, and of what the cards leave open. That of what
// the cards say beyond the bill is the jobs' own: Period.JobSpread.
func unrecordedSpread(p audit.Period) float64 { return math.Hypot(p.CardSpread, p.CountSpread) }

// inEstimates says where a period is not taken by itself for what jobs take.
func inEstimates(p audit.Period) string {
	switch {
	case p.LeftOut:
		return "left out"
	case p.Joined:
		return "with the next"
	}
	return ""
}

// worth is what a difference costs; blank where nobody knows a price.
func worth(a audit.Audit, of audit.ItemAudit, q inventory.Quantity) Cell {
	if of.Cost == 0 {
		return Cell{}
	}
	return Amount(inventory.Value(q, of.Item.Measure, of.Cost), a.Currency)
}

// markOf is where the charts stand after a period.
func markOf(of audit.ItemAudit, period int) audit.Mark {
	if period < len(of.Marks) {
		return of.Marks[period]
	}
	return audit.Mark{}
}
