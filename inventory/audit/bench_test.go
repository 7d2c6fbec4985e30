package audit

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"circlip/inventory"
)

// BenchmarkOf is five years of weekly counts of 30 fluids and 20,000 jobs; the
// goal is half a second.
func BenchmarkOf(b *testing.B) {
	shop := bigShop(260, 30, 20_000)
	for b.Loop() {
		if n := len(Of(shop, Fluids).Items); n != 30 {
			b.Fatalf("found %d items, expected 30", n)
		}
	}
}

// bigShop has 8 services on 10 models and 4 people; each service takes 12 of
// the fluids, a tenth too much of the first one in the last year.
func bigShop(weeks, fluids, jobs int) inventory.Shop {
	r := rand.New(rand.NewPCG(1, 1))
	shop := inventory.Shop{AsOf: friday(weeks-1) + 1, Settings: inventory.Settings{ScaleStepG: 1, MarkStepML: 10}}
	taken := make([]float64, fluids) // a job, of all services
	for f := range fluids {
		code := fmt.Sprintf("oil-%02d", f)
		shop.Items = append(shop.Items, inventory.Item{Code: code, Kind: inventory.Oil, Measure: inventory.Millilitre, DensityKgM3: 850})
		shop.Offers = append(shop.Offers, inventory.Offer{Item: code, Supplier: "carrier", PackQty: 10_000, Price: 2_000})
	}
	for m := range 10 {
		shop.Models = append(shop.Models, inventory.Model{Code: fmt.Sprint("model-", m), Family: "fork"})
	}
	for s := range 8 {
		code := fmt.Sprint("service-", s)
		shop.Services = append(shop.Services, inventory.Service{Code: code, Family: "fork"})
		for i := range 12 {
			f := (s*5 + i*7) % fluids
			qty := inventory.Quantity(50 + r.IntN(1500))
			shop.BOM = append(shop.BOM, inventory.BOMLine{Service: code, Model: inventory.AnyModel, Item: shop.Items[f].Code, Qty: qty, Need: 1})
			taken[f] += float64(qty) / 8
		}
	}
	used := bigJobs(&shop, r, weeks, jobs)
	bigCounts(&shop, r, used, taken)
	return shop
}

// bigJobs does the jobs and tells what they took, by week and fluid, in steps.
func bigJobs(shop *inventory.Shop, r *rand.Rand, weeks, jobs int) [][]float64 {
	used := make([][]float64, weeks)
	at := map[string]int{}
	for i, item := range shop.Items {
		at[item.Code] = i
	}
	bill := inventory.NewBill(*shop)
	for n := range jobs {
		week := n * weeks / jobs
		if used[week] == nil {
			used[week] = make([]float64, len(shop.Items))
		}
		j := inventory.Job{Code: fmt.Sprintf("J%05d", n), Model: fmt.Sprint("model-", r.IntN(10)), Services: []string{fmt.Sprint("service-", r.IntN(8))}, State: inventory.Done, DoneOn: monday(week) + inventory.Date(r.IntN(5)), DoneBy: fmt.Sprint("person-", r.IntN(4))}
		shop.Jobs = append(shop.Jobs, j)
		for _, l := range bill.Lines(j.Services, j.Model, j.DoneOn) {
			took := float64(l.Qty) * (1 + .1*r.NormFloat64())
			if week >= weeks-52 && j.Services[0] == "service-0" {
				took *= tenPerCent
			}
			used[week][at[l.Item]] += took
			shop.Uses = append(shop.Uses, inventory.JobUse{Job: j.Code, Item: l.Item, Qty: l.Qty})
		}
	}
	return used
}

// bigCounts weighs every fluid every Friday; what was used is delivered on the
// next Monday in whole litres.
func bigCounts(shop *inventory.Shop, r *rand.Rand, used [][]float64, taken []float64) {
	for f, item := range shop.Items {
		left := 100_000 + 1_000*taken[f]
		shop.Openings = append(shop.Openings, inventory.Count{Item: item.Code, Date: monday(0) - 3, Qty: inventory.Quantity(left)})
		for week := range used {
			if left < 50_000+500*taken[f] {
				shop.Receipts = append(shop.Receipts, inventory.Receipt{Item: item.Code, Date: monday(week), Qty: 50_000})
				left += 50_000
			}
			left -= used[week][f]
			weighed := inventory.Weighing{GrossG: 80 + float64(int(left*.085)), TareG: 80}
			found := inventory.Quantity(left + 5*r.NormFloat64())
			shop.Counts = append(shop.Counts, inventory.Count{Item: item.Code, Date: friday(week), Qty: found})
			shop.CountParts = append(shop.CountParts, inventory.CountPart{Item: item.Code, Date: friday(week), Number: 1, Qty: found, Weighed: &weighed})
		}
	}
}
