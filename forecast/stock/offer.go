package stock

import (
	"cmp"
	"math"
	"slices"
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
	choices := Choices(offers, qty)
	if len(choices) == 0 {
		return Choice{}, false
	}
	return slices.MinFunc(choices, func(a, b Choice) int { return better(offers, a, b) }), true
}

// Choices are the ways of bringing at least qty steps: of each offer that can be
// used the fewest packs, at the price that holds for so many. None: nothing is
// needed.
func Choices(offers []Offer, qty int) []Choice {
	if qty <= 0 {
		return nil
	}
	var choices []Choice
	for i := range offers {
		if c, ok := Fewest(offers, i, qty); ok {
			choices = append(choices, c)
		}
	}
	return choices
}

// Fewest is the fewest packs of one of the offers that bring at least qty steps.
// False: the offer cannot be used.
func Fewest(offers []Offer, offer, qty int) (Choice, bool) {
	packs, ok := offers[offer].packs(qty)
	if !ok {
		return Choice{}, false
	}
	return Priced(offers, offer, packs), true
}

// Priced is so many packs of an offer, at the highest price break of its supplier
// and pack size that they reach.
func Priced(offers []Offer, offer, packs int) Choice {
	at := priced(offers, offer, packs)
	return Choice{at, packs, packs * offers[offer].PackQty, times(packs, offers[at].Price)}
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
func better(offers []Offer, a, b Choice) int {
	x, y := offers[a.Offer], offers[b.Offer]
	return cmp.Or(
		cmp.Compare(a.Total, b.Total),
		cmp.Compare(x.Arrives, y.Arrives),
		cmp.Compare(x.Supplier, y.Supplier),
		cmp.Compare(a.Qty, b.Qty),
	)
}
