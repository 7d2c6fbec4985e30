package reports

import (
	"fmt"
	"slices"

	"circlip/inventory"
	"circlip/reports/chart"
	"circlip/reports/plan"
)

// Sheets are for reading: so many items are told week by week, and so many of
// them drawn. The JSON of the forecast has them all.
const (
	itemsTold  = plan.Told
	itemsDrawn = 6
	weeksTold  = 6  // on a narrow page
	nameDrawn  = 60 // columns of an item's name that stands in every week
)

// Demand is the use that is expected week by week of the items with most at
// stake, with its band.
func Demand(p plan.Plan) Sheet {
	s := Sheet{
		Key: "demand", Name: "Demand",
		Title: fmt.Sprintf("Expected use by week · %s · %s", p.Workshop, longDay(p.AsOf)),
		Notes: []string{
			"The items with most at stake: those that a job waits for and that would first run out without this order. All items: circlip forecast --json.",
			"p10: in one week of ten it is this or less; p50 is the median. In the charts the line is the median and the band runs from p10 to p90: four weeks of five lie in it.",
		},
		Columns: []Column{
			{Name: "Item"},
			{Name: "Code", Rank: 2},
			{Name: "Unit"},
			{Name: "Week", Rank: 1},
			{Name: "From"},
			{Name: "Mean", Kind: NumberKind},
			{Name: "p10", Kind: NumberKind},
			{Name: "p50", Kind: NumberKind},
			{Name: "p90", Kind: NumberKind},
			{Name: "p98", Kind: NumberKind},
			{Name: "p10 to p90", Kind: NumberKind, Rank: 3},
		},
		Empty: "No use is expected. Enter units with their hours, services with their intervals and bills of materials, or book jobs.",
	}
	for n, i := range atStake(p) {
		if n == itemsTold {
			break
		}
		rows := chart.Rows{First: len(s.Rows), Count: len(i.Week)}
		for w, d := range i.Week {
			s.Rows = append(s.Rows, demandRow(i.Item, p.Weeks[w], d))
		}
		if n < itemsDrawn {
			s.Charts = append(s.Charts, chart.Fan(shorten(Plain(itemName(i.Item)), nameDrawn), string(i.Item.Measure)+" a week", rows, "From", "p10", "p10 to p90", "p50"))
		}
	}
	return s
}

// DemandTable is Demand for a narrow page: the first weeks, and each item
// named once.
func DemandTable(p plan.Plan) Sheet {
	weeks := len(p.Weeks)
	p.Items = slices.Clone(p.Items)
	for i := range p.Items {
		p.Items[i].Week = p.Items[i].Week[:min(weeksTold, len(p.Items[i].Week))]
	}
	s := Demand(p)
	s.Columns[s.column("Item")].Wrap = true
	s.Notes[1] = "p10: in one week of ten it is this or less; p50 is the median."
	if weeks > weeksTold {
		s.Notes = append(s.Notes, fmt.Sprintf("The first %d weeks of %d. The workbook and circlip forecast --json have all.", weeksTold, weeks))
	}
	code := s.column("Code")
	last := ""
	for _, r := range s.Rows {
		if here := r.Cells[code].String(); here == last {
			r.Cells[s.column("Item")] = Cell{}
		} else {
			last = here
		}
	}
	return s
}

// demandRow is one item in one week. The column that the chart's band is drawn
// from is a figure of its own, so that the chart follows the cells.
func demandRow(i inventory.Item, week plan.Span, d plan.Demand) Row {
	decimals := 0
	if i.Measure.Steps() > 1 {
		decimals = 1
	}
	low, band := chart.Stack(d.P10, d.P90)
	return Row{Cells: []Cell{
		Words(shorten(Plain(itemName(i)), nameDrawn)), Words(i.Code), Words(string(i.Measure)),
		Words(week.Week.String()), Words(week.From.Time().Format("2 Jan")),
		Figure(d.Mean, 1), Figure(low, decimals), Figure(d.P50, decimals), Figure(low+band, decimals), Figure(d.P98, decimals),
		Figure(band, decimals).With(Formula{Add: []string{"p90"}, Less: []string{"p10"}}),
	}}
}

// atStake ranks the items that some use is told of.
func atStake(p plan.Plan) []plan.Item {
	var items []plan.Item
	for _, at := range p.AtStake(func(item int) bool {
		return slices.ContainsFunc(p.Items[item].Week, func(d plan.Demand) bool { return d.Mean > 0 })
	}) {
		items = append(items, p.Items[at])
	}
	return items
}

// Arrivals is how many jobs are expected week by week, by where they come
// from.
func Arrivals(p plan.Plan) Sheet {
	s := Sheet{
		Key: "arrivals", Name: "Arrivals",
		Title: fmt.Sprintf("Expected jobs by week · %s · %s", p.Workshop, longDay(p.AsOf)),
		Notes: []string{"Means: 0.4 is a job in two weeks of five. Booked jobs count with the chance that they turn up."},
		Columns: []Column{
			{Name: "Week"},
			{Name: "From", Kind: DateKind},
			{Name: "To", Kind: DateKind},
			{Name: "Booked", Unit: "jobs", Kind: NumberKind},
			{Name: "Fleet due", Unit: "jobs", Kind: NumberKind},
			{Name: "Customers due", Unit: "jobs", Kind: NumberKind},
			{Name: "Walk-ins", Unit: "jobs", Kind: NumberKind},
			{Name: "Together", Unit: "jobs", Kind: NumberKind},
		},
		Empty: "No weeks: the plan has no horizon. Set horizon_weeks in the settings.",
	}
	sums := make([]plan.Arrival, len(p.Weeks))
	for _, a := range p.Arrivals {
		sum := &sums[a.Week]
		sum.Booked += a.Booked
		sum.Fleet += a.Fleet
		sum.Returning += a.Returning
		sum.WalkIn += a.WalkIn
	}
	for w, a := range sums {
		s.Rows = append(s.Rows, Row{Cells: []Cell{
			Words(p.Weeks[w].Week.String()), Day(p.Weeks[w].From), Day(p.Weeks[w].To),
			Figure(a.Booked, 2), Figure(a.Fleet, 2), Figure(a.Returning, 2), Figure(a.WalkIn, 2), Figure(a.Jobs(), 2),
		}})
	}
	return s
}
