package reports

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"circlip/inventory"
	"circlip/inventory/audit"
)

// OilSummary is one row an item, what loses most first, under a sentence about
// each.
func OilSummary(a audit.Audit) Sheet {
	of := thingsOf(a.Scope)
	s := Sheet{
		Key: of.key + " summary", Name: "Summary", Title: oilTitle(of.where, a),
		Columns: []Column{
			{Name: of.column}, {Name: "Code", Rank: 5},
			{Name: "Weeks", Kind: CountKind}, {Name: "Counts", Kind: CountKind, Rank: 1},
			{Name: "More a week", Kind: NumberKind}, {Name: "Unit"},
			{Name: "Latest z", Kind: NumberKind}, {Name: signalColumn}, {Name: "Since", Kind: DateKind},
			{Name: "A year", Unit: a.Currency.Code, Kind: MoneyKind},
		},
		Empty: of.empty,
	}
	told := toTell(a)
	for _, item := range bySignal(told) {
		s.Notes = append(s.Notes, oilSentence(a, item))
	}
	if left := len(a.Items) - len(told.Items); left > 0 {
		s.Notes = append(s.Notes, quietOthers(left, a.Scope))
	}
	for _, item := range bySignal(a) {
		s.Rows = append(s.Rows, summaryRow(a, item))
	}
	if len(s.Rows) > 0 {
		s.Remarks = append(s.Remarks, "More a week is what left beyond the bill of materials: since the signal where there is one, else over all periods but those of counts that were off by themselves; below zero, less. A year is what that rate costs in a year; a row without a signal has none.")
	}
	s.Remarks = append(s.Remarks, stillToCount(a)...)
	return s
}

func summaryRow(a audit.Audit, of audit.ItemAudit) Row {
	last := len(of.Periods) - 1
	if last < 0 {
		return Row{Cells: []Cell{Words(itemName(of.Item)), Words(of.Item.Code), {}, {}, {}, {}, {}, {}, {}, {}}}
	}
	weeks := weeksBetween(of.Periods[0].From, of.Periods[last].To)
	rate, signal, since, year := perWeek(of), Cell{}, Cell{}, Cell{}
	if e, open := lasting(of); open {
		rate, signal, since = e.PerWeek, Words(string(e.Direction)), Day(e.Began)
		year = worth(a, of, yearly(e.PerWeek, of.Item.Measure))
	}
	if _, is := alone(of); is && signal.Blank() {
		signal, since = Words("one count"), Day(of.Periods[last].To)
	}
	return Row{Strong: !signal.Blank(), Cells: []Cell{
		Words(itemName(of.Item)), Words(of.Item.Code), Counted(weeks), Counted(last + 2),
		measured(rate, of.Item.Measure), Words(string(of.Item.Measure)), Figure(markOf(of, last).Z, 2), signal, since, year,
	}}
}

// weeksBetween is the time between two days in whole weeks, at least one.
func weeksBetween(from, to inventory.Date) int { return max(1, int(math.Round(float64(to-from)/7))) }

// perWeek is the mean excess a week, in the measure, over all periods but those
// that were off by themselves.
func perWeek(of audit.ItemAudit) float64 {
	var excess inventory.Quantity
	days := 0
	for i, p := range of.Periods {
		if !isOnce(of, i) {
			excess += p.Excess()
			days += p.Days()
		}
	}
	if days == 0 {
		return 0
	}
	return of.Item.Measure.Number(excess) * 7 / float64(days)
}

// isOnce reports whether a period is an episode by itself.
func isOnce(of audit.ItemAudit, period int) bool {
	return slices.ContainsFunc(of.Episodes, func(e audit.Episode) bool { return e.Once && e.End == period })
}

// yearly is a rate a week as the quantity of a year.
func yearly(perWeek float64, m inventory.Measure) inventory.Quantity {
	return m.Nearest(perWeek * 365.25 / 7)
}

// lasting is the episode that goes on, if one does. One period alone is none:
// it says nothing of the weeks to come.
func lasting(of audit.ItemAudit) (audit.Episode, bool) {
	e, any := of.LastRun()
	return e, any && e.Open
}

// alone reports whether the latest count is an episode by itself, and which.
func alone(of audit.ItemAudit) (audit.Episode, bool) {
	for _, e := range of.Episodes {
		if e.Once && e.End == len(of.Periods)-1 {
			return e, true
		}
	}
	return audit.Episode{}, false
}

// bySignal is the items of an audit by how much there is to tell: what loses
// now, the dearest first; what takes less than it should; what one count was off
// by; what was, or what the bill should say; then the quiet ones, each sort in
// its own order.
func bySignal(a audit.Audit) []audit.ItemAudit {
	items := slices.Clone(a.Items)
	slices.SortStableFunc(items, func(x, y audit.ItemAudit) int {
		ex, runs := lasting(x)
		ey, _ := lasting(y)
		if order := cmp.Compare(urgency(x), urgency(y)); order != 0 || !runs {
			return order
		}
		return cmp.Compare(abs(ey.Money), abs(ex.Money))
	})
	return items
}

func urgency(of audit.ItemAudit) int {
	e, runs := lasting(of)
	_, is := alone(of)
	switch {
	case runs && e.Direction == audit.High:
		return 0
	case runs:
		return 1
	case is:
		return 2
	case len(of.Changes) > 0 || len(of.Episodes) > 0:
		return 3
	}
	return 4
}

// byUnrecorded is the items of an audit by what their latest period has on no
// card, the most first.
func byUnrecorded(a audit.Audit) []audit.ItemAudit {
	last := func(of audit.ItemAudit) inventory.Quantity { return of.Periods[len(of.Periods)-1].Unrecorded() }
	items := slices.DeleteFunc(slices.Clone(a.Items), func(of audit.ItemAudit) bool { return len(of.Periods) == 0 })
	slices.SortStableFunc(items, func(x, y audit.ItemAudit) int { return cmp.Compare(last(y), last(x)) })
	return items
}

func abs(m inventory.Money) inventory.Money { return max(m, -m) }

// stillToCount says what has no period yet, and what cannot be weighed.
func stillToCount(a audit.Audit) []string {
	var remarks []string
	if len(a.Once) > 0 {
		remarks = append(remarks, "Counted once, so without a period yet: "+listed(a.Once, 12)+". Count "+oneMany(len(a.Once), "it", "them")+" again in a week or a few.")
	}
	var dense []string
	for _, of := range a.Items {
		if of.Item.Measure == inventory.Millilitre && of.Item.DensityKgM3 == 0 {
			dense = append(dense, itemName(of.Item))
		}
	}
	if len(dense) > 0 {
		remarks = append(remarks, "No density in the book, so only to be measured and not to be weighed: "+strings.Join(dense, "; ")+". State density_kg_m3 in the table items.")
	}
	return remarks
}
