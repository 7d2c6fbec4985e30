package audit

import (
	"testing"

	"circlip/inventory"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

var firstOfMarch = inventory.NewDate(2026, 3, 1)

// oilShop has one oil of which a service takes 20 ml with 5 % waste in four
// jobs of five, and counts on day 0 (the opening), 28 and 56.
func oilShop() inventory.Shop {
	job := func(code string, on inventory.Date) inventory.Job {
		return inventory.Job{Code: code, Model: "fell", Services: []string{"lower"}, State: inventory.Done, DoneOn: firstOfMarch + on}
	}
	return inventory.Shop{
		Items:    []inventory.Item{{Code: "oil", Measure: inventory.Millilitre}, {Code: "wiper", Measure: inventory.Each}},
		Models:   []inventory.Model{{Code: "fell", Family: "fork"}},
		Services: []inventory.Service{{Code: "lower", Family: "fork"}},
		BOM:      []inventory.BOMLine{{Service: "lower", Model: inventory.AnyModel, Item: "oil", Qty: 200, Need: 0.8, Waste: 0.05}},
		Openings: []inventory.Count{{Item: "oil", Date: firstOfMarch, Qty: 10_000}, {Item: "wiper", Date: firstOfMarch, Qty: 5}},
		Counts:   []inventory.Count{{Item: "oil", Date: firstOfMarch + 56, Qty: 12_000}, {Item: "oil", Date: firstOfMarch + 28, Qty: 9_300}},
		Receipts: []inventory.Receipt{{Item: "oil", Date: firstOfMarch + 28, Qty: 500}, {Item: "oil", Date: firstOfMarch + 29, Qty: 5_000}},
		Jobs:     []inventory.Job{job("J0", 0), job("J1", 1), job("J2", 28), job("J3", 29), {Code: "J4", Model: "fell", Services: []string{"lower"}, State: inventory.Booked}},
		Uses:     []inventory.JobUse{{Job: "J0", Item: "oil", Qty: 999}, {Job: "J1", Item: "oil", Qty: 210}, {Job: "J2", Item: "oil", Qty: 230}, {Job: "J3", Item: "oil", Qty: 200}, {Job: "J4", Item: "oil", Qty: 77}},
	}
}

// periodsOf is every period of every fluid, in the order of the shop's items and
// then of time.
func periodsOf(shop inventory.Shop) []Period {
	ledger := gather(shop, Fluids)
	var periods []Period
	for _, item := range shop.Items {
		if Fluids.holds(item) {
			periods = append(periods, ledger.periods(item)...)
		}
	}
	return periods
}

func TestPeriods(t *testing.T) {
	want := []Period{
		// What happens on the day of a count lies before it: the day of the
		// opening belongs to no period, day 28 to the first.
		{Item: "oil", From: firstOfMarch, To: firstOfMarch + 28, Opening: 10_000, Closing: 9_300, Received: 500, Standard: 336, Recorded: 440, Jobs: 2},
		{Item: "oil", From: firstOfMarch + 28, To: firstOfMarch + 56, Opening: 9_300, Closing: 12_000, Received: 5_000, Standard: 168, Recorded: 200, Jobs: 1, LeftOut: true},
	}
	got := periodsOf(oilShop())
	spreads := cmpopts.IgnoreFields(Period{}, "JobSpread", "CountSpread", "CardSpread", "Findings")
	if diff := cmp.Diff(want, got, spreads); diff != "" {
		t.Fatalf("periods (-expected +found):\n%s", diff)
	}
	if got[0].Drawn() != 1_200 || got[0].Unrecorded() != 760 || got[0].OverStandard() != 104 {
		t.Errorf("drawn %d, unrecorded %d, over standard %d, expected 1200, 760, 104", got[0].Drawn(), got[0].Unrecorded(), got[0].OverStandard())
	}
	if got[1].Drawn() != 2_300 {
		t.Errorf("drawn %d, expected 9300 + 5000 − 12000 = 2300", got[1].Drawn())
	}
}

func TestPeriodsOfThinPasts(t *testing.T) {
	tests := []struct {
		rule   string
		change func(*inventory.Shop)
		want   int
	}{
		{"one count alone makes no period", func(s *inventory.Shop) { s.Counts = nil }, 0},
		{"an item never counted makes none", func(s *inventory.Shop) { s.Openings, s.Counts = nil, nil }, 0},
		{"two counts on a day are one: the later in the book", func(s *inventory.Shop) {
			s.Counts = append(s.Counts, inventory.Count{Item: "oil", Date: firstOfMarch + 56, Qty: 11_000})
		}, 2},
		{"a bottle found draws less than nothing, and is told", func(s *inventory.Shop) { s.Counts[0].Qty = 90_000 }, 2},
	}
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			shop := oilShop()
			test.change(&shop)
			if got := periodsOf(shop); len(got) != test.want {
				t.Errorf("found %d periods, expected %d: %+v", len(got), test.want, got)
			}
		})
	}
}

func TestEveryJobIsHeldToTheBillOfItsDay(t *testing.T) {
	shop := oilShop() // jobs on days 0 and 1, 28 and 29; counts on 0, 28 and 56
	shop.BOM[0].To = firstOfMarch + 28
	shop.BOM = append(shop.BOM, inventory.BOMLine{Service: "lower", Model: inventory.AnyModel, Item: "oil", From: firstOfMarch + 28, Qty: 300, Need: 1})
	got := periodsOf(shop)
	if got[0].Standard != 168+300 || got[1].Standard != 300 {
		t.Errorf("standard %d and %d, expected the old 168 on day 1 and the new 300 on days 28 and 29", got[0].Standard, got[1].Standard)
	}
}
