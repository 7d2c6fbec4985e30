package cost

import (
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"circlip/inventory"
)

// forks is a bench whose lower legs take two wipers and 100 ml of oil, whose
// dampers ("damp") take 300 ml, and whose full service covers the lower legs.
func forks() inventory.Shop {
	shop := bench()
	shop.Services = append(shop.Services, inventory.Service{Code: "damp", Name: "Damper", Family: "fork"})
	shop.BOM = []inventory.BOMLine{
		{Service: "damp", Model: "fell", Item: "oil", Qty: 3000, Need: 1},
		{Service: "full", Model: "fell", Item: "wiper", Qty: 2, Need: 1},
		{Service: "lower", Model: "fell", Item: "oil", Qty: 1000, Need: 1},
		{Service: "lower", Model: "fell", Item: "wiper", Qty: 2, Need: 1},
	}
	return shop
}

// done is a job on a fell that was done on a day of March.
func done(code string, day int, services ...string) inventory.Job {
	return inventory.Job{Code: code, Model: "fell", Services: services, State: inventory.Done, DoneOn: on(time.March, day), BenchDate: on(time.March, day)}
}

func TestAJobsPartsAreSharedOutByItsServices(t *testing.T) {
	oil := func(q inventory.Quantity) []Move { return []Move{used(on(3, 2), "J1", q)} }
	rows := []struct {
		rule     string
		services []string
		item     string
		moves    []Move
		want     map[string]inventory.Money
	}{
		{"one service has it all", []string{"lower"}, "oil", oil(1000), map[string]inventory.Money{"lower": 1000}},
		{"two share by what their lines ask for", []string{"damp", "lower"}, "oil", oil(4000), map[string]inventory.Money{"damp": 3000, "lower": 1000}},
		{"only one has a line", []string{"damp", "lower"}, "wiper", oil(2), map[string]inventory.Money{"lower": 200}},
		{"no line says: equally", []string{"damp", "can"}, "wiper", oil(1), map[string]inventory.Money{"can": 50, "damp": 50}},
		{"a covered service takes nothing", []string{"full", "lower"}, "wiper", oil(2), map[string]inventory.Money{"full": 200}},
		{"not even of what no line names", []string{"full", "lower"}, "oil", oil(1000), map[string]inventory.Money{"full": 1000}},
		{"what came back is shared as it went", []string{"damp", "lower"}, "oil",
			[]Move{used(on(3, 2), "J1", 4000), undone(used(on(3, 2), "J1", 4000), on(3, 3)), used(on(3, 4), "J1", 400)},
			map[string]inventory.Money{"damp": 300, "lower": 100}},
		{"a job that the book does not know", nil, "oil", oil(1000), map[string]inventory.Money{"": 1000}},
	}
	for _, r := range rows {
		shop := forks()
		if r.services != nil {
			shop.Jobs = []inventory.Job{done("J1", 2, r.services...)}
		}
		cost := inventory.UnitCost(euro)
		if r.item == "oil" {
			cost = euro / 10 // so that a step, 0.1 ml, is a cent
		}
		var l ledger
		l.lot(r.item, "A", cost, append([]Move{opened(on(1, 5), 100_000)}, r.moves...)...)
		got := map[string]inventory.Money{}
		for _, s := range account(t, shop, l).Services {
			if got[s.Service.Code] += s.Spend; got[s.Service.Code] == 0 {
				delete(got, s.Service.Code)
			}
		}
		if diff := cmp.Diff(r.want, got); diff != "" {
			t.Errorf("%s: %s", r.rule, diff)
		}
	}
}

func TestTheBillThatShares(t *testing.T) {
	shop := forks()
	shop.BOM[2].To = on(time.March, 15) // until then the lower legs took 100 ml,
	shop.BOM = slices.Insert(shop.BOM, 3, inventory.BOMLine{Service: "lower", Model: "fell", Item: "oil", Qty: 3000, Need: 1, From: on(time.March, 15)})
	shop.BOM[0].Need = 0.5 // and every other damper its 300 ml
	shop.Jobs = []inventory.Job{done("J1", 14, "damp", "lower"), done("J2", 15, "damp", "lower")}
	var l ledger
	l.lot("oil", "A", euro/10, opened(on(1, 5), 100_000), used(on(3, 14), "J1", 2500), used(on(3, 15), "J2", 4500))
	a := account(t, shop, l)
	want := []ServiceSpend{
		{Month{2026, 3}, inventory.Service{Code: "damp", Name: "Damper", Family: "fork"}, 1500 + 1500}, // 1500:1000, then 1500:3000
		{Month{2026, 3}, inventory.Service{Code: "lower", Family: "fork"}, 1000 + 3000},
	}
	if diff := cmp.Diff(want, a.Services); diff != "" {
		t.Error(diff)
	}
}

func TestWhatJobsOfAServiceCost(t *testing.T) {
	rows := []struct {
		rule              string
		costs             []inventory.Money
		mean, median, p90 inventory.Money
	}{
		{"one job", []inventory.Money{700}, 700, 700, 700},
		{"the middle one, in whatever order", []inventory.Money{900, 100, 200}, 400, 200, 900},
		{"of an even number the mean of the middle two, half a cent up", []inventory.Money{100, 201, 300, 1000}, 400, 251, 1000},
		{"nine in ten cost no more", []inventory.Money{1, 2, 3, 4, 5, 6, 7, 8, 9, 100}, 15, 6, 9}, // 14.5, 5.5
		{"nine in ten of eleven are ten", []inventory.Money{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 100}, 14, 6, 10},
		{"a job that took nothing in the end counts", []inventory.Money{0, 100}, 50, 50, 100},
	}
	for _, r := range rows {
		got := summary(inventory.Service{}, "fell", slices.Clone(r.costs))
		if got.Mean != r.mean || got.Median != r.median || got.P90 != r.p90 || got.Jobs != len(r.costs) {
			t.Errorf("%s: found mean %d, median %d, p90 %d of %d, expected %d, %d, %d", r.rule, got.Mean, got.Median, got.P90, got.Jobs, r.mean, r.median, r.p90)
		}
	}
}

func TestOnlyRecordedJobsHaveACost(t *testing.T) {
	shop := forks()
	booked := done("open", 9, "lower")
	booked.State, booked.DoneOn = inventory.Booked, 0
	shop.Jobs = []inventory.Job{done("back", 4, "lower"), done("card", 2, "lower"), done("early", 1, "lower"), done("ledger", 3, "lower"), done("none", 5, "lower"), booked}
	shop.Uses = []inventory.JobUse{
		{Job: "card", Item: "wiper", Qty: 2}, {Job: "card", Item: "oil", Qty: 1000},
		{Job: "early", Item: "wiper", Qty: 2}, {Job: "early", Item: "oil", Qty: 1000}, // its oil was gone before the shelf was written down
	}
	var l ledger
	l.lot("oil", "O", euro/10, opened(on(3, 1), 9000), used(on(3, 2), "card", 1000))
	l.lot("wiper", "W", euro, opened(on(1, 5), 50), used(on(3, 1), "early", 2), used(on(3, 2), "card", 2), used(on(3, 3), "ledger", 1),
		used(on(3, 4), "back", 1), undone(used(on(3, 4), "back", 1), on(3, 4)), used(on(3, 5), "open", 1))
	a := account(t, shop, l)
	if want := (Done{Recorded: 2, Partly: 1, Unrecorded: 2}); a.Done != want {
		t.Errorf("found %+v, expected %+v", a.Done, want)
	}
	want := []JobCost{{Service: inventory.Service{Code: "lower", Family: "fork"}, Model: "fell", Jobs: 2, Total: 1300, Mean: 650, Median: 650, P90: 1200}}
	if diff := cmp.Diff(want, a.Jobs); diff != "" {
		t.Error(diff)
	}
}

// Shares add up, none is further from the exact one than a minor unit, and
// what comes back is shared as it went.
func TestSharesAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		value := inventory.Money(rapid.Int64Range(-1_000_000, 1_000_000).Draw(t, "value"))
		weights := rapid.SliceOfN(rapid.Int64Range(0, 1_000_000), 1, 6).Draw(t, "weights")
		weights[0]++ // their sum is above zero
		all := int64(0)
		for _, w := range weights {
			all += w
		}
		sum, back := inventory.Money(0), split(-value, weights)
		for i, part := range split(value, weights) {
			sum += part
			if exact := float64(value) * float64(weights[i]) / float64(all); float64(part)-exact > 1+1e-6 || exact-float64(part) > 1+1e-6 {
				t.Fatalf("share %d of %d by %v: found %d, expected %v", i, value, weights, part, exact)
			}
			if back[i] != -part {
				t.Fatalf("share %d of %d by %v: %d went and %d came back", i, value, weights, part, back[i])
			}
		}
		if sum != value {
			t.Fatalf("shares of %d by %v add up to %d", value, weights, sum)
		}
	})
}
