package stock_test

import (
	"cmp"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"circlip/forecast/stock"
)

// cheapest is the choice of least total; of equals the one that arrives first,
// then the supplier first by code, then the fewest steps.
func cheapest(offers []stock.Offer, qty int) (stock.Choice, bool) {
	choices := stock.Choices(offers, qty)
	if len(choices) == 0 {
		return stock.Choice{}, false
	}
	return slices.MinFunc(choices, func(a, b stock.Choice) int {
		x, y := offers[a.Offer], offers[b.Offer]
		return cmp.Or(cmp.Compare(a.Total, b.Total), cmp.Compare(x.Arrives, y.Arrives), cmp.Compare(x.Supplier, y.Supplier), cmp.Compare(a.Qty, b.Qty))
	}), true
}

func TestTheCheapestChoice(t *testing.T) {
	single := stock.Offer{Supplier: "north", PackQty: 1, Price: 300, Arrives: 5}
	box := stock.Offer{Supplier: "north", PackQty: 10, Price: 2500, Arrives: 5}
	breaks := []stock.Offer{
		{Supplier: "south", FromPacks: 1, PackQty: 1, Price: 1000, Arrives: 3},
		{Supplier: "south", FromPacks: 10, PackQty: 1, Price: 850, Arrives: 3},
		{Supplier: "south", FromPacks: 50, PackQty: 1, Price: 700, Arrives: 3},
	}
	with := func(o stock.Offer, change func(*stock.Offer)) stock.Offer {
		change(&o)
		return o
	}
	for name, tt := range map[string]struct {
		offers []stock.Offer
		qty    int
		want   stock.Choice
		ok     bool
	}{
		"nothing needed, nothing bought":             {[]stock.Offer{single}, 0, stock.Choice{}, false},
		"less than nothing needed":                   {[]stock.Offer{single}, -3, stock.Choice{}, false},
		"no offer":                                   {nil, 3, stock.Choice{}, false},
		"an offer without a pack cannot be used":     {[]stock.Offer{{Supplier: "north", Price: 1}}, 3, stock.Choice{}, false},
		"as many as needed":                          {[]stock.Offer{single}, 3, stock.Choice{Offer: 0, Packs: 3, Qty: 3, Total: 900}, true},
		"whole packs, rounded up":                    {[]stock.Offer{box}, 11, stock.Choice{Offer: 0, Packs: 2, Qty: 20, Total: 5000}, true},
		"exactly full packs are not rounded":         {[]stock.Offer{box}, 20, stock.Choice{Offer: 0, Packs: 2, Qty: 20, Total: 5000}, true},
		"the least of an order":                      {[]stock.Offer{with(single, func(o *stock.Offer) { o.MinPacks = 6 })}, 2, stock.Choice{Offer: 0, Packs: 6, Qty: 6, Total: 1800}, true},
		"multiples, rounded up":                      {[]stock.Offer{with(single, func(o *stock.Offer) { o.Multiple = 4 })}, 5, stock.Choice{Offer: 0, Packs: 8, Qty: 8, Total: 2400}, true},
		"the least rounded up to a multiple":         {[]stock.Offer{with(single, func(o *stock.Offer) { o.MinPacks, o.Multiple = 6, 4 })}, 1, stock.Choice{Offer: 0, Packs: 8, Qty: 8, Total: 2400}, true},
		"eight singles are cheaper than a box":       {[]stock.Offer{single, box}, 8, stock.Choice{Offer: 0, Packs: 8, Qty: 8, Total: 2400}, true},
		"nine singles are dearer than a box":         {[]stock.Offer{single, box}, 9, stock.Choice{Offer: 1, Packs: 1, Qty: 10, Total: 2500}, true},
		"below the break the first price":            {breaks, 8, stock.Choice{Offer: 0, Packs: 8, Qty: 8, Total: 8000}, true},
		"a break is taken early where it is cheaper": {breaks, 9, stock.Choice{Offer: 1, Packs: 10, Qty: 10, Total: 8500}, true},
		"from the break its price":                   {breaks, 12, stock.Choice{Offer: 1, Packs: 12, Qty: 12, Total: 10200}, true},
		"and the next one early":                     {breaks, 45, stock.Choice{Offer: 2, Packs: 50, Qty: 50, Total: 35000}, true},
		"breaks in any order":                        {[]stock.Offer{breaks[2], breaks[0], breaks[1]}, 12, stock.Choice{Offer: 2, Packs: 12, Qty: 12, Total: 10200}, true},
		"a price that rises with a break holds":      {[]stock.Offer{breaks[1], with(breaks[0], func(o *stock.Offer) { o.FromPacks = 20 })}, 25, stock.Choice{Offer: 1, Packs: 25, Qty: 25, Total: 25000}, true},
		"a break holds only for its own multiples":   {[]stock.Offer{breaks[0], with(breaks[1], func(o *stock.Offer) { o.Multiple = 10 })}, 11, stock.Choice{Offer: 0, Packs: 11, Qty: 11, Total: 11000}, true},
		"and only from its own least on":             {[]stock.Offer{breaks[0], with(breaks[1], func(o *stock.Offer) { o.MinPacks = 15 })}, 11, stock.Choice{Offer: 0, Packs: 11, Qty: 11, Total: 11000}, true},
		"another supplier's break is not ours":       {[]stock.Offer{breaks[0], with(breaks[1], func(o *stock.Offer) { o.Supplier, o.Price = "west", 1200 })}, 12, stock.Choice{Offer: 0, Packs: 12, Qty: 12, Total: 12000}, true},
		"of equal totals the earlier arrival":        {[]stock.Offer{single, with(single, func(o *stock.Offer) { o.Supplier, o.Arrives = "west", 4 })}, 2, stock.Choice{Offer: 1, Packs: 2, Qty: 2, Total: 600}, true},
		"then the supplier first by code":            {[]stock.Offer{with(single, func(o *stock.Offer) { o.Supplier = "west" }), single}, 2, stock.Choice{Offer: 1, Packs: 2, Qty: 2, Total: 600}, true},
		"then the smaller quantity":                  {[]stock.Offer{with(single, func(o *stock.Offer) { o.PackQty, o.Price = 3, 600 }), single}, 2, stock.Choice{Offer: 1, Packs: 2, Qty: 2, Total: 600}, true},
		"given away for nothing":                     {[]stock.Offer{with(single, func(o *stock.Offer) { o.Price = 0 })}, 2, stock.Choice{Offer: 0, Packs: 2, Qty: 2, Total: 0}, true},
		"a total beyond 64 bits is the largest":      {[]stock.Offer{with(single, func(o *stock.Offer) { o.Price = 1_000_000_000_000 })}, 1_000_000_000, stock.Choice{Offer: 0, Packs: 1_000_000_000, Qty: 1_000_000_000, Total: math.MaxInt64}, true},
	} {
		t.Run(name, func(t *testing.T) {
			got, ok := cheapest(tt.offers, tt.qty)
			if got != tt.want || ok != tt.ok {
				t.Errorf("got %+v %v, want %+v %v", got, ok, tt.want, tt.ok)
			}
		})
	}
}

// Each offer that can be used is a choice of its own, at the break that its
// packs reach.
func TestChoicesAreOneOfEachOffer(t *testing.T) {
	offers := []stock.Offer{
		{Supplier: "north", PackQty: 4, Price: 100},
		{Supplier: "north", FromPacks: 5, PackQty: 4, Price: 80},
		{Supplier: "south", MinPacks: 2, Multiple: 3, PackQty: 10, Price: 200},
		{Supplier: "south", PackQty: 0, Price: 1}, // no pack
	}
	for _, c := range []struct {
		rule string
		qty  int
		want []stock.Choice
	}{
		{"nothing is needed", 0, nil},
		{"a few", 7, []stock.Choice{{0, 2, 8, 200}, {1, 5, 20, 400}, {2, 3, 30, 600}}},
		{"so many that the break is reached by any offer", 19, []stock.Choice{{1, 5, 20, 400}, {1, 5, 20, 400}, {2, 3, 30, 600}}},
	} {
		t.Run(c.rule, func(t *testing.T) {
			if got := stock.Choices(offers, c.qty); !slices.Equal(got, c.want) {
				t.Errorf("found %v, expected %v", got, c.want)
			}
		})
	}
	later := slices.Clone(offers[:2])
	later[1].Arrives = 1
	if got, want := stock.Priced(later, 0, 6), (stock.Choice{Offer: 0, Packs: 6, Qty: 24, Total: 600}); got != want {
		t.Errorf("six packs that must not wait for a break that comes later: found %v, expected %v", got, want)
	}
	if _, ok := stock.Fewest(offers, 3, 1); ok {
		t.Error("an offer without a pack can be used")
	}
	if got, want := stock.Priced(offers, 0, 6), (stock.Choice{Offer: 1, Packs: 6, Qty: 24, Total: 480}); got != want {
		t.Errorf("six packs: found %v, expected %v", got, want)
	}
}

// Where breaks are cheaper than what they break, no number of packs that may be
// ordered and brings enough costs less.
func TestNoNumberOfPacksIsCheaper(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		small := rapid.IntRange(0, 12)
		var offers []stock.Offer
		for range rapid.IntRange(1, 5).Draw(t, "offers") {
			offers = append(offers, stock.Offer{
				Supplier:  rapid.SampledFrom([]string{"north", "south"}).Draw(t, "supplier"),
				FromPacks: small.Draw(t, "from"), MinPacks: small.Draw(t, "least"), Multiple: small.Draw(t, "multiple"),
				PackQty: rapid.IntRange(1, 3).Draw(t, "pack"), Arrives: small.Draw(t, "arrives"),
			})
		}
		dearest := map[string]int64{"north": int64(small.Draw(t, "price north")), "south": int64(small.Draw(t, "price south"))}
		for i, o := range offers {
			offers[i].Price = dearest[o.Supplier] * int64(o.PackQty*(20-o.FromPacks))
		}
		qty := rapid.IntRange(1, 40).Draw(t, "qty")
		got, ok := cheapest(offers, qty)
		if !ok {
			t.Fatalf("no choice for %d of %+v", qty, offers)
		}
		o := offers[got.Offer]
		if got.Qty < qty || got.Qty != got.Packs*o.PackQty || got.Total != int64(got.Packs)*o.Price {
			t.Errorf("%+v for %d", got, qty)
		}
		for _, o := range offers {
			for packs := range 200 {
				allowed := packs >= max(1, o.MinPacks, o.FromPacks) && packs%max(1, o.Multiple) == 0 && packs*o.PackQty >= qty
				if allowed && int64(packs)*o.Price < got.Total && !brokenBy(offers, o, packs) {
					t.Errorf("%+v costs %d, and %d packs of %+v would cost %d", got, got.Total, packs, o, int64(packs)*o.Price)
				}
			}
		}
	})
}

// brokenBy: for so many packs a later break holds instead of an offer.
func brokenBy(offers []stock.Offer, o stock.Offer, packs int) bool {
	return slices.ContainsFunc(offers, func(by stock.Offer) bool {
		return by.Supplier == o.Supplier && by.PackQty == o.PackQty && by.FromPacks > o.FromPacks &&
			packs >= max(by.FromPacks, by.MinPacks) && packs%max(1, by.Multiple) == 0 && by.Arrives <= o.Arrives
	})
}
