package reports

import (
	"fmt"

	"circlip/inventory"
	"circlip/reports/plan"
)

// KitLines is every line of the kits of booked jobs and where its quantity
// comes from; of one job where its code is given.
func KitLines(p plan.Plan, job string) Sheet {
	s := kitLineSheet(fmt.Sprintf("Kits line by line · %s · %s", p.Workshop, longDay(p.AsOf)))
	items := itemsOf(p)
	for _, k := range p.Kits {
		if job == "" || k.Job == job {
			s.Rows = append(s.Rows, lineRows(k, items)...)
		}
	}
	return s
}

// kitLineSheet is the form of a sheet of kit lines.
func kitLineSheet(title string) Sheet {
	return Sheet{
		Key: "kit-lines", Name: "Kit lines", Title: title,
		Notes: []string{
			"Set aside, from the shelf, on order and short add up to what is needed, but where a part stands in or a kit is opened for it.",
			"A chance stands where not every such job takes the part; the line is covered where the shelf would do with at least the workshop's readiness as probability, after what earlier jobs may take.",
		},
		Columns: []Column{
			{Name: "Job"},
			{Name: "Bench date", Kind: DateKind, Rank: 4},
			{Name: "Part", Wrap: true},
			{Name: "Code", Rank: 6},
			{Name: "Needs", Kind: QuantityKind},
			{Name: "Unit"},
			{Name: "Chance", Unit: "%", Kind: ShareKind, Rank: 1},
			{Name: "Set aside", Kind: QuantityKind, Rank: 3},
			{Name: "Shelf", Kind: QuantityKind, Rank: 3},
			{Name: "On order", Kind: QuantityKind, Rank: 3},
			{Name: "Comes on", Kind: DateKind, Rank: 2},
			{Name: "Short", Kind: QuantityKind, Rank: 1},
			{Name: "Covered", Wrap: true},
		},
		Empty: "No such job is booked.",
	}
}

// itemsOf looks up an item of a plan; one that the book has lost is pieces.
func itemsOf(p plan.Plan) func(code string) inventory.Item {
	items := make(map[string]inventory.Item, len(p.Items))
	for _, i := range p.Items {
		items[i.Item.Code] = i.Item
	}
	return lookedUp(items)
}

func lookedUp(items map[string]inventory.Item) func(code string) inventory.Item {
	return func(code string) inventory.Item {
		if i, known := items[code]; known {
			return i
		}
		return inventory.Item{Code: code, Measure: inventory.Each}
	}
}

// lineRows is one row a line of a kit.
func lineRows(k inventory.JobKit, items func(code string) inventory.Item) []Row {
	var rows []Row
	for _, l := range k.Lines {
		i := items(l.Item)
		measured := func(q inventory.Quantity) Cell {
			if q == 0 {
				return Cell{}
			}
			return Measured(q, i.Measure)
		}
		chance := Cell{}
		if l.Probability < 1 {
			chance = Share(l.Probability)
		}
		rows = append(rows, Row{Strong: l.Critical && l.Short > 0, Cells: []Cell{
			Words(k.Job), Day(k.BenchDate), Words(itemName(i)), Words(i.Code), Measured(l.Need, i.Measure), Words(string(i.Measure)), chance,
			measured(l.SetAside), measured(l.FromFree), measured(l.FromOrder), Day(l.ArrivesOn), measured(l.Short),
			Words(coverage(l, items)),
		}})
	}
	return rows
}

// coverage says in a word or two what covers a line.
func coverage(l inventory.KitLine, items func(code string) inventory.Item) string {
	switch {
	case l.Short > 0 && !l.Critical:
		return "no, but no job waits for it"
	case l.Short > 0:
		return "no"
	case l.Alternate != "":
		return "by " + itemName(items(l.Alternate)) + " instead"
	case l.FromKit != "":
		return "by opening " + itemName(items(l.FromKit))
	case l.FromOrder > 0:
		return "once it has come"
	}
	return "yes"
}
