package reports

import (
	"fmt"

	"circlip/forecast/score"
	"circlip/reports/chart"
	"circlip/reports/rehearsal"
)

// sorts of things that forecasts are scored for.
var sorts = []struct {
	name string
	of   func(*rehearsal.Scores) rehearsal.Scoring
}{
	{"services", func(s *rehearsal.Scores) rehearsal.Scoring { return s.Services }},
	{"items", func(s *rehearsal.Scores) rehearsal.Scoring { return s.Items }},
}

// verdicts are those of a sort of thing over all rehearsals that were scored.
func verdicts(trials []rehearsal.Report, of func(*rehearsal.Scores) rehearsal.Scoring) []rehearsal.Verdict {
	var scorings []rehearsal.Scoring
	for _, r := range trials {
		if r.Scores != nil {
			scorings = append(scorings, of(r.Scores))
		}
	}
	return rehearsal.Verdicts(scorings...)
}

// Scores are what forecasts were worth, by method and by how many weeks ahead
// they looked, for services and for items.
func Scores(trials []rehearsal.Report) Sheet {
	s := Sheet{
		Key: "scores", Name: "Scores", Title: "What the forecasts were worth",
		Notes: []string{
			"On every Monday each method said how many jobs of each service, and how many pieces of each item, a single week so far ahead would bring, as probabilities. Ranked probability score and pinball losses are means in jobs or pieces a week, less is better. Bias is forecast less what came, with the standard error it would have were the forecasts right.",
			"A cell is one service or item at one horizon; it is flat where what came lay as evenly within the forecasts as it does under right ones nineteen times of twenty. Counted are the cells in which enough came to tell.",
		},
		Columns: []Column{
			{Name: "Of"}, {Name: "Method"}, {Name: "Weeks ahead", Kind: CountKind},
			{Name: "Forecasts", Kind: CountKind, Rank: 1},
			{Name: "RPS", Kind: NumberKind},
			{Name: "Loss 50", Kind: NumberKind}, {Name: "Loss 90", Kind: NumberKind}, {Name: "Loss 98", Kind: NumberKind},
			{Name: "Bias", Kind: NumberKind}, {Name: "Error", Kind: NumberKind},
			{Name: "Flat", Kind: CountKind}, {Name: "Cells", Kind: CountKind},
		},
		Empty: "No forecast was scored.",
	}
	for _, sort := range sorts {
		for _, v := range verdicts(trials, sort.of) {
			s.Rows = append(s.Rows, Row{Cells: verdictCells(sort.name, v), Strong: v.Method == "circlip"})
		}
	}
	return s
}

func verdictCells(of string, v rehearsal.Verdict) []Cell {
	const decimals = 3
	bias, standardError := v.Bias()
	cells := []Cell{Words(of), Words(v.Method), Counted(v.Ahead), Counted(v.Count()), Figure(v.RPS(), decimals)}
	for _, loss := range v.Pinball() {
		cells = append(cells, Figure(loss, decimals))
	}
	return append(cells, Figure(bias, decimals), Figure(standardError, decimals), Counted(v.Flat), Counted(v.Cells))
}

// ScoreTables are the same for a terminal, a table a sort of thing.
func ScoreTables(trials []rehearsal.Report) []Sheet {
	all := Scores(trials)
	names := []string{"Method", "Weeks ahead", "Forecasts", "RPS", "Loss 50", "Loss 90", "Loss 98", "Bias", "Error", "Flat", "Cells"}
	var tables []Sheet
	for i, sort := range sorts {
		s := all
		s.Title, s.Rows = all.Title+" · "+sort.name, nil
		for _, r := range all.Rows {
			if r.Cells[0].String() == sort.name {
				s.Rows = append(s.Rows, r)
			}
		}
		if i > 0 {
			s.Notes = nil
		}
		tables = append(tables, picked(s, names...))
	}
	return tables
}

// placeColumn says which tenth of the forecast, from below; flatLine is the
// column that right forecasts would follow.
const (
	placeColumn = "Place in the forecast"
	flatLine    = "Flat"
)

// Calibration is how what came lay within circlip's forecasts: the histogram of
// its place in them, by how many weeks ahead they looked, a chart each.
func Calibration(trials []rehearsal.Report) Sheet {
	s := Sheet{
		Key: "calibration", Name: "Calibration", Title: "How what came lay within circlip's forecasts",
		Notes: []string{
			"Each tenth should hold a tenth of what came: 1 all over. Higher on the left: forecasts too high; higher on the right: too low; higher at both ends: too sure; in the middle: too cautious. Counts share themselves out over the tenths that their probability spans.",
		},
		Columns: []Column{{Name: placeColumn, Unit: "%"}},
		Empty:   "No forecast was scored.",
	}
	columns := histograms(trials)
	for _, c := range columns {
		s.Columns = append(s.Columns, Column{Name: c.name, Kind: NumberKind})
		s.Charts = append(s.Charts, chart.Bars(c.name, c.name+": bars by tenth of the forecast, against a line at 1; "+c.spread(),
			chart.Rows{First: 0, Count: score.Bins}, placeColumn, c.name, "times as many as should be", flatLine))
	}
	s.Columns = append(s.Columns, Column{Name: flatLine, Kind: NumberKind})
	for bin := range score.Bins {
		if len(columns) == 0 {
			break
		}
		cells := []Cell{Words(fmt.Sprintf("%d–%d", bin*100/score.Bins, (bin+1)*100/score.Bins))}
		for _, c := range columns {
			cells = append(cells, Figure(c.heights[bin], 3))
		}
		s.Rows = append(s.Rows, Row{Cells: append(cells, Figure(1, 0))})
	}
	return s
}

// histogram is that of one sort of thing at one horizon.
type histogram struct {
	name    string
	heights [score.Bins]float64
}

func histograms(trials []rehearsal.Report) []histogram {
	var list []histogram
	for _, sort := range sorts {
		for _, v := range verdicts(trials, sort.of) {
			if v.Method == "circlip" {
				list = append(list, histogram{fmt.Sprintf("%s, %s ahead", sort.name, plural(v.Ahead, "week", "weeks")), v.Histogram()})
			}
		}
	}
	return list
}

// spread says in words between which heights the bars lie.
func (h histogram) spread() string {
	least, most := h.heights[0], h.heights[0]
	for _, height := range h.heights {
		least, most = min(least, height), max(most, height)
	}
	return fmt.Sprintf("they lie between %.2f and %.2f", least, most)
}
