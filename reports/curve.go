package reports

import (
	"fmt"
	"math"
	"slices"

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
			"Each line is the least money in stock with which so many jobs find every critical part there on their day. Past the bend of the line, readiness grows dear. Another line is chosen with circlip plan --readiness; --budget bounds what is spent instead.",
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
	marks := curveMarks(p.Readiness, points)
	for n, point := range points {
		cells := []Cell{Share(point.Readiness), Amount(point.StockValue, p.Currency), {}, Words(marks[n])}
		if n > 0 {
			cells[2] = Amount(point.StockValue-points[n-1].StockValue, p.Currency)
		}
		s.Rows = append(s.Rows, Row{Cells: cells, Strong: marks[n] != ""})
	}
	if len(points) > 1 {
		s.Charts = []chart.Chart{curveChart(p, points, marks)}
	}
	return s
}

// curveChart draws the points, and a diamond on each that has a remark.
func curveChart(p plan.Plan, points []plan.Point, marks map[int]string) chart.Chart {
	c := chart.Path("Readiness against stock value",
		"Readiness against stock value: the line rises steeply at first and flattens; "+reached(points),
		chart.Rows{First: 0, Count: len(points)}, "Stock value", "stock value, "+p.Currency.Code, "Jobs ready", "jobs ready")
	for n := range points {
		if marks[n] != "" {
			c.Layers = append(c.Layers, chart.Layer{Column: "Jobs ready", Form: chart.Points, Rows: chart.Rows{First: n, Count: 1}, Mark: true})
			c.Alt += fmt.Sprintf("; a diamond at %s: %s", percent(points[n].Readiness), marks[n])
		}
	}
	return c
}

// curveMarks says at which points the target is reached first and, where the
// order falls short of it, up to where the order comes.
func curveMarks(r plan.Readiness, points []plan.Point) map[int]string {
	marks := map[int]string{}
	reach := func(share float64) int {
		return slices.IndexFunc(points, func(p plan.Point) bool { return p.Readiness >= share })
	}
	if n := reach(r.Target); n >= 0 {
		marks[n] = "chosen: reaches the target of " + percent(r.Target)
	}
	if n := reach(r.WithOrder); n > 0 && r.WithOrder < r.Target && marks[n-1] == "" {
		marks[n-1] = "this order comes to " + percent(r.WithOrder)
	}
	return marks
}

// curveRows is how many lines of the curve stand on the page.
const curveRows = 6

// CurveAround is the part of the curve around what was chosen, for the page:
// what one percent less would save and one more would cost.
func CurveAround(p plan.Plan) Sheet {
	s := Curve(p)
	chosen := slices.IndexFunc(s.Rows, func(r Row) bool { return r.Strong })
	if chosen < 0 {
		chosen = len(s.Rows) - 1
	}
	first := max(0, min(chosen-curveRows/2+1, len(s.Rows)-curveRows))
	s.Rows = s.Rows[first:min(first+curveRows, len(s.Rows))]
	s.Charts = nil
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
