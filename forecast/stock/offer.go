package stock

import "math"

// Offer is one price of one supplier for packs of an item, from so many packs
// on. Offers of one supplier and pack size with rising FromPacks are price
// breaks: each holds up to where the next begins, and for packs that the next
// one does not sell, or would bring later.
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
// and pack size that holds for them.
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
// highest of its breaks that does.
func priced(offers []Offer, i, packs int) int {
	at := i
	for k, o := range offers {
		if o.FromPacks > offers[at].FromPacks && o.holdsFor(offers[i], packs) {
			at = k
		}
	}
	return at
}

// holdsFor reports whether so many packs of another offer may be had at the price
// of this one: of the same supplier and pack size, by its own rules for packs,
// and no later.
func (o Offer) holdsFor(other Offer, packs int) bool {
	same := o.Supplier == other.Supplier && o.PackQty == other.PackQty
	sells := packs >= max(o.FromPacks, o.MinPacks) && packs%max(1, o.Multiple) == 0
	return same && sells && o.Arrives <= other.Arrives
}
