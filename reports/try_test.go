package reports

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"
	"time"

	"circlip/inventory"
)

// frontDesk is a small shop on a Monday: wipers for one job, which is booked for
// Thursday, oil, and a bushing that two jobs in ten take and nobody has.
func frontDesk() inventory.Shop {
	monday := inventory.NewDate(2027, time.March, 1)
	return inventory.Shop{
		AsOf:     monday,
		Settings: inventory.Settings{Workshop: "Larchfell Bike Park", Currency: euro, Readiness: 0.97, HorizonWeeks: 4},
		Items: []inventory.Item{
			{Code: "BUSH-35", Name: "Bushing 35 mm", Measure: inventory.Each, Critical: true},
			{Code: "OIL-LL20", Name: "Lower leg oil 20", Measure: inventory.Millilitre, Critical: true},
			{Code: "WIP-35", Name: "Dust wiper 35 mm", Measure: inventory.Each, Critical: true},
		},
		Suppliers: []inventory.Supplier{{Code: "brindle", OrderWeekday: monday.Weekday(), LeadDays: 3}},
		Offers: []inventory.Offer{
			{Item: "BUSH-35", Supplier: "brindle", FromPacks: 1, PackQty: 2, Price: 27_00},
			{Item: "WIP-35", Supplier: "brindle", FromPacks: 1, PackQty: 2, Price: 23_80},
		},
		Models:   []inventory.Model{{Code: "Torrent 35", Family: "fork"}},
		Services: []inventory.Service{{Code: "fork-lower", Family: "fork", BenchMinutes: 45}},
		BOM: []inventory.BOMLine{
			{Service: "fork-lower", Model: inventory.AnyModel, Item: "BUSH-35", Qty: 2, Need: 0.2},
			{Service: "fork-lower", Model: inventory.AnyModel, Item: "OIL-LL20", Qty: 200, Need: 1, Waste: 0.05},
			{Service: "fork-lower", Model: inventory.AnyModel, Item: "WIP-35", Qty: 2, Need: 1},
		},
		Lots: []inventory.Lot{{Item: "BUSH-35", Code: "B", OnHand: 2}, {Item: "OIL-LL20", Code: "O", OnHand: 5000}, {Item: "WIP-35", Code: "W", OnHand: 3}},
		Jobs: []inventory.Job{{Code: "J-1", Model: "Torrent 35", Services: []string{"fork-lower"}, BenchDate: monday + 3, State: inventory.Booked}},
	}
}

func tried(t *testing.T, shop inventory.Shop, in inventory.Date) inventory.Tried {
	t.Helper()
	got, err := inventory.Try(shop, []string{"fork-lower"}, "Torrent 35", shop.AsOf+in)
	if err != nil {
		t.Fatal(err)
	}
	return got
}

func TestTriedJobsAreAsApproved(t *testing.T) {
	shop := frontDesk()
	coming := frontDesk()
	coming.Orders = []inventory.OrderLine{{Item: "WIP-35", Packs: 2, PackQty: 2, DueOn: shop.AsOf + 9}, {Item: "BUSH-35", Packs: 2, PackQty: 2, DueOn: shop.AsOf + 1}}
	free := frontDesk()
	free.Jobs = nil
	hopeless := frontDesk()
	hopeless.Offers, hopeless.Jobs[0].BenchDate = nil, shop.AsOf-2
	text := textOf(t, Try(shop, tried(t, shop, 1)), Try(coming, tried(t, coming, 1)), Try(coming, tried(t, coming, 9)), Try(free, tried(t, free, 1)), Try(hopeless, tried(t, hopeless, 1)))
	golden(t, "try.txt", text)
	fitsTheTerminal(t, text)
	document, err := TryJSON(coming, tried(t, coming, 1))
	if err != nil {
		t.Fatal(err)
	}
	var readable bytes.Buffer
	if err := json.Indent(&readable, document, "", "  "); err != nil {
		t.Fatal(err)
	}
	golden(t, "try.json", readable.String())
}

func TestATriedJobAnswersInWords(t *testing.T) {
	shop := frontDesk()
	rows := []struct {
		rule string
		in   inventory.Date
		want []string
	}{
		{"what cannot be promised, and what to order for it", 1, []string{
			"Short: it cannot be promised for Tue 2 Mar from the shelf and what is on order.",
			"Nor for any working day of the 4 weeks from then on.",
			"It could be Thursday 4 March 2027, if this goes with the next order: 2 ea of Bushing 35 mm from brindle, there on Thu 4 Mar; 1 ea of Dust wiper 35 mm from brindle, there on Thu 4 Mar.",
		}},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			if got := tryNotes(shop, tried(t, shop, r.in)); strings.Join(got, "\n") != strings.Join(r.want, "\n") {
				t.Errorf("found\n%s\nexpected\n%s", strings.Join(got, "\n"), strings.Join(r.want, "\n"))
			}
		})
	}
}

func TestThePlanOfCountsIsAsApproved(t *testing.T) {
	shop := frontDesk()
	shop.Items[2].Bin, shop.Lots[2].UnitCost, shop.Lots[1].UnitCost = "A3", 11_90_0000, 1_8400
	shop.Uses = []inventory.JobUse{{Job: "J-0", Item: "WIP-35", Qty: 2}, {Job: "J-0", Item: "OIL-LL20", Qty: 210}}
	for n := range 5 {
		shop.Jobs = append(shop.Jobs, inventory.Job{Code: "J-0", State: inventory.Done, DoneOn: shop.AsOf - inventory.Date(20*n+1)})
	}
	shop.Counts = []inventory.Count{{Item: "WIP-35", Date: shop.AsOf - 100}, {Item: "OIL-LL20", Date: shop.AsOf - 10}}
	due := inventory.CountPlan(shop)
	none := shop
	none.Items = nil
	text := textOf(t, CountPlan(shop, due, false), CountPlan(shop, due, true), CountPlan(none, nil, false))
	golden(t, "count-plan.txt", text)
	fitsTheTerminal(t, text)
}
