package reports

import (
	"fmt"

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
		Empty: "Nothing: what the counts tell, they tell of each by itself.",
	}
	for _, item := range a.Items {
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
	s.Remarks = append(s.Remarks, "No day under Count on: none of the booked days tells the two apart.")
	return s
}

// howToTell says which count would tell two apart.
func howToTell(i inventory.Item, pair audit.Alike) string {
	if pair.WeighOn.IsZero() {
		return "no booked day tells them apart: do the jobs of the one in another week than those of the other, and count between"
	}
	verb := "count it"
	if i.Measure != inventory.Each {
		verb = "weigh or measure it"
	}
	return fmt.Sprintf("%s in the evening of %s: %s of the one lie before it, %d of the other", verb, shortDay(pair.WeighOn), plural(pair.JobsA, "job", "jobs"), pair.JobsB)
}
