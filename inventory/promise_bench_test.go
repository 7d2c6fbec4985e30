package inventory_test

import (
	"fmt"
	"testing"

	"circlip/inventory"
	"circlip/testdata/big"
)

// The kits of 500 open jobs in a workshop of 1,000 items.
func BenchmarkKits(b *testing.B) {
	shop := big.New(big.Goal).Shop
	b.ReportMetric(float64(len(inventory.Kits(shop))), "jobs")
	for b.Loop() {
		inventory.Kits(shop)
	}
}

// The same where all jobs want the same things, most of them only sometimes,
// so that every law spans all jobs.
func BenchmarkKitsAllAlike(b *testing.B) {
	shop := alike(500)
	for b.Loop() {
		inventory.Kits(shop)
	}
}

// One more job, tried for every working day of half a year in vain.
func BenchmarkTry(b *testing.B) {
	shop := big.New(big.Goal).Shop
	shop.Lots, shop.Orders, shop.Offers = nil, nil, nil
	job := shop.Jobs[0]
	for b.Loop() {
		if t, err := inventory.Try(shop, job.Services, job.Model, shop.AsOf); err != nil || !t.First.IsZero() {
			b.Fatal(t, err)
		}
	}
}

// alike is a shop with so many jobs of twenty services that each take thirty
// items with a chance of their own, by one to three pieces, and enough on the
// shelf.
func alike(jobs int) inventory.Shop {
	shop := inventory.Shop{
		AsOf: big.AsOf, Settings: inventory.Settings{Readiness: 0.97},
		Models: []inventory.Model{{Code: "fell", Family: "fork"}},
	}
	for n := range 30 {
		item := fmt.Sprint("part-", n)
		shop.Items = append(shop.Items, inventory.Item{Code: item, Measure: inventory.Each, Critical: true})
		shop.Lots = append(shop.Lots, inventory.Lot{Item: item, OnHand: 100_000_000})
		for s := range 20 {
			shop.BOM = append(shop.BOM, inventory.BOMLine{Service: fmt.Sprint("s", s), Model: inventory.AnyModel, Item: item, Qty: inventory.Quantity(1 + (s+n)%3), Need: 0.1 + 0.02*float64(n)})
		}
	}
	for s := range 20 {
		shop.Services = append(shop.Services, inventory.Service{Code: fmt.Sprint("s", s), Family: "fork"})
	}
	for j := range jobs {
		shop.Jobs = append(shop.Jobs, inventory.Job{Code: fmt.Sprint("J", j), Model: "fell", Services: []string{fmt.Sprint("s", j%20)}, State: inventory.Booked, BenchDate: big.AsOf + inventory.Date(j/20)})
	}
	return shop
}
