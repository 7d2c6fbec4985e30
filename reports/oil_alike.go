package reports

import (
	"fmt"
	"slices"

	"circlip/inventory"
	"circlip/inventory/audit"
)

// OilAlike is what the periods cannot tell apart, and which weighing would.
func OilAlike(a audit.Audit) Sheet {
	of := thingsOf(a.Scope)
	s := Sheet{
		Key: of.key + " alike", Name: "Alike", Title: oilTitle("What the counts cannot tell apart", a),
		Notes: []string{
			"Where two go up and down together in every period, no arithmetic says which of them takes the more. A count on the evening named lies between the jobs of the one and those of the other.",
		},
		Columns: []Column{
			{Name: of.column}, {Name: "Code", Rank: 5}, {Name: "By", Rank: 2}, {Name: "One"}, {Name: "Other"},
			{Name: "Correlation", Kind: NumberKind, Rank: 1},
			{Name: "Count on", Kind: DateKind},
			{Name: "Jobs of one", Kind: CountKind}, {Name: "Jobs of other", Kind: CountKind},
			{Name: "What to do", Wrap: true, Rank: 3},
		},
		Empty: "No two services, models or people go up and down together. Of what has fewer than six periods nothing is said yet.",
	}
	for _, item := range a.Items {
		if len(item.Periods) < fewPeriods {
			continue // any two seem alike over so few
		}
		for _, pair := range item.Alike {
			cells := []Cell{
				Words(itemName(item.Item)), Words(item.Item.Code), Words(string(pair.By)), Words(called(a, pair.By, pair.A)), Words(called(a, pair.By, pair.B)),
				Figure(pair.Correlation, 2), Day(pair.WeighOn), Counted(pair.JobsA), Counted(pair.JobsB), Words(howToTell(item.Item, pair)),
			}
			if pair.WeighOn.IsZero() {
				cells[7], cells[8] = Cell{}, Cell{}
			}
			s.Rows = append(s.Rows, Row{Cells: cells})
		}
	}
	return s
}

// alikeTable is the same for a terminal.
func alikeTable(a audit.Audit) Sheet {
	s := OilAlike(a).only(thingsOf(a.Scope).column, "One", "Other", "Count on", "Jobs of one", "Jobs of other")
	if at := s.column("Count on"); slices.ContainsFunc(s.Rows, func(r Row) bool { return r.Cells[at].Blank() }) {
		s.Remarks = append(s.Remarks, "Where no day stands to count on, no booked day tells the two apart: "+toPart+".")
	}
	return s
}

// toPart is what tells two apart that no booked day does.
const toPart = "do the jobs of the one in another week than those of the other, and count between"

// howToTell says which count would tell two apart.
func howToTell(i inventory.Item, pair audit.Alike) string {
	if pair.WeighOn.IsZero() {
		return "no booked day tells them apart: " + toPart
	}
	verb := "count it"
	if i.Measure != inventory.Each {
		verb = "weigh or measure it"
	}
	return fmt.Sprintf("%s in the evening of %s: %s of the one lie before it, %d of the other", verb, shortDay(pair.WeighOn), plural(pair.JobsA, "job", "jobs"), pair.JobsB)
}
