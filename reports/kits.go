package reports

import (
	"fmt"
	"strings"

	"circlip/inventory"
	"circlip/reports/plan"
)

// Cautions stand wherever jobs do. Common practice, no source.
var cautions = []string{
	"Air cans and dampers hold pressure: let it out as the maker says before anything is loosened. Dampers charged with nitrogen are for trained people with the right tools.",
	"Solvents burn and harm skin and lungs; used oil is hazardous waste. Keep and hand over both as local codes say.",
	"The maker's instructions, local codes and licensed practice come before this page. It plans parts; it gives no permission to do the work.",
}

// Kits is every booked job with the state of its kit and each line that
// lacks: how much, when it comes, and what to do about it.
func Kits(p plan.Plan) Sheet {
	s := Sheet{
		Key: "kits", Name: "Kits",
		Title: fmt.Sprintf("Booked jobs and their kits · %s · %s", p.Workshop, longDay(p.AsOf)),
		Notes: []string{
			"Ready: every critical part is set aside or free on the shelf. Coming: what lacks is on order and due by the bench date. Short: something is not.",
			"Jobs are served by bench date: what is promised to one is not there for the next. Only lines that lack are listed; a chance stands where not every such job takes the part.",
		},
		Facts: kitFacts(p),
		Columns: []Column{
			{Name: "Job"},
			{Name: "Bench date", Kind: DateKind},
			{Name: "State"},
			{Name: "Service", Rank: 3},
			{Name: "Model", Rank: 4},
			{Name: "Unit", Rank: 4},
			{Name: "Lacks"},
			{Name: "Qty", Kind: QuantityKind},
			{Name: "in", Rank: 1},
			{Name: "Chance", Unit: "%", Kind: ShareKind, Rank: 2},
			{Name: "Comes on", Kind: DateKind, Rank: 3},
			{Name: "What to do", Wrap: true},
		},
		Empty:   "No job is booked. Enter the bench dates you know (circlip job book): booked jobs make the plan surer than any forecast.",
		Remarks: cautions,
	}
	for _, j := range shortages(p) {
		s.Rows = append(s.Rows, kitRows(p, j)...)
	}
	return s
}

// kitRows is one row for each line that lacks, or one that says that none
// does: every job is listed, and every row can be sorted by its job.
func kitRows(p plan.Plan, j jobShortage) []Row {
	head := []Cell{
		Words(j.Job), Day(j.BenchDate), Words(string(j.State)),
		Words(strings.Join(j.Services, ", ")), Words(j.Model), Words(j.Unit),
	}
	row := func(cells ...Cell) Row {
		return Row{Cells: append(head[:len(head):len(head)], cells...), Strong: j.State == inventory.Short}
	}
	if len(j.lacking) == 0 {
		return []Row{row(Cell{}, Cell{}, Cell{}, Cell{}, Cell{}, Words(j.advice(p)))}
	}
	var rows []Row
	for _, l := range j.lacking {
		chance, action := Cell{}, l.action
		if l.Probability < 1 {
			chance = Share(l.Probability)
			action += fmt.Sprintf(" (%.0f %% of such jobs take it)", 100*l.Probability)
		}
		rows = append(rows, row(Words(itemName(l.item)), Measured(l.missing(), l.item.Measure), Words(string(l.item.Measure)),
			chance, Day(l.comes), Words(action)))
	}
	return rows
}
