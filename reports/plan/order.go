package plan

import (
	"cmp"
	"math"
	"slices"

	"circlip/forecast"
	"circlip/inventory"
)

// orders gathers what is bought by supplier, the first to be placed first.
func (b *buyer) orders(buys []buy) []Order {
	v := b.view
	var all []Order
	for _, w := range buys {
		o, r := b.source(w.item).offers[w.offer], b.source(w.item).rhythms[w.offer]
		at := slices.IndexFunc(all, func(o Order) bool { return o.Supplier.Code == r.supplier.Code })
		if at < 0 {
			all = append(all, Order{Supplier: r.supplier, PlaceBy: r.placeBy, Moved: v.whyMoved(r.supplier, r.placeBy), Earlier: v.placedWith(r.supplier.Code)})
			at = len(all) - 1
		}
		all[at].Lines = append(all[at].Lines, Line{
			Item: v.Items[w.item], SupplierCode: o.SupplierCode, Packs: w.packs, PackQty: o.PackQty,
			Qty: w.qty, Price: o.Price, Total: inventory.Money(w.total), ExpectedOn: r.expectedOn,
		})
	}
	for i := range all {
		all[i].addUp()
	}
	slices.SortStableFunc(all, func(a, b Order) int {
		return cmp.Or(cmp.Compare(a.PlaceBy, b.PlaceBy), cmp.Compare(a.Supplier.Code, b.Supplier.Code))
	})
	return all
}

// placedWith is how many orders were placed with a supplier so far.
func (v *view) placedWith(supplier string) int {
	known := map[string]bool{}
	for _, o := range v.Orders {
		if o.Supplier == supplier {
			known[o.Order] = true
		}
	}
	return len(known)
}

// addUp adds the goods and the carriage of an order.
func (o *Order) addUp() {
	o.Goods = 0
	for _, l := range o.Lines {
		o.Goods += l.Total
	}
	o.Carriage = carriage(o.Supplier, o.Goods)
	o.Total = o.Goods + o.Carriage
}

// carriage of an order of so many goods, some at least.
func carriage(s inventory.Supplier, goods inventory.Money) inventory.Money {
	if s.HasFreeCarriage && goods >= s.CarriageFreeFrom {
		return 0
	}
	return s.Carriage
}

// why divides an order into its reasons, which add up to it exactly: what jobs
// are expected to take, what it takes beyond that to reach the readiness, less
// what is there, and what packs bring beyond any demand, or beyond the need
// where more is cheaper or the supplier asks for it.
func (b *buyer) why(at int, item Item, need inventory.Quantity) []Cause {
	by := b.use.until(at, item.ProtectUntil)
	causes := []Cause{
		{ForBooked, whole(by[forecast.Booked])},
		{ForFleet, whole(by[forecast.Fleet])},
		{ForReturning, whole(by[forecast.Returning])},
		{ForWalkIn, whole(by[forecast.WalkIn])},
	}
	level := item.Position + item.OrderQty
	enough := inventory.Quantity(b.joint.LevelFor(at, asGoodAsAlways)) * b.step[at]
	surplus := max(0, level-max(item.Position, enough), item.OrderQty-need)
	reserve := level - surplus
	for _, c := range causes {
		reserve -= c.Qty
	}
	causes = append(causes, Cause{ForReadiness, reserve}, Cause{OnShelf, item.OnOrder - item.Position}, Cause{Coming, -item.OnOrder}, Cause{WholePacks, surplus})
	return slices.DeleteFunc(causes, func(c Cause) bool { return c.Qty == 0 })
}

func whole(steps float64) inventory.Quantity { return inventory.Quantity(math.Round(steps)) }
