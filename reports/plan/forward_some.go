package plan

import (
	"fmt"
	"math"

	"circlip/forecast/order"
	"circlip/forecast/stock"
	"circlip/inventory"
)

// covers are the weeks of use for which packs are tried on top of an order.
var covers = []float64{1, 2, 4, 8, mostCover}

// some is the packs that pay for themselves if they are ordered now: each costs
// what is paid for it, less what its surplus would cost later at the item's
// usual price, and holding until it is used.
func (l later) some() Forward {
	s := l.order.Supplier
	p := order.Problem{Suppliers: []order.Supplier{{
		Carriage: int64(s.Carriage), FreeFrom: int64(s.CarriageFreeFrom), Free: s.HasFreeCarriage, MinOrder: int64(l.minimum()),
	}}}
	ways := make([][]buy, len(l.items))
	for k, it := range l.items {
		ways[k] = l.moreOf(it)
		var item order.Item
		for _, w := range ways[k] {
			worth, holding := l.surplusOf(it, w)
			item.Options = append(item.Options, order.Option{Goods: w.total, Cost: w.total - int64(worth) + int64(holding)})
		}
		p.Items = append(p.Items, item)
	}
	choice, err := order.Cheapest(p, order.Effort{})
	if err != nil {
		return Forward{} // amounts too large to be reckoned with, or no choice found: nothing to propose
	}
	instead := l.unchanged()
	var worth, holding inventory.Money
	for k, taken := range choice.Taken {
		instead[k] = ways[k][taken]
		w, h := l.surplusOf(l.items[k], instead[k])
		worth, holding = worth+w, holding+h
	}
	carriage := l.order.Carriage - inventory.Money(choice.Carriage[0])
	why := "bought now it costs less than later"
	if carriage > 0 {
		why = fmt.Sprintf("it brings the goods to %s; from %s carriage is free", l.money(inventory.Money(choice.Goods[0])), l.money(s.CarriageFreeFrom))
	}
	return l.proposal(instead, worth, carriage, holding, why)
}

// minimum is the goods below which the order must not fall, as it could where a
// price break makes it cheaper: the supplier's minimum, where it comes to that.
func (l later) minimum() inventory.Money {
	if l.order.Goods < l.order.Supplier.MinOrder {
		return 0
	}
	return l.order.Supplier.MinOrder
}

// moreOf is what is ordered of an item now and what may be instead: for some
// weeks longer, or up to a price break.
func (l later) moreOf(it laterItem) []buy {
	src := l.sources[it.now.item]
	ways := []buy{it.now}
	add := func(c stock.Choice, ok bool) {
		if qty := inventory.Quantity(c.Qty); ok && src.inTime(c.Offer) && qty > it.now.qty && qty <= it.most {
			ways = append(ways, l.asked(it.now.item, it.small, c.Packs))
		}
	}
	for k, o := range src.offers {
		if o.Supplier == l.order.Supplier.Code && o.PackQty == src.offers[it.small].PackQty && o.FromPacks > it.now.packs {
			add(stock.Fewest(src.priced, k, 1))
		}
	}
	for _, weeks := range covers {
		if more := weeks*it.perWeek - it.spare; more > 0 {
			add(stock.Fewest(src.priced, it.small, int(it.now.qty)+int(math.Ceil(more))))
		}
	}
	return ways
}

// surplusOf is what the surplus of a larger order is worth later, at the item's
// usual price, and what it costs to hold until it is used: after what is spare
// already, and evenly.
func (l later) surplusOf(it laterItem, w buy) (worth, holding inventory.Money) {
	qty := w.qty - it.now.qty
	usual := l.rhythms[w.item].offer
	m := l.view.Items[w.item].Measure
	worth = inventory.Value(qty, m, inventory.CostOf(usual.Price, usual.PackQty, m))
	weeks := (it.spare + float64(qty)/2) / it.perWeek
	return worth, l.holding(worth, weeks)
}

// holding is the cost of keeping goods for some weeks.
func (b *buyer) holding(goods inventory.Money, weeks float64) inventory.Money {
	return inventory.Money(math.Round(float64(goods) * b.view.Settings.HoldingRate * weeks / weeksInYear))
}
