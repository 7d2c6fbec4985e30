package plan

import (
	"fmt"
	"math"

	"circlip/forecast/order"
	"circlip/forecast/stock"
	"circlip/inventory"
)

// weeks is the order for several weeks at once, where the carriage it saves is
// more than holding the goods costs: what falls due is foreseen at the
// forecast's mean rate, in whole packs, when what is spare is used up.
func (l later) weeks() Forward {
	s := l.order.Supplier
	due := l.due()
	weeks := make([]order.Week, mostCover)
	for w := range weeks {
		weeks[w] = order.Week{Goods: int64(l.order.Goods), Carriage: int64(s.Carriage)}
		if w > 0 {
			weeks[w].Goods = sumOf(due, w)
		}
	}
	plan := order.Ahead(weeks, order.Terms{
		FreeFrom: int64(s.CarriageFreeFrom), Free: s.HasFreeCarriage, Hold: l.view.Settings.HoldingRate / weeksInYear,
	})
	for cover := plan.Cover[0]; cover > 1; cover-- {
		if f, allowed := l.together(due, weeks[:cover]); allowed {
			return f
		}
	}
	return Forward{}
}

// sumOf is the money of all items due in a week.
func sumOf(due [][mostCover]buy, week int) int64 {
	sum := int64(0)
	for _, item := range due {
		sum += item[week].total
	}
	return sum
}

// due is what will be ordered of each item in the weeks after this one.
func (l later) due() [][mostCover]buy {
	due := make([][mostCover]buy, len(l.items))
	for k, it := range l.items {
		got := it.spare
		for w := 1; w < mostCover; w++ {
			lacks := it.perWeek*float64(w) - got
			if lacks <= 0 {
				continue
			}
			c, ok := stock.Fewest(l.sources[it.now.item].priced, it.small, int(math.Ceil(lacks)))
			if ok {
				due[k][w] = buy{it.now.item, c.Offer, c.Packs, inventory.Quantity(c.Qty), c.Total}
				got += float64(c.Qty)
			}
		}
	}
	return due
}

// together is one order for the first weeks instead of one in each in which
// something is due. False: some item may not be ordered for so long, or
// would come too late, or the order would fall below the supplier's minimum.
func (l later) together(due [][mostCover]buy, weeks []order.Week) (Forward, bool) {
	instead := l.unchanged()
	goods := inventory.Money(0)
	for k, it := range l.items {
		packs := it.now.packs
		for w := range weeks {
			packs += due[k][w].packs
		}
		if packs > it.now.packs {
			// What is ordered now may be of an offer with other rules for packs.
			src := l.sources[it.now.item]
			c, ok := stock.Fewest(src.priced, it.small, packs*src.priced[it.small].PackQty)
			if !ok {
				return Forward{}, false
			}
			instead[k] = l.asked(it.now.item, it.small, c.Packs)
		}
		if instead[k].qty > max(it.most, it.now.qty) || !l.sources[it.now.item].inTime(instead[k].offer) {
			return Forward{}, false
		}
		goods += inventory.Money(instead[k].total)
	}
	if goods < l.minimum() {
		return Forward{}, false
	}
	var worth, saved, holding inventory.Money
	orders := 0
	for w, week := range weeks {
		if week.Goods == 0 {
			continue
		}
		orders++
		saved += carriage(l.order.Supplier, inventory.Money(week.Goods))
		if w > 0 {
			worth += inventory.Money(week.Goods)
			holding += l.holding(inventory.Money(week.Goods), float64(w))
		}
	}
	saved -= carriage(l.order.Supplier, goods)
	why := fmt.Sprintf("one order instead of %d in the next %d weeks", orders, len(weeks))
	return l.proposal(instead, worth, saved, holding, why), true
}
