package stock

import (
	"cmp"
	"math"
)

// Offer is one price of one supplier for packs of an item, from so many packs
// on. Offers of one supplier and pack size with rising FromPacks are price
// breaks: each holds up to where the next begins.
type Offer struct {
	Supplier  string
	FromPacks int   // 0: 1
	MinPacks  int   // fewest packs of an order; 0: 1
	Multiple  int   // packs come in multiples of; 0: 1
	PackQty   int   // steps in a pack
	Price     int64 // minor units a pack
	Arrives   int   // day of arrival, on any scale; the earlier the better
}

// Choice is an offer and how many packs of it.
type Choice struct {
	Offer int   // index of the offer whose price holds
	Packs int   // whole ones, not fewer than the minimum, in multiples
	Qty   int   // steps
	Total int64 // minor units
}

// Cheapest is the choice that brings at least qty steps for the least total
// price; of equals the one that arrives first, then the supplier first by
// code, then the fewest steps. More packs than needed are taken where a price
// break makes that cheaper. False: nothing is needed (qty is not above zero),
// or no offer can be used.
func Cheapest(offers []Offer, qty int) (Choice, bool) {
	var best Choice
	found := false
	if qty <= 0 {
		return best, false
	}
	for i, o := range offers {
		packs, ok := o.packs(qty)
		if !ok {
			continue
		}
		at := priced(offers, i, packs)
		c := Choice{at, packs, packs * o.PackQty, times(packs, offers[at].Price)}
		if !found || better(offers, c, best) {
			best, found = c, true
		}
	}
	return best, found
}

// packs is the fewest that bring so many steps and that the offer allows.
func (o Offer) packs(qty int) (int, bool) {
	if o.PackQty < 1 || o.PackQty > maxSize || o.Price < 0 || o.Price > maxCost ||
		o.Multiple > maxPacks || o.MinPacks > maxPacks || o.FromPacks > maxPacks || qty > math.MaxInt/4 {
		return 0, false
	}
	needed := (qty + o.PackQty - 1) / o.PackQty
	return roundUp(max(1, needed, o.MinPacks, o.FromPacks), max(1, o.Multiple)), true
}

// priced is the offer whose price holds for so many packs of offer i: the
// highest break of its supplier and pack size that they reach.
func priced(offers []Offer, i, packs int) int {
	at := i
	for k, o := range offers {
		same := o.Supplier == offers[i].Supplier && o.PackQty == offers[i].PackQty
		if same && o.FromPacks <= packs && o.FromPacks > offers[at].FromPacks {
			at = k
		}
	}
	return at
}

// better ranks choices as Cheapest says.
func better(offers []Offer, a, b Choice) bool {
	x, y := offers[a.Offer], offers[b.Offer]
	return cmp.Or(
		cmp.Compare(a.Total, b.Total),
		cmp.Compare(x.Arrives, y.Arrives),
		cmp.Compare(x.Supplier, y.Supplier),
		cmp.Compare(a.Qty, b.Qty),
	) < 0
}
