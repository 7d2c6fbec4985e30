package audit

import (
	"math"
	"reflect"
	"testing"

	"circlip/inventory"
)

func TestASeedIsAWorkshop(t *testing.T) {
	w, quiet := invent(1), story{weeks: 12}
	if !reflect.DeepEqual(w.live(quiet), w.live(quiet)) {
		t.Error("found two pasts of one seed and story, expected one")
	}
	if reflect.DeepEqual(w.live(quiet).Counts, invent(2).live(quiet).Counts) {
		t.Error("seeds 1 and 2: found the same counts, expected others")
	}
	longer := w.live(story{weeks: 20})
	if shorter := w.live(quiet); !reflect.DeepEqual(shorter.Receipts, receiptsUpTo(longer, shorter.AsOf)) {
		t.Error("found other deliveries in the first 12 weeks of 20 than in 12, expected the same")
	}
}

func receiptsUpTo(shop inventory.Shop, on inventory.Date) (kept []inventory.Receipt) {
	for _, r := range shop.Receipts {
		if r.Date <= on {
			kept = append(kept, r)
		}
	}
	return kept
}

func TestInventedSizesAreThoseOfAWorkshop(t *testing.T) {
	for seed := range uint64(40) {
		w := invent(seed)
		services := 0.0
		for _, rate := range w.perWeek {
			services += rate
		}
		inRange(t, seed, "services a week", services, 25, 50)
		inRange(t, seed, "services", float64(len(w.shop.Services)), 5, 7)
		inRange(t, seed, "models", float64(len(w.shop.Models)), 3, 6)
		inRange(t, seed, "fluids", float64(len(w.fluids)), 4, 5)
		for _, l := range w.shop.BOM {
			inRange(t, seed, "what a job takes of "+l.Item, allowed(l), 5, 262.5)
		}
		for _, f := range w.fluids {
			inRange(t, seed, "spread of a job's "+f.Code, f.spread, .06, .12)
			sum := 0.0
			for _, s := range w.shop.Services {
				sum += w.share(s.Code, f.Code)
			}
			inRange(t, seed, "sum of the services' shares of "+f.Code, sum, 1-1e-9, 1+1e-9)
		}
	}
}

// The shelf is kept in g and the bill in ml, so that this holds only if what is
// poured, delivered, weighed and counted belong together.
func TestWhatLeavesAnInventedShelfIsWhatItsBillAllows(t *testing.T) {
	for seed := range uint64(10) {
		shop := invent(seed).live(story{weeks: 104})
		for _, item := range Of(shop, Fluids).Items {
			drawn, standard := 0.0, 0.0
			for _, p := range item.Periods {
				drawn += item.Item.Measure.Number(p.Drawn())
				standard += item.Item.Measure.Number(p.Standard)
			}
			inRange(t, seed, "drawn of what the bill allows of "+item.Item.Code, drawn/standard, .985, 1.015)
		}
	}
}

func inRange(t *testing.T, seed uint64, what string, found, least, most float64) {
	t.Helper()
	if !(found >= least && found <= most) || math.IsNaN(found) {
		t.Errorf("seed %d: found %g %s, expected %g to %g", seed, found, what, least, most)
	}
}
