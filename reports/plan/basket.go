package plan

import (
	"cmp"
	"errors"
	"fmt"
	"slices"

	"circlip/forecast/order"
	"circlip/forecast/stock"
	"circlip/inventory"
)

// buy is one way of buying an item: so many packs of the offer whose price
// holds for them.
type buy struct {
	item, offer, packs int
	qty                inventory.Quantity
	total              int64 // minor units
}

// basket is what is bought from whom.
type basket struct {
	buys  []buy
	total int64 // goods and carriage, minor units
	short []int // suppliers, by their place in the shop, whose minimum is not met
	apart int64 // by so much a cheaper basket could cost less at most; 0: there is none
}

// mostCover is the weeks of expected use that a surplus may last.
const mostCover = 13

// basket is the cheapest way to buy so many packs of the usual offers or more,
// carriage and minimums of all suppliers considered together.
func (b *buyer) basket(packs []int) (basket, error) {
	p := order.Problem{Suppliers: b.suppliers()}
	var buys [][]buy
	room := b.cabinet.room(b.ordered(packs))
	for i, n := range packs {
		if n == 0 {
			continue
		}
		list := b.buys(i, n, &room)
		buys = append(buys, list)
		p.Items = append(p.Items, order.Item{Options: b.options(list)})
	}
	if len(buys) == 0 {
		return basket{}, nil
	}
	choice, err := cheapest(p)
	if err != nil {
		return basket{}, fmt.Errorf("suppliers: %w", err)
	}
	best := basket{total: choice.Cost, apart: choice.Cost - choice.Bound}
	used := make([]bool, len(p.Suppliers))
	for k, taken := range choice.Taken {
		best.buys = append(best.buys, buys[k][taken])
		used[p.Items[k].Options[taken].Supplier] = true
	}
	for s, sup := range p.Suppliers {
		if used[s] && choice.Goods[s] < sup.MinOrder {
			best.short = append(best.short, s)
		}
	}
	return best, nil
}

// cheapest is the choice that meets the minimums; where none does, all that are
// in reach, and where that cannot be either, the cheapest without them.
func cheapest(p order.Problem) (order.Choice, error) {
	choice, err := order.Cheapest(p, order.Effort{})
	if !errors.Is(err, order.ErrMinimum) {
		return choice, err
	}
	if eased, some := p.Eased(); some {
		if kept, err := order.Cheapest(eased, order.Effort{}); err == nil {
			return kept, nil
		}
	}
	return choice, nil
}

// suppliers are the shop's, with what an order to each costs beside its goods.
func (b *buyer) suppliers() []order.Supplier {
	var list []order.Supplier
	for _, s := range b.view.Suppliers {
		list = append(list, order.Supplier{
			Carriage: int64(s.Carriage), FreeFrom: int64(s.CarriageFreeFrom), Free: s.HasFreeCarriage, MinOrder: int64(s.MinOrder),
		})
	}
	return list
}

// options tells ways of buying to the choice among suppliers.
func (b *buyer) options(buys []buy) []order.Option {
	var list []order.Option
	for _, w := range buys {
		o := b.sources[w.item].priced[w.offer]
		list = append(list, order.Option{
			Supplier: b.supplierAt[o.Supplier], Goods: w.total, Cost: w.total, Days: max(0, o.Arrives-int(b.view.AsOf)),
		})
	}
	return list
}

// buys are the ways to buy so many packs of an item's usual offer or more: of
// every offer in time the fewest packs, and more of suppliers whose minimum or
// free carriage that may help to reach. Room is what the cabinet takes beside
// all that is ordered; what the item may use of it is taken off.
func (b *buyer) buys(item, packs int, room *inventory.Quantity) []buy {
	src := b.source(item)
	need := b.usual(item, packs)
	usual := b.priced(item, src.usual, packs)
	most := b.surplus(item, need, room)
	list := b.fewestOf(item, need)
	for _, target := range []inventory.Quantity{need + floor(4*b.perWeek(item)), most} {
		list = append(list, b.towards(item, target)...)
	}
	for _, w := range b.fewestOf(item, need) {
		list = append(list, b.towards(item, w.qty+1)...)
	}
	list = slices.DeleteFunc(list, func(w buy) bool { return w.qty > most })
	list = append(list, usual)
	for k, w := range list {
		// Nobody pays more for the same packs, if only to reach a minimum.
		if as := b.asked(item, src.small(w.offer), w.packs); as.total < w.total {
			list[k] = as
		}
	}
	slices.SortStableFunc(list, func(x, y buy) int {
		return cmp.Or(
			cmp.Compare(src.priced[x.offer].Arrives, src.priced[y.offer].Arrives),
			cmp.Compare(src.priced[x.offer].Supplier, src.priced[y.offer].Supplier),
			cmp.Compare(x.qty, y.qty), cmp.Compare(x.total, y.total), cmp.Compare(x.offer, y.offer),
		)
	})
	return slices.Compact(list)
}

// fewestOf is, of every offer that comes in time, the fewest packs that bring so
// much.
func (b *buyer) fewestOf(item int, qty inventory.Quantity) []buy {
	src := b.source(item)
	var list []buy
	for _, c := range stock.Choices(src.priced, int(qty)) {
		if src.inTime(c.Offer) {
			list = append(list, buy{item, c.Offer, c.Packs, inventory.Quantity(c.Qty), c.Total})
		}
	}
	return list
}

// towards is the same of those suppliers whose minimum or free carriage it may
// pay to reach.
func (b *buyer) towards(item int, qty inventory.Quantity) []buy {
	return slices.DeleteFunc(b.fewestOf(item, qty), func(w buy) bool {
		s := b.view.supplier[b.sources[item].offers[w.offer].Supplier]
		return s.MinOrder <= 0 && !(s.HasFreeCarriage && s.Carriage > 0)
	})
}

// priced is so many packs of an offer, at the price that holds for them.
func (b *buyer) priced(item, offer, packs int) buy {
	c := stock.Priced(b.source(item).priced, offer, packs)
	return buy{item, c.Offer, c.Packs, inventory.Quantity(c.Qty), c.Total}
}

// surplus is the largest quantity of an item to buy where so much is needed: no
// more than some weeks' use on top, nothing that would age out, and of
// flammable fluids nothing that the cabinet does not take.
func (b *buyer) surplus(item int, need inventory.Quantity, room *inventory.Quantity) inventory.Quantity {
	most, _ := b.keeping.most(item, need+floor(mostCover*b.perWeek(item)))
	if b.cabinet.limited && b.cabinet.flammable[item] {
		most = min(most, need+max(0, *room))
		*room -= max(0, most-need)
	}
	return max(most, need)
}
