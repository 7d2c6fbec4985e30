package inventory

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"
)

// maybe is a quantity that a job takes by chance.
type maybe struct {
	qty  Quantity
	prob float64
}

// suffices is the probability that what is left covers all that may be taken,
// by going through every case.
func suffices(left Quantity, all []maybe) float64 {
	if left < 0 {
		return 0
	}
	if len(all) == 0 {
		return 1
	}
	first, rest := all[0], all[1:]
	return first.prob*suffices(left-first.qty, rest) + (1-first.prob)*suffices(left, rest)
}

// Whoever is promised a part, for certain or in case, finds it with at least the
// shop's readiness as probability, whatever the jobs before take by chance: what
// is there and due by the day covers all that was promised up to and with it.
func TestPromisesBearChance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shop := Shop{
			AsOf: today, Settings: Settings{Readiness: rapid.SampledFrom([]float64{0.5, 0.9, 0.97, 0.999}).Draw(t, "readiness")},
			Items:  []Item{{Code: "ring", Measure: Each, Critical: true}},
			Models: []Model{{Code: "fell", Family: "fork"}},
			Lots:   []Lot{{Item: "ring", OnHand: Quantity(rapid.IntRange(0, 9).Draw(t, "on hand"))}},
		}
		for n := range rapid.IntRange(1, 9).Draw(t, "jobs") {
			service := fmt.Sprint("s", n)
			shop.Services = append(shop.Services, Service{Code: service, Family: "fork"})
			shop.BOM = append(shop.BOM, BOMLine{Service: service, Model: AnyModel, Item: "ring", Qty: Quantity(rapid.IntRange(1, 3).Draw(t, "qty")), Need: rapid.SampledFrom([]float64{0.02, 0.3, 0.5, 0.9, 1, 1}).Draw(t, "need")})
			shop.Jobs = append(shop.Jobs, Job{Code: fmt.Sprint("J", n), Model: "fell", Services: []string{service}, State: Booked, BenchDate: today + Date(rapid.IntRange(0, 9).Draw(t, "bench"))})
		}
		for range rapid.IntRange(0, 3).Draw(t, "orders") {
			shop.Orders = append(shop.Orders, OrderLine{Item: "ring", Packs: rapid.IntRange(1, 4).Draw(t, "packs"), PackQty: 1, DueOn: today + Date(rapid.IntRange(0, 9).Draw(t, "due"))})
		}
		sure, perhaps := Quantity(0), []maybe(nil)
		for _, k := range Kits(shop) {
			l := k.Lines[0]
			there := onHand(shop, "ring")
			for _, o := range shop.Orders {
				if o.DueOn <= k.BenchDate {
					there += o.Outstanding()
				}
			}
			if l.Probability == 1 {
				sure += l.FromFree + l.FromOrder
			} else if l.Short == 0 {
				perhaps = append(perhaps, maybe{l.Need, l.Probability})
			}
			if p := suffices(there-sure, perhaps); l.Short == 0 && p < shop.Settings.Readiness-1e-9 {
				t.Fatalf("%s is promised %+v, and finds it with probability %.6f only", k.Job, l, p)
			}
		}
	})
}
