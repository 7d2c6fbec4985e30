package reports

import (
	"fmt"

	"circlip/inventory"
	"circlip/reports/plan"
)

// Chase is what to call suppliers about and by when: what is on order and late,
// or comes too late for a booked job. The most pressing call comes first.
func Chase(p plan.Plan) Sheet {
	s := Sheet{
		Key: "chase", Name: "Chase",
		Title: fmt.Sprintf("What to chase · %s · %s", p.Workshop, longDay(p.AsOf)),
		Notes: []string{
			"What is on order and late, or will come after the day of a booked job that needs it. Call by is the last working day on which somebody can still bring the part in time, in the days that suppliers quote.",
		},
		Columns: []Column{
			{Name: "Call by", Kind: DateKind},
			{Name: "Supplier"},
			{Name: "Order", Rank: 3},
			{Name: "Item"},
			{Name: "Code", Rank: 7},
			{Name: "Packs", Kind: CountKind},
			{Name: "Quantity", Kind: QuantityKind, Rank: 6},
			{Name: "Unit", Rank: 6},
			{Name: "Due on", Kind: DateKind, Rank: 4},
			{Name: "Days late", Kind: CountKind, Rank: 5},
			{Name: "For the jobs", Rank: 6},
			{Name: "First needed on", Kind: DateKind, Rank: 5},
			{Name: "What to do, and why", Wrap: true},
		},
		Empty: "Nothing to chase: what is on order is not late, and comes in time for every booked job that counts on it.",
	}
	for _, c := range p.Chase {
		late := Cell{}
		if c.DaysLate > 0 {
			late = Counted(c.DaysLate)
		}
		s.Rows = append(s.Rows, Row{Strong: c.CallBy <= p.AsOf, Cells: []Cell{
			Day(c.CallBy), Words(supplierName(c.Supplier)), Words(c.Order), Words(itemName(c.Item)), Words(c.Item.Code),
			Counted(c.Packs), Measured(c.Qty, c.Item.Measure), Words(string(c.Item.Measure)),
			Day(c.DueOn), late, Words(listed(c.Jobs, 8)), Day(c.Bench), Words(todayFirst(p, c) + c.Why),
		}})
	}
	return s
}

// todayFirst says in words what makes a row strong.
func todayFirst(p plan.Plan, c plan.Chase) string {
	if c.CallBy <= p.AsOf {
		return "Call today. "
	}
	return ""
}

// chaseSentences tell on the page by when to call whom about what.
func chaseSentences(p plan.Plan) []string {
	var sentences []string
	for _, c := range p.Chase {
		by := "by " + shortDay(c.CallBy)
		if c.CallBy <= p.AsOf {
			by = "today"
		}
		others := ""
		if len(c.Jobs) > 1 {
			others = fmt.Sprintf(" %s for it.", plural(len(c.Jobs)-1, "more job waits", "more jobs wait"))
		}
		sentences = append(sentences, fmt.Sprintf("Call %s %s about %s of %s, order %s. %s%s",
			supplierName(c.Supplier), by, quantity(c.Qty, c.Item.Measure), itemName(c.Item), c.Order, c.Why, others))
	}
	return sentences
}

// dayYear is a day that may lie years away: 1 Mar 2029.
func dayYear(d inventory.Date) string { return d.Time().Format("2 Jan 2006") }
