package reports

import (
	"fmt"

	"circlip/inventory"
)

// CountPlan is the items in the order in which to count them, those that are
// due on the shop's day, or all of them.
func CountPlan(shop inventory.Shop, plan []inventory.CountDue, all bool) Sheet {
	set := shop.Settings
	s := Sheet{
		Key: "count-plan", Name: "Count plan",
		Title: fmt.Sprintf("What to count · %s · %s", set.Workshop, longDay(shop.AsOf)),
		Notes: []string{
			"A, B, C: by what a year's use of an item costs, the dearest first; the settings count_a_share and the like say where a class ends and how often it is counted. What never was counted comes first.",
			"X, Y, Z: how much use varies from four weeks to four weeks, steady, changing, erratic; blank where too little is known.",
		},
		Facts: []Fact{{"Items due", Counted(dueNow(shop, plan)), ""}, {"Items in all", Counted(len(plan)), ""}},
		Columns: []Column{
			{Name: "Item", Wrap: true},
			{Name: "Code", Rank: 5},
			{Name: "Bin", Rank: 1},
			{Name: "Class"},
			{Name: "Movement", Rank: 2},
			{Name: "Used in a year", Kind: QuantityKind, Rank: 4},
			{Name: "Unit", Rank: 4},
			{Name: "Value of use", Unit: set.Currency.Code, Kind: MoneyKind, Rank: 3},
			{Name: "Counted last", Kind: DateKind, Rank: 1},
			{Name: "Due on", Kind: DateKind},
			{Name: "Days late", Kind: CountKind},
		},
		Empty: "Nothing is due to be counted today.",
	}
	for _, c := range plan {
		if !all && !c.IsDue(shop.AsOf) {
			continue
		}
		late := Cell{}
		if c.DaysLate > 0 {
			late = Counted(c.DaysLate)
		}
		s.Rows = append(s.Rows, Row{Cells: []Cell{
			Words(itemName(c.Item)), Words(c.Item.Code), Words(c.Item.Bin), Words(c.Class), Words(c.Movement),
			Measured(c.Used, c.Item.Measure), Words(string(c.Item.Measure)), Amount(c.Value, set.Currency),
			Day(c.LastOn), Day(c.DueOn), late,
		}})
	}
	return s
}

// dueNow is how many items are due on the shop's day.
func dueNow(shop inventory.Shop, plan []inventory.CountDue) int {
	n := 0
	for _, c := range plan {
		if c.IsDue(shop.AsOf) {
			n++
		}
	}
	return n
}
