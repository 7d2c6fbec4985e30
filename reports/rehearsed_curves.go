package reports

import (
	"fmt"
	"math"

	"circlip/forecast/rehearse"
	"circlip/reports/chart"
	"circlip/reports/rehearsal"
)

// Methods are all points that were played: circlip's by target and those of
// each textbook method by setting, a chart of readiness against money for each
// rehearsal.
func Methods(trials []rehearsal.Report) Sheet {
	s := Sheet{
		Key: "methods", Name: "Methods", Title: "Readiness against money, by way of ordering",
		Notes: []string{
			"A line a way of ordering: the further left at a height, the less money it needs for as many jobs ready. The strong line with marks is circlip at its targets. The charts end at twice circlip's largest stock; the table goes on.",
		},
		Columns: []Column{{Name: "Seed"}, {Name: wayColumn}, {Name: settingColumn, Kind: NumberKind}, {Name: readyColumn, Unit: "%", Kind: ShareKind}},
		Empty:   "No rehearsal was played.",
	}
	if len(trials) == 0 {
		return s
	}
	currency := trials[0].Currency
	s.Columns = append(s.Columns, Column{Name: stockColumn, Unit: currency.Code, Kind: MoneyKind})
	s.Columns = append(s.Columns, resultColumns(currency)...)
	s.Remarks = []string{"The setting is the readiness aimed at (circlip), the weeks of cover (8 weeks × cover), the weeks beyond the protection time (8 weeks × (lead + cover)), the safety factor (Croston, SBA, TSB) or the digits of the chance to run short (Poisson base stock)."}
	for _, r := range trials {
		s.Charts = append(s.Charts, addCurves(&s, r))
	}
	return s
}

// addCurves adds the rows of a rehearsal and returns the chart over them.
func addCurves(s *Sheet, r rehearsal.Report) chart.Chart {
	c := chart.Path("Readiness against money · "+whose(r), curvesInWords(r), chart.Rows{First: len(s.Rows)},
		stockColumn, "mean stock value, "+r.Currency.Code, readyColumn, "jobs ready")
	c.Layers, c.Legend = nil, true
	add := func(way string, setting float64, value float64, result rehearse.Result) {
		cells := []Cell{seedOf(r), Words(way), Figure(setting, 3), Share(result.Readiness), stock(value, r.Currency)}
		s.Rows = append(s.Rows, Row{Cells: append(cells, resultCells(result, r.Currency)...)})
	}
	layer := func(first, group int) {
		c.Layers = append(c.Layers, chart.Layer{
			Column: readyColumn, Form: chart.Points, Named: wayColumn, Group: group, Rows: chart.Rows{First: first, Count: len(s.Rows) - first},
		})
	}
	first, least := len(s.Rows), 1.0
	for _, p := range r.Plans {
		least = min(least, p.Readiness)
		add("circlip", p.Target, p.MeanStockValue, p.Result)
		c.XMost = max(c.XMost, roundUp(2*r.Currency.Number(meanMoney(p.MeanStockValue))))
	}
	layer(first, 0)
	c.YLeast = max(0, math.Floor(10*least)-1) / 10
	for _, curve := range r.Textbook {
		first := len(s.Rows)
		for _, p := range curve.Points {
			add(curve.Method.String(), p.Knob, p.Value, p.Result)
		}
		layer(first, family(curve.Method.Kind))
	}
	c.Rows.Count = len(s.Rows) - c.Rows.First
	return c
}

// family groups methods that follow the same idea, from 1.
func family(k rehearse.Kind) int {
	switch k {
	case rehearse.Cover, rehearse.CoverBeyond:
		return 1
	case rehearse.BaseStock:
		return 2
	}
	return 3 + int(k-rehearse.Croston)
}

// roundUp is the next number with one digit that is not 0.
func roundUp(x float64) float64 {
	step := 1.0
	for step*10 <= x {
		step *= 10
	}
	n := 1.0
	for n*step < x {
		n++
	}
	return n * step
}

// curvesInWords says what the chart shows to those who do not see it.
func curvesInWords(r rehearsal.Report) string {
	p, played := r.AtTarget()
	if !played {
		return "Readiness against mean stock value, a line a way of ordering"
	}
	text := fmt.Sprintf("Readiness against mean stock value, a line a way of ordering: circlip at the target reaches %s with %s", percent(p.Readiness), amount(meanMoney(p.MeanStockValue), r.Currency))
	if method, value, found := r.Best(p.Readiness); found {
		text += fmt.Sprintf(", %s needs %s for as many", method, amount(meanMoney(value), r.Currency))
	}
	return text
}
