package reports

import (
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/reports/plan"
	"circlip/testdata/golden/plans"
)

func TestThePageSaysWhatALimitCutsAndCosts(t *testing.T) {
	wiper := inventory.Item{Code: "W", Name: "Wiper", Measure: inventory.Each}
	oil := inventory.Item{Code: "O", Name: "Damper oil", Measure: inventory.Millilitre}
	cut := []plan.Cut{{Item: wiper, Qty: 20}, {Item: oil, Qty: 10_000}, {Item: wiper, Qty: 1}}
	rows := []struct {
		rule  string
		limit plan.Limit
		want  string
	}{
		{"a budget is about the whole order",
			plan.Limit{Kind: plan.BudgetLimit, Allowed: "EUR 220.00", Wanted: "EUR 260.00", Cut: cut[:1], Without: 0.98, With: 0.97},
			"Budget: wanted EUR 260.00, allowed EUR 220.00. Jobs ready: 97.0 % instead of 98.0 %, 1.0 points fewer. Not ordered: 20 ea Wiper."},
		{"an item goes by its name",
			plan.Limit{Kind: plan.ShelfLifeLimit, Of: "O", Allowed: "1 l, used before it expires", Wanted: "2 l", Cut: cut[1:2], Without: 0.98, With: 0.97},
			"Shelf life, Damper oil: wanted 2 l, allowed 1 l, used before it expires. Jobs ready: 97.0 % instead of 98.0 %, 1.0 points fewer. Not ordered: 1,000.0 ml Damper oil."},
		{"so does a supplier, whose minimum is a least and not a most",
			plan.Limit{Kind: plan.MinimumLimit, Of: "S", Allowed: "goods of EUR 50.00 or more", Wanted: "goods of EUR 31.00", Without: 0.97, With: 0.91},
			"Supplier minimum, Seals & Co: goods of EUR 50.00 or more are asked for, the order comes to goods of EUR 31.00. If it is not taken, 91.0 % of jobs are ready instead of 97.0 %: add what will be needed next, or wait."},
		{"what the plan does not know goes by its code",
			plan.Limit{Kind: plan.FlammableLimit, Of: "X", Allowed: "5 l", Wanted: "6 l", Cut: cut, Without: 0.98, With: 0.9},
			"Flammable litres, X: wanted 6 l, allowed 5 l. Jobs ready: 90.0 % instead of 98.0 %, 8.0 points fewer. Not ordered: 20 ea Wiper; 1,000.0 ml Damper oil; and 1 more."},
		{"what does not show in the shares is no loss",
			plan.Limit{Kind: plan.BudgetLimit, Allowed: "1", Wanted: "2", Without: 0.97004, With: 0.97001},
			"Budget: wanted 2, allowed 1. Jobs ready: 97.0 % with it and without."},
		{"nor is a gain, which only a simulation can find",
			plan.Limit{Kind: plan.BudgetLimit, Allowed: "1", Wanted: "2", Without: 0.97, With: 0.975},
			"Budget: wanted 2, allowed 1. Jobs ready: 97.5 % with it and without."},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			p := plan.Plan{
				Items:  []plan.Item{{Item: wiper}, {Item: oil}},
				Orders: []plan.Order{{Supplier: inventory.Supplier{Code: "S", Name: "Seals & Co"}}},
				Limits: []plan.Limit{r.limit},
			}
			if got := limitSentences(p); len(got) != 1 || got[0] != r.want {
				t.Errorf("found %q, expected %q", got, r.want)
			}
		})
	}
}

func TestEveryItemThatALimitCutsHasItsRow(t *testing.T) {
	p := plans.Plan()
	p.Limits[0].Cut = append(p.Limits[0].Cut, p.Limits[1].Cut...)
	p.Limits = append(p.Limits, plan.Limit{Kind: plan.MinimumLimit, Of: "tarn", Allowed: "EUR 100.00", Wanted: "EUR 85.20", Without: 0.9728, With: 0.9728})
	p.Limits[1].With = 0.9699
	var got []string
	for _, r := range Limits(p).Rows {
		line := ""
		for _, column := range []int{0, 1, 7, 9} {
			line += r.Cells[column].String() + ","
		}
		if r.Strong {
			line += "!"
		}
		got = append(got, line)
	}
	want := "budget,,Dust wiper 35 mm,20,|budget,,Seal grease,50.0,|shelf life,Seal grease,Seal grease,50.0,!|supplier minimum,Tarn Works,nothing,,"
	if strings.Join(got, "|") != want {
		t.Errorf("found %s, expected %s: the whole limit on each row, strong where the target is missed", strings.Join(got, "|"), want)
	}
}

// What a limit costs is the difference of the two shares that stand beside it,
// so that nobody who subtracts finds another figure.
func TestWhatALimitCostsIsTheDifferenceShown(t *testing.T) {
	s := Limits(plan.Plan{Limits: []plan.Limit{{Without: 0.97999, With: 0.97001}, {Without: 0.9784, With: 0.9728}}})
	for n, want := range []string{"97.9 97.0 0.9", "97.8 97.2 0.6"} {
		c := s.Rows[n].Cells
		if got := c[4].String() + " " + c[5].String() + " " + c[6].String(); got != want {
			t.Errorf("found %s, expected %s", got, want)
		}
	}
}
