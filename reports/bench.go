package reports

import (
	"fmt"
	"strings"

	"circlip/inventory"
	"circlip/reports/plan"
)

// Calendar is what the benches have to do, day by day, with the days on which
// hours or parts run out.
func Calendar(p plan.Plan) Sheet {
	s := Sheet{
		Key: "calendar", Name: "Calendar",
		Title: fmt.Sprintf("What is booked on the benches · %s · %s", p.Workshop, longDay(p.AsOf)),
		Notes: []string{
			"Minutes are the services' own; what another service of the same job covers takes none. Jobs whose day has passed are still to be done, and stand on today.",
			"Hours run out where more minutes are booked than all benches have; parts run out where a booked kit is short.",
		},
		Facts: []Fact{
			{"Days on which hours run out", Counted(daysWith(p, func(d inventory.BenchDay) bool { return d.Over() > 0 })), ""},
			{"Days on which parts run out", Counted(daysWith(p, func(d inventory.BenchDay) bool { return len(d.Short) > 0 })), ""},
		},
		Columns: []Column{
			{Name: "Day"},
			{Name: "Date", Kind: DateKind, Rank: 2},
			{Name: "Jobs", Kind: CountKind},
			{Name: "Booked", Unit: "min", Kind: CountKind},
			{Name: "Benches have", Unit: "min", Kind: CountKind},
			{Name: "Left", Unit: "min", Kind: CountKind, Rank: 1},
			{Name: "What runs out", Wrap: true},
		},
		Empty: "No job is booked: every hour of the benches is free.",
	}
	for _, d := range p.Bench {
		have, left := Cell{}, Cell{}
		if d.Limit != nil {
			have = Counted(*d.Limit)
			left = Counted(max(0, *d.Limit-d.Minutes))
		}
		s.Rows = append(s.Rows, Row{Strong: d.Over() > 0 || len(d.Short) > 0, Cells: []Cell{
			Words(shortDay(d.Date)), Day(d.Date), Counted(len(d.Jobs)), Counted(d.Minutes), have, left, Words(runsOut(d)),
		}})
	}
	if len(p.Bench) > 0 && p.Bench[0].Limit == nil {
		s.Remarks = []string{"The workshop states no bench hours, so that none can run out: the setting bench_hours is how many hours a working day all benches have together."}
	}
	return s
}

// daysWith is how many days are so.
func daysWith(p plan.Plan, so func(inventory.BenchDay) bool) int {
	n := 0
	for _, d := range p.Bench {
		if so(d) {
			n++
		}
	}
	return n
}

// runsOut says what a day has too little of, and whose job that is.
func runsOut(d inventory.BenchDay) string {
	hours, parts := "", ""
	switch {
	case d.Over() > 0 && *d.Limit == 0:
		hours = "no bench is open: move " + strings.Join(d.Jobs, ", ")
	case d.Over() > 0:
		hours = fmt.Sprintf("hours: %d minutes too many, move a job", d.Over())
	}
	if len(d.Short) > 0 {
		parts = "parts: " + listed(d.Short, 8) + oneMany(len(d.Short), " is short", " are short")
	}
	return join("; ", hours, parts)
}
