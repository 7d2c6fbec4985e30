package reports

import (
	"fmt"
	"math"

	"circlip/inventory"
	"circlip/reports/chart"
	"circlip/reports/plan"
)

// Curve is what each percent of readiness costs: the least stock value, at
// levels chosen together, that reaches it.
func Curve(p plan.Plan) Sheet {
	s := Sheet{
		Key: "curve", Name: "Curve",
		Title: fmt.Sprintf("What readiness costs · %s · %s", p.Workshop, longDay(p.AsOf)),
		Notes: []string{
			"Each line is the least money in stock with which so many jobs find every critical part there on their day. Past the bend of the line, readiness grows dear.",
		},
		Columns: []Column{
			{Name: "Jobs ready", Unit: "%", Kind: ShareKind},
			{Name: "Stock value", Unit: p.Currency.Code, Kind: MoneyKind},
			{Name: "More than before", Unit: p.Currency.Code, Kind: MoneyKind},
			{Name: "Remark"},
		},
		Empty: "No curve: no job of the coming weeks waits for any part. Enter bills of materials and book jobs.",
	}
	points := wholePercents(p.Curve)
	marked := false
	for n, point := range points {
		cells := []Cell{Share(point.Readiness), Amount(point.StockValue, p.Currency), {}, {}}
		if n > 0 {
			cells[2] = Amount(point.StockValue-points[n-1].StockValue, p.Currency)
		}
		target := !marked && point.Readiness >= p.Readiness.Target
		if target {
			marked = true
			cells[3] = Words("reaches the target of " + percent(p.Readiness.Target))
		}
		s.Rows = append(s.Rows, Row{Cells: cells, Strong: target})
	}
	if len(points) > 1 {
		s.Charts = []chart.Chart{chart.Path("Readiness against stock value",
			"Readiness against stock value: the line rises steeply at first and flattens; "+reached(points),
			chart.Rows{First: 0, Count: len(points)}, "Stock value", "stock value, "+p.Currency.Code, "Jobs ready", "jobs ready")}
	}
	return s
}

// wholePercents keeps the first point, and of the others those that are the
// first to reach a further whole percent, or the target.
func wholePercents(curve []plan.Point) []plan.Point {
	var kept []plan.Point
	step := -1.0
	for _, point := range curve {
		if percents := math.Floor(100*point.Readiness + 1e-9); percents > step {
			step = percents
			kept = append(kept, point)
		}
	}
	if n := len(curve); n > 0 && kept[len(kept)-1] != curve[n-1] {
		kept = append(kept, curve[n-1])
	}
	return kept
}

// reached says in words where the line ends, for those who do not see it.
func reached(points []plan.Point) string {
	last := points[len(points)-1]
	return fmt.Sprintf("it ends at %s", percent(last.Readiness))
}

// percent is a share in a sentence.
func percent(share float64) string { return Share(share).String() + " %" }

// amount is money in a sentence.
func amount(m inventory.Money, c inventory.Currency) string {
	return c.Code + " " + Amount(m, c).String()
}
