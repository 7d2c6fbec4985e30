package audit

import (
	"fmt"
	"math"
	"testing"

	"circlip/inventory"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"
)

// twoServices has a damper of 80 ml and lowers of 20 ml, of the same oil; one
// pair of lowers in two takes grease. Cedar did one job with both.
func twoServices(uses ...inventory.JobUse) inventory.Shop {
	return inventory.Shop{
		AsOf:     firstOfMarch + 30,
		Items:    []inventory.Item{{Code: "grease", Measure: inventory.Gram}, {Code: "oil", Measure: inventory.Millilitre}, {Code: "seal", Measure: inventory.Each}},
		Models:   []inventory.Model{{Code: "fell", Family: "fork"}},
		Services: []inventory.Service{{Code: "lowers", Family: "fork"}, {Code: "damper", Family: "fork"}},
		BOM: []inventory.BOMLine{
			{Service: "damper", Model: "*", Item: "oil", Qty: 800, Need: 1},
			{Service: "lowers", Model: "*", Item: "grease", Qty: 50, Need: 0.5},
			{Service: "lowers", Model: "*", Item: "oil", Qty: 200, Need: 1},
			{Service: "lowers", Model: "*", Item: "seal", Qty: 2, Need: 1},
		},
		Jobs:     []inventory.Job{{Code: "J1", Model: "fell", Services: []string{"damper", "lowers"}, State: inventory.Done, DoneOn: firstOfMarch + 3, DoneBy: "Cedar"}},
		Uses:     uses,
		Openings: []inventory.Count{{Item: "oil", Date: firstOfMarch, Qty: 10_000}, {Item: "grease", Date: firstOfMarch, Qty: 10_000}},
		Counts:   []inventory.Count{{Item: "oil", Date: firstOfMarch + 7, Qty: 9_000}, {Item: "grease", Date: firstOfMarch + 7, Qty: 10_000}},
	}
}

func TestWhatACardTellsOfEachService(t *testing.T) {
	use := func(item string, qty inventory.Quantity) inventory.JobUse {
		return inventory.JobUse{Job: "J1", Item: item, Qty: qty}
	}
	tests := []struct {
		rule  string
		item  string
		uses  []inventory.JobUse
		spoil inventory.Quantity
		want  []taking
	}{
		{"a card of both services is shared out by what the bill allows each", "oil", []inventory.JobUse{use("oil", 1_100)}, 0,
			[]taking{{service: "damper", standard: 80, recorded: 88, onCard: true}, {service: "lowers", standard: 20, recorded: 22, onCard: true}}},
		{"two lots on the card are one use", "oil", []inventory.JobUse{use("oil", 100), use("oil", 1_000)}, 0,
			[]taking{{service: "damper", standard: 80, recorded: 88, onCard: true}, {service: "lowers", standard: 20, recorded: 22, onCard: true}}},
		{"what was spoiled is on the card", "oil", []inventory.JobUse{use("oil", 1_000)}, 100,
			[]taking{{service: "damper", standard: 80, recorded: 88, onCard: true}, {service: "lowers", standard: 20, recorded: 22, onCard: true}}},
		{"a card without it tells nothing of what every job takes", "oil", []inventory.JobUse{use("seal", 2)}, 0,
			[]taking{{service: "damper", standard: 80}, {service: "lowers", standard: 20}}},
		{"a card without it tells that what one in two takes was not", "grease", []inventory.JobUse{use("oil", 1_000)}, 0,
			[]taking{{service: "lowers", standard: 2.5, onCard: true}}},
		{"no card tells nothing", "grease", nil, 0, []taking{{service: "lowers", standard: 2.5}}},
	}
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			shop := twoServices(test.uses...)
			if test.spoil > 0 {
				shop.Spoils = []inventory.Spoiled{{Job: "J1", Item: "oil", Date: firstOfMarch + 3, Qty: test.spoil}}
			}
			for i := range test.want {
				w := &test.want[i]
				w.on, w.job, w.model, w.person = firstOfMarch+3, "J1", "fell", "Cedar"
			}
			got := gather(shop, Fluids).attribution(inventory.Item{Code: test.item}).takings
			ignored := cmpopts.IgnoreFields(taking{}, "variance", "amount", "certain")
			if diff := cmp.Diff(test.want, got, cmp.AllowUnexported(taking{}), ignored, cmpopts.EquateApprox(1e-12, 0)); diff != "" {
				t.Errorf("takings (-expected +found):\n%s", diff)
			}
		})
	}
}

func TestJobsWithoutACardAreCounted(t *testing.T) {
	shop := twoServices(inventory.JobUse{Job: "J1", Item: "seal", Qty: 2})
	of := Of(shop, Fluids)
	if oil, grease := of.Items[1].Periods[0], of.Items[0].Periods[0]; oil.NoCard != 1 || grease.NoCard != 0 {
		t.Errorf("%d jobs lack their oil and %d their grease, expected 1, and 0 since not every job takes grease", oil.NoCard, grease.NoCard)
	}
	shop.BOM[0].Need = 0.5 // the damper's oil, before that of the lowers
	if oil := Of(shop, Fluids).Items[1].Periods[0]; oil.NoCard != 1 {
		t.Errorf("%d jobs lack their oil, expected 1: its lowers take some for certain", oil.NoCard)
	}
}

func TestWhatMovesOtherwise(t *testing.T) {
	shop := twoServices(inventory.JobUse{Job: "J1", Item: "oil", Qty: 1_000})
	shop.Others = []inventory.OtherMove{
		{Item: "oil", Date: firstOfMarch, Qty: -7},       // before the opening was counted that evening
		{Item: "oil", Date: firstOfMarch + 7, Qty: -300}, // thrown away on the day of the count
		{Item: "oil", Date: firstOfMarch + 8, Qty: -11},
		{Item: "seal", Date: firstOfMarch + 2, Qty: -1},
	}
	shop.Spoils = []inventory.Spoiled{{Job: "J9", Item: "oil", Date: firstOfMarch + 2, Qty: 40}} // of a job that was called off
	p := periodsOf(shop)[1]
	if p.Other != -300 || p.Drawn() != 700 || p.Recorded != 1_040 {
		t.Errorf("other %d, drawn %d, recorded %d, expected −300, 10000 − 300 − 9000 = 700, 1040", p.Other, p.Drawn(), p.Recorded)
	}
}

func TestWhatIsAhead(t *testing.T) {
	shop := twoServices()
	shop.BOM[0].To = shop.AsOf + 10
	shop.BOM = append(shop.BOM, inventory.BOMLine{Service: "damper", Model: "*", Item: "oil", From: shop.AsOf + 10, Qty: 900, Need: 1},
		inventory.BOMLine{Service: "damper", Model: "old", Item: "oil", To: shop.AsOf, Qty: 700, Need: 1})
	for i, on := range []inventory.Date{50, 11, -2, 43} { // two jobs of which the first and the last are too far ahead
		code := fmt.Sprint("B", i)
		shop.Jobs = append(shop.Jobs, inventory.Job{Code: code, Model: "fell", Services: []string{"damper"}, State: inventory.Booked, BenchDate: shop.AsOf + on})
	}
	got := gather(shop, Fluids).attribution(shop.Items[1])
	var days []inventory.Date
	var standards []float64
	for _, c := range got.coming {
		days, standards = append(days, c.on-shop.AsOf), append(standards, c.standard)
	}
	if diff := cmp.Diff([]inventory.Date{0, 11}, days); diff != "" {
		t.Errorf("days ahead, what is late counting today (-expected +found):\n%s", diff)
	}
	if diff := cmp.Diff([]float64{80, 90}, standards); diff != "" {
		t.Errorf("standards by the bill of the day (-expected +found):\n%s", diff)
	}
	if len(got.bill) != 3 || got.asOf != shop.AsOf || cmp.Diff(got.services, []string{"lowers", "damper"}) != "" || cmp.Diff(got.models, []string{"fell"}) != "" {
		t.Errorf("found %d lines in force, as of %s, services %v, models %v", len(got.bill), got.asOf, got.services, got.models)
	}
}

// Whatever jobs were done with whatever cards, the takings of a period add up
// to its figures, and shares of a card to the card.
func TestTakingsAddUpToPeriods(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shop := twoServices()
		shop.Jobs, shop.Counts = nil, nil
		services := [][]string{{"damper"}, {"lowers"}, {"damper", "lowers"}, {"lowers", "damper", "lowers"}}
		for n := range rapid.IntRange(0, 30).Draw(t, "jobs") {
			j := inventory.Job{Code: fmt.Sprint("J", n), Model: "fell", State: inventory.Done}
			j.Services = rapid.SampledFrom(services).Draw(t, "services")
			j.DoneOn = firstOfMarch + inventory.Date(rapid.IntRange(-3, 30).Draw(t, "day"))
			shop.Jobs = append(shop.Jobs, j)
			for range rapid.IntRange(0, 2).Draw(t, "lots") {
				shop.Uses = append(shop.Uses, inventory.JobUse{Job: j.Code, Item: rapid.SampledFrom([]string{"oil", "grease", "seal"}).Draw(t, "item"), Qty: inventory.Quantity(rapid.IntRange(1, 2_000).Draw(t, "used"))})
			}
		}
		for _, on := range rapid.SliceOfN(rapid.IntRange(1, 30), 1, 6).Draw(t, "counts") {
			shop.Counts = append(shop.Counts, inventory.Count{Item: "oil", Date: firstOfMarch + inventory.Date(on), Qty: 5_000})
		}
		ledger := gather(shop, Fluids)
		oil := shop.Items[1]
		for _, p := range ledger.periods(oil) {
			var standard, variance, recorded float64
			jobs := map[string]bool{}
			for _, k := range ledger.attribution(oil).takings {
				if p.From < k.on && k.on <= p.To {
					standard, variance, recorded = standard+k.standard, variance+k.variance, recorded+k.recorded
					jobs[k.job] = true
				}
			}
			if inventory.Quantity(math.Round(10*standard)) != p.Standard || len(jobs) != p.Jobs || math.Abs(variance-p.JobSpread*p.JobSpread) > 1e-9*(1+variance) {
				t.Fatalf("takings come to %g ml, %d jobs and a variance of %g, expected those of %+v", standard, len(jobs), variance, p)
			}
			if math.Abs(10*recorded-float64(p.Recorded)) > 1e-6 {
				t.Fatalf("takings record %g ml, the period %d steps", recorded, p.Recorded)
			}
		}
	})
}
