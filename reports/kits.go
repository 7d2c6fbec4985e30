package reports

import (
	"fmt"
	"slices"
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
			"Jobs are served by bench date: what is promised to one is not there for the next. Only lines that lack are listed, and what is there in case it is needed; a chance stands where not every such job takes the part.",
		},
		Facts: kitFacts(p),
		Columns: []Column{
			{Name: "Job"},
			{Name: "Bench date", Kind: DateKind},
			{Name: "State"},
			{Name: "Service", Rank: 3},
			{Name: "Model", Rank: 4},
			{Name: "On unit", Rank: 4},
			{Name: "Lacks", Wrap: true},
			{Name: "Qty", Kind: QuantityKind},
			{Name: "Unit", Rank: 1},
			{Name: "Chance", Unit: "%", Kind: ShareKind, Rank: 2},
			{Name: "Comes on", Kind: DateKind, Rank: 3},
			{Name: "What to do", Wrap: true},
		},
		Empty:   "No job is booked. Add the jobs whose bench dates you know to the book's table jobs and load it again: booked jobs make the plan surer than any forecast.",
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
	say := func(text string) Row { return row(Cell{}, Cell{}, Cell{}, Cell{}, Cell{}, Words(text)) }
	if len(j.lacking) == 0 {
		return []Row{say(join("; ", j.advice(p), j.inCase()))}
	}
	var rows []Row
	for _, l := range j.lacking {
		chance, action := Cell{}, l.action
		if l.Probability < 1 {
			chance = Share(l.Probability)
			action += " (" + oftenOf(l.Probability) + " of such jobs take it)"
		}
		rows = append(rows, row(Words(itemName(l.item)), Measured(l.missing(), l.item.Measure), Words(string(l.item.Measure)),
			chance, Day(l.comes), Words(action)))
	}
	if text := j.inCase(); text != "" {
		rows = append(rows, say(text))
	}
	return rows
}

// KitTable is Kits for a narrow page: what is on the bench in one column, what
// lacks and what to do about it in another, and each job named once.
func KitTable(p plan.Plan) Sheet {
	s := Kits(p)
	s.Columns = []Column{
		{Name: "Job"},
		{Name: "Bench date"},
		{Name: "State"},
		{Name: "On the bench", Wrap: true},
		{Name: "Lacks, and what to do", Wrap: true},
	}
	s.Rows = nil
	for _, j := range shortages(p) {
		head := []Cell{Words(j.Job), Words(shortDay(j.BenchDate)), Words(string(j.State)), Words(j.onTheBench())}
		for _, text := range j.needs(p) {
			s.Rows = append(s.Rows, Row{Cells: append(head, Words(text)), Strong: j.State == inventory.Short})
			head = make([]Cell, len(head))
		}
	}
	return s
}

// onTheBench is what the job does on which unit, or on which model where the
// book has no unit for it.
func (j jobShortage) onTheBench() string {
	what := strings.Join(j.Services, " and ")
	switch {
	case j.Unit != "":
		return what + " on " + j.Unit
	case j.Model != "":
		return what + " on " + j.Model
	}
	return what
}

// needs says of each line that lacks how much of what, and what to do about
// it; of a job that lacks none, what to do with it.
func (j jobShortage) needs(p plan.Plan) []string {
	var texts []string
	for _, l := range j.lacking {
		texts = append(texts, fmt.Sprintf("%s %s %s%s; %s", l.item.Measure.Format(l.missing()), l.item.Measure, itemName(l.item), chanceOf(l.Probability), l.action))
	}
	if len(texts) == 0 {
		return []string{join("; ", j.advice(p), j.inCase())}
	}
	if text := j.inCase(); text != "" {
		texts = append(texts, text)
	}
	return texts
}

// inCase names the parts that not every such job takes and that the shelf
// covers, with how many such jobs take them; empty: there are none.
func (j jobShortage) inCase() string {
	if len(j.covered) == 0 {
		return ""
	}
	var parts []string
	for _, l := range j.covered {
		parts = append(parts, itemName(l.item)+" ("+oftenOf(l.Probability)+")")
	}
	return "there if needed: " + strings.Join(parts, ", ")
}

// join joins those texts that say something.
func join(between string, texts ...string) string {
	return strings.Join(slices.DeleteFunc(texts, func(text string) bool { return text == "" }), between)
}
