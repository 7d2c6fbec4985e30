package reports

import (
	"fmt"
	"slices"
	"strings"

	"circlip/inventory"
	"circlip/reports/plan"
)

const summaryKey = "summary"

// Summary is what to order from whom by when, how many jobs that makes ready,
// and what else the manager must know.
func Summary(p plan.Plan) Sheet {
	s := Sheet{
		Key: summaryKey, Name: "Summary",
		Title: fmt.Sprintf("What to order · %s · %s", p.Workshop, longDay(p.AsOf)),
		Notes: []string{"Readiness is the share of jobs that find on their own day what they wait for: of those that come between this order's delivery and the next one's, with what is on the shelf, on order and in this order. A booked job's kit is ready when every critical part is set aside for it or free on the shelf; it is short when one is not and does not come by the bench date."},
		Facts: append(readinessFacts(p.Readiness), kitFacts(p)...),
		Columns: []Column{
			{Name: "Supplier"},
			{Name: "Place by", Kind: DateKind},
			{Name: "Lines", Kind: CountKind},
			{Name: "Last comes on", Kind: DateKind, Rank: 1},
			{Name: "Goods", Unit: p.Currency.Code, Kind: MoneyKind},
			{Name: "Carriage", Unit: p.Currency.Code, Kind: MoneyKind, Rank: 2},
			{Name: "Total", Unit: p.Currency.Code, Kind: MoneyKind},
		},
		Empty:   "Nothing to order: what is on the shelf and on order lasts until the next delivery. Make the plan again on the next order day.",
		Remarks: slices.Concat(overdueRemark(p), movedSentences(p), elsewhere(p), p.Warnings),
	}
	if len(p.Limits) > 0 {
		s.Empty = "Nothing is ordered: what is needed goes beyond the limits, see the sheet Limits."
	}
	for _, o := range p.Orders {
		money := func(m inventory.Money, total string) Cell {
			return Amount(m, p.Currency).With(Formula{Sheet: orderKey(o), Total: total})
		}
		s.Rows = append(s.Rows, Row{Cells: []Cell{
			Words(supplierName(o.Supplier)), Day(o.PlaceBy), Counted(len(o.Lines)), Day(lastDay(o)),
			money(o.Goods, goodsTotal), money(o.Carriage, carriageTotal), money(o.Total, orderTotal),
		}})
	}
	if len(p.Orders) > 0 {
		s.Totals = []Total{{"All suppliers", "Total", Amount(spend(p), p.Currency).With(Formula{ColumnSum: "Total"})}}
	}
	return s
}

// readinessFacts are the shares with and without the order, the target beside
// them, and how sure they are.
func readinessFacts(r plan.Readiness) []Fact {
	facts := []Fact{
		{"Jobs ready without this order", Share(r.WithoutOrder), "%"},
		{"Jobs ready with this order", Share(r.WithOrder), "%"},
		{"Target", Share(r.Target), "%"},
		{"Jobs expected in that time", Figure(r.Jobs, 1), ""},
	}
	if r.Exact || r.StandardError == 0 {
		return append(facts, Fact{"Error of the two shares", Words("none: computed exactly"), ""})
	}
	return append(facts, Fact{"Standard error of the two shares", Figure(100*r.StandardError, 2), "points"})
}

// kitFacts count booked jobs by the state of their kit.
func kitFacts(p plan.Plan) []Fact {
	states := map[inventory.KitState]int{}
	for _, k := range p.Kits {
		states[k.State]++
	}
	return []Fact{
		{"Booked jobs whose kit is ready", Counted(states[inventory.Ready]), ""},
		{"Booked jobs whose kit is coming in time", Counted(states[inventory.Coming]), ""},
		{"Booked jobs that are short", Counted(states[inventory.Short]), ""},
		{"Booked jobs that are overdue", Counted(len(overdue(p))), ""},
	}
}

// overdue lists the booked jobs whose bench date has passed.
func overdue(p plan.Plan) []inventory.JobKit {
	var late []inventory.JobKit
	for _, k := range p.Kits {
		if k.BenchDate < p.AsOf {
			late = append(late, k)
		}
	}
	return late
}

// overdueRemark names jobs that still wait although their day has passed; they
// hold parts back until somebody closes or moves them.
func overdueRemark(p plan.Plan) []string {
	var names []string
	for _, k := range overdue(p) {
		names = append(names, fmt.Sprintf("%s (%s)", k.Job, shortDay(k.BenchDate)))
	}
	if len(names) == 0 {
		return nil
	}
	return []string{"Overdue, close or move: " + listed(names, 12) + "."}
}

// elsewhere points to the sheets that have something to say.
func elsewhere(p plan.Plan) []string {
	var remarks []string
	point := func(n int, one, many, sheet string) {
		if n > 0 {
			remarks = append(remarks, fmt.Sprintf("%s: see the sheet %s.", plural(n, one, many), sheet))
		}
	}
	point(len(p.Limits), "limit cuts the order", "limits cut the order", "Limits")
	point(len(p.Forward), "order could be made bigger and cost less in all", "orders could be made bigger and cost less in all", "Bring forward")
	point(len(p.Chase), "line on order is to be chased", "lines on order are to be chased", "Chase")
	point(len(p.Expiring), "lot ages out", "lots age out", "Ageing")
	return remarks
}

// listed joins the first names and counts the rest.
func listed(names []string, most int) string {
	if len(names) <= most {
		return strings.Join(names, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(names[:most], ", "), len(names)-most)
}

// spend is what all orders cost together, carriage included.
func spend(p plan.Plan) inventory.Money {
	var sum inventory.Money
	for _, o := range p.Orders {
		sum += o.Total
	}
	return sum
}

// lastDay is when the last line of an order is expected.
func lastDay(o plan.Order) inventory.Date {
	var last inventory.Date
	for _, l := range o.Lines {
		last = max(last, l.ExpectedOn)
	}
	return last
}

// supplierName is the code where the book has no name.
func supplierName(s inventory.Supplier) string {
	if s.Name == "" {
		return s.Code
	}
	return s.Name
}

// itemName is the code where the book has no name.
func itemName(i inventory.Item) string {
	if i.Name == "" {
		return i.Code
	}
	return i.Name
}

// longDay is a day as it stands in a sentence: Monday 1 March 2027.
func longDay(d inventory.Date) string { return d.Time().Format("Monday 2 January 2006") }

// titled names a sheet's subject, the workshop and the day.
func titled(what, workshop string, day inventory.Date) string {
	return fmt.Sprintf("%s · %s · %s", what, workshop, longDay(day))
}

// shortDay is a day of the coming weeks: Mon 1 Mar.
func shortDay(d inventory.Date) string { return d.Time().Format("Mon 2 Jan") }

// dayMonth is a day where there is little room: 1 Mar; no day is blank.
func dayMonth(d inventory.Date) string {
	if d.IsZero() {
		return ""
	}
	return d.Time().Format("2 Jan")
}
