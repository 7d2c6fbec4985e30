package inventory

import (
	"math/big"
	"slices"
)

// Content is one part that lies in a kit.
type Content struct {
	Item    string
	Measure Measure
	Qty     Quantity // in one kit
	Alone   UnitCost // what it costs by itself; 0: not known
}

// Share is what one part of opened kits brings to the shelf, and its part of
// their cost.
type Share struct {
	Item string
	Qty  Quantity
	Cost Money // of Qty
	Unit UnitCost
}

// ShareCost shares the cost of kits that are opened out over their parts: in
// proportion to what each part costs by itself where that is known of all of
// them, else by pieces, for which a fluid or grease counts as one.
//
// The shares are whole minor units and add up to the cost exactly: each part
// gets its proportion rounded down, and the units left over go one by one to
// the parts with the largest remainder, among equals to the earlier one. Below
// 10,000 pieces, ml or g of a part, Value of its quantity at its unit cost is
// its share again, so that opening a kit gains and loses nothing. (What is left
// of a lot of kits may be worth a minor unit more or less than before less the
// cost, since its own value is rounded.) Nothing can be shared out over no
// parts; the cost must not be below zero.
func ShareCost(cost Money, opened Quantity, parts []Content) []Share {
	weights := weigh(parts)
	costs := apportion(cost, weights)
	shares := make([]Share, len(parts))
	for i, p := range parts {
		qty := p.Qty * opened
		shares[i] = Share{Item: p.Item, Qty: qty, Cost: costs[i], Unit: CostOf(costs[i], qty, p.Measure)}
	}
	return shares
}

// weigh is what the parts of one kit weigh against each other, each above zero.
func weigh(parts []Content) []*big.Int {
	known := !slices.ContainsFunc(parts, func(p Content) bool { return p.Alone <= 0 })
	weights := make([]*big.Int, len(parts))
	for i, p := range parts {
		pieces := int64(1)
		if known || p.Measure == Each {
			pieces = max(1, int64(p.Qty))
		}
		weights[i] = big.NewInt(pieces)
		if known {
			cost := big.NewInt(int64(p.Alone) * (Millilitre.Steps() / p.Measure.Steps()))
			weights[i].Mul(weights[i], cost)
		}
	}
	return weights
}

// apportion splits an amount of zero or more into whole units in proportion to
// weights above zero, by the largest remainder.
func apportion(amount Money, weights []*big.Int) []Money {
	total := new(big.Int)
	for _, w := range weights {
		total.Add(total, w)
	}
	shares, remainders := make([]Money, len(weights)), make([]*big.Int, len(weights))
	order := make([]int, len(weights))
	left := amount
	for i, w := range weights {
		share := new(big.Int).Mul(big.NewInt(int64(amount)), w)
		share, remainders[i] = share.QuoRem(share, total, new(big.Int))
		shares[i], order[i] = Money(share.Int64()), i
		left -= shares[i]
	}
	slices.SortStableFunc(order, func(i, j int) int { return remainders[j].Cmp(remainders[i]) })
	for _, i := range order[:min(int(left), len(order))] {
		shares[i]++
	}
	return shares
}

// OfferedAt is what one piece, ml or g of an item costs by itself: the cheapest
// of its offers for the fewest packs that a supplier sells; 0: nobody sells it.
func OfferedAt(offers []Offer, item string, m Measure) UnitCost {
	first := map[string]Offer{}
	for _, o := range offers {
		if was, seen := first[o.Supplier]; o.Item == item && (!seen || o.FromPacks < was.FromPacks) {
			first[o.Supplier] = o
		}
	}
	cheapest := UnitCost(0)
	for _, o := range first {
		if cost := CostOf(o.Price, o.PackQty, m); cheapest == 0 || cost < cheapest {
			cheapest = cost
		}
	}
	return cheapest
}

// Contents lists what a kit holds, in the shop's order, each part with what it
// is offered at.
func Contents(shop Shop, kit string) []Content {
	var parts []Content
	for _, k := range shop.Kits {
		if k.Kit != kit {
			continue
		}
		i := slices.IndexFunc(shop.Items, func(i Item) bool { return i.Code == k.Item })
		if i < 0 {
			continue
		}
		m := shop.Items[i].Measure
		parts = append(parts, Content{Item: k.Item, Measure: m, Qty: k.Qty, Alone: OfferedAt(shop.Offers, k.Item, m)})
	}
	return parts
}

// OpenedUntil is the first day on which a container that was opened on a day may
// no longer be used: the item's opened months later, never after the day expires
// that it had before (zero: none).
func (l Life) OpenedUntil(opened, expires Date) Date {
	if l.OpenedMonths == 0 {
		return expires
	}
	until := opened.AddMonths(l.OpenedMonths)
	if !expires.IsZero() {
		until = min(until, expires)
	}
	return until
}
