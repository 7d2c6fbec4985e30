package plan

import (
	"slices"

	"circlip/inventory"
)

// worthwhile is the share of an order's goods that bringing forward must save,
// one part in so many.
const worthwhile = 100

// weeksInYear turns the yearly rate of holding into a weekly one.
const weeksInYear = 365.25 / 7

// forward proposes what is worth adding to the orders, at most one proposal for
// each supplier, the better of two: so much of some items that a price break or
// free carriage pays for it, or all that will be ordered in some coming weeks.
// All proposals together keep to the limits.
func (b *buyer) forward(orders []Order, buys []buy, budget *inventory.Money, aim float64) []Forward {
	spent := inventory.Money(0)
	for _, o := range orders {
		spent += o.Total
	}
	room := b.cabinet.room(quantities(buys, len(b.position)))
	var all []Forward
	for _, o := range orders {
		l := b.later(o, buys, room, aim)
		f := l.some()
		if weeks := l.weeks(); weeks.Saving > f.Saving {
			f = weeks
		}
		if f.Saving <= 0 || f.Saving*worthwhile < o.Goods || budget != nil && spent+f.Goods > *budget {
			continue
		}
		all = append(all, f)
		spent += f.Goods
		for _, line := range f.Lines {
			if b.cabinet.flammable[b.view.itemAt[line.Item.Code]] {
				room -= line.Qty
			}
		}
	}
	return all
}

// later is an order, and what else its supplier will be asked for.
type later struct {
	*buyer
	order Order
	items []laterItem
}

// laterItem is an item that is ordered, or will be from this supplier.
type laterItem struct {
	now     buy // no packs: not ordered now
	small   int // the offer for few packs of the same supplier and pack
	perWeek float64
	spare   float64            // what is there and ordered beyond what it must last for
	most    inventory.Quantity // that may be ordered
}

// later looks at the items of an order, and at those that usually come from its
// supplier and are not ordered now. None is to last longer than mostCover weeks
// beyond what is needed, with what is spare already.
func (b *buyer) later(o Order, buys []buy, room inventory.Quantity, aim float64) later {
	l := later{buyer: b, order: o}
	bought := make(map[int]buy, len(buys))
	for _, w := range buys {
		bought[w.item] = w
	}
	for i := range b.view.Items {
		perWeek := b.perWeek(i)
		now, ordered := bought[i]
		if !b.offered[i] || perWeek == 0 {
			continue
		}
		src := b.source(i)
		if !ordered {
			now = buy{item: i, offer: src.usual}
		}
		if src.offers[now.offer].Supplier != o.Supplier.Code {
			continue
		}
		level := inventory.Quantity(b.joint.LevelFor(i, aim)) * b.step[i]
		item := laterItem{now: now, small: src.small(now.offer), perWeek: perWeek, spare: float64(max(0, b.position[i]+now.qty-level))}
		item.most = min(b.surplus(i, now.qty, &room), now.qty+max(0, floor(mostCover*perWeek-item.spare)))
		l.items = append(l.items, item)
	}
	return l
}

// small is the offer for the fewest packs of an offer's supplier and pack size.
func (s *source) small(offer int) int {
	at := offer
	for k, o := range s.offers {
		if o.Supplier == s.offers[offer].Supplier && o.PackQty == s.offers[offer].PackQty && o.FromPacks < s.offers[at].FromPacks {
			at = k
		}
	}
	return at
}

// proposal is what it brings to order other quantities now, whose goods would
// cost so much later on: carriage and holding as given.
func (l later) proposal(instead []buy, worth, carriage, holding inventory.Money, why string) Forward {
	f := Forward{Supplier: l.order.Supplier, Carriage: carriage, Holding: holding, Why: why}
	for k, w := range instead {
		now := l.items[k].now
		if w.packs == now.packs {
			continue
		}
		src := l.sources[w.item]
		o := src.offers[w.offer]
		line := Line{
			Item: l.view.Items[w.item], SupplierCode: o.SupplierCode, Packs: w.packs - now.packs, PackQty: o.PackQty, Qty: w.qty - now.qty,
			Price: o.Price, Total: inventory.Money(w.total - now.total), ExpectedOn: src.rhythms[w.offer].expectedOn,
		}
		f.Lines = append(f.Lines, line)
		f.Goods += line.Total
	}
	f.Saving = carriage + worth - f.Goods - holding
	return f
}

// unchanged is what is ordered now.
func (l later) unchanged() []buy {
	same := make([]buy, len(l.items))
	for k, it := range l.items {
		same[k] = it.now
	}
	return slices.Clip(same)
}
