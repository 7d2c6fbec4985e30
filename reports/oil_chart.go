package reports

import (
	"circlip/inventory/audit"
	"circlip/reports/chart"
)

// OilChart is the two charts of an item, with the figures that they are drawn
// from.
func OilChart(a audit.Audit, of audit.ItemAudit) Sheet {
	limits := audit.ChartLimits()
	name := itemName(of.Item)
	s := Sheet{
		Key: thingsOf(a.Scope).key + " chart " + of.Item.Code, Name: name, Title: oilTitle(name+": the charts", a),
		Notes: []string{
			oilSentence(a, of),
			"A score is the excess of a period in standard deviations. The EWMA is their mean, the latest weighing most; the CUSUM adds up what goes beyond half a deviation, either way. That of more sets out from half its limit, so that what is lost from the first count on shows soon. A line beyond its limits is a signal; both begin anew after one.",
		},
		Columns: []Column{
			{Name: untilColumn, Kind: DateKind}, {Name: "Score", Kind: NumberKind},
			{Name: "EWMA", Kind: NumberKind}, {Name: "EWMA upper", Kind: NumberKind}, {Name: "EWMA lower", Kind: NumberKind},
			{Name: "CUSUM high", Kind: NumberKind}, {Name: "CUSUM low", Kind: NumberKind},
			{Name: "Limit high", Kind: NumberKind}, {Name: "Limit low", Kind: NumberKind},
			{Name: signalColumn},
		},
		Empty: "No period yet: count once more.",
	}
	for i, p := range of.Periods {
		m := markOf(of, i)
		s.Rows = append(s.Rows, Row{Strong: m.Signal != "", Cells: []Cell{
			Day(p.To), Figure(m.Score, 2), Figure(m.EWMA, 2), Figure(m.EWMALimit, 2), Figure(-m.EWMALimit, 2),
			Figure(m.High, 2), Figure(-m.Low, 2), Figure(limits.H, 2), Figure(-limits.HLow, 2), Words(string(m.Signal)),
		}})
	}
	rows := chart.Rows{Count: len(s.Rows)}
	if rows.Count > 0 {
		s.Charts = []chart.Chart{
			chart.Control(name+": EWMA", "Score of each period and its weighted mean, with the limits that the mean should stay within",
				rows, untilColumn, "sigmas", []string{"Score", "EWMA"}, []string{"EWMA upper", "EWMA lower"}),
			chart.Control(name+": CUSUM", "What adds up beyond half a deviation, more above zero and less below, with the limits it should stay within",
				rows, untilColumn, "sigmas", []string{"CUSUM high", "CUSUM low"}, []string{"Limit high", "Limit low"}),
		}
	}
	return s
}
