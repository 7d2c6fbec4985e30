package plan

import (
	"cmp"
	"math"
	"slices"

	"circlip/forecast"
	"circlip/forecast/stock"
	"circlip/inventory"
)

// orders buys what each item lacks where it costs least, and gathers the lines
// by supplier and day.
func (v *view) orders(s *shelf, items []Item) []Order {
	var all []Order
	for i := range items {
		if items[i].OrderQty == 0 {
			continue
		}
		line, r := v.buy(i, &items[i])
		items[i].OrderQty = line.Qty
		items[i].OrderUpTo = items[i].Position + line.Qty
		items[i].Why = v.why(s, i, items[i])
		line.Why = items[i].Why
		at := slices.IndexFunc(all, func(o Order) bool { return o.Supplier.Code == r.supplier.Code && o.PlaceBy == r.placeBy })
		if at < 0 {
			all = append(all, Order{Supplier: r.supplier, PlaceBy: r.placeBy})
			at = len(all) - 1
		}
		all[at].Lines = append(all[at].Lines, line)
	}
	for i := range all {
		v.total(&all[i])
	}
	slices.SortStableFunc(all, func(a, b Order) int {
		return cmp.Or(cmp.Compare(a.PlaceBy, b.PlaceBy), cmp.Compare(a.Supplier.Code, b.Supplier.Code))
	})
	return all
}

// buy finds the cheapest way to at least the quantity wanted: any supplier,
// whole packs, least packs and multiples, price breaks.
func (v *view) buy(at int, item *Item) (Line, rhythm) {
	offers := v.offers[item.Item.Code]
	choices := make([]stock.Offer, len(offers))
	for i, o := range offers {
		choices[i] = stock.Offer{
			Supplier: o.Supplier, FromPacks: o.FromPacks, MinPacks: o.MinPacks, Multiple: o.Multiple,
			PackQty: int(o.PackQty), Price: int64(o.Price), Arrives: int(v.rhythm(o).expectedOn),
		}
	}
	best, _ := stock.Cheapest(choices, int(item.OrderQty))
	o := offers[best.Offer]
	r := v.rhythm(o)
	return Line{
		Item: item.Item, SupplierCode: o.SupplierCode, Packs: best.Packs, PackQty: o.PackQty,
		Qty: inventory.Quantity(best.Qty), Price: o.Price, Total: inventory.Money(best.Total), ExpectedOn: r.expectedOn,
	}, r
}

// total adds the goods and the carriage of an order.
func (v *view) total(o *Order) {
	for _, l := range o.Lines {
		o.Goods += l.Total
	}
	if !o.Supplier.HasFreeCarriage || o.Goods < o.Supplier.CarriageFreeFrom {
		o.Carriage = o.Supplier.Carriage
	}
	o.Total = o.Goods + o.Carriage
	if o.Goods < o.Supplier.MinOrder {
		v.warn("order to %s: goods of %s %s are below its minimum of %s; add what will be needed next, or wait", o.Supplier.Name, v.Settings.Currency.Format(o.Goods), v.Settings.Currency.Code, v.Settings.Currency.Format(o.Supplier.MinOrder))
	}
}

// why divides an order into its reasons, which add up to it exactly: what jobs
// are expected to take, what it takes beyond that to reach the readiness, less
// what is there, and what packs bring beyond any demand.
func (v *view) why(s *shelf, at int, item Item) []Cause {
	by := s.use.until(at, item.ProtectUntil)
	causes := []Cause{
		{ForBooked, whole(by[forecast.Booked])},
		{ForFleet, whole(by[forecast.Fleet])},
		{ForReturning, whole(by[forecast.Returning])},
		{ForWalkIn, whole(by[forecast.WalkIn])},
	}
	level := item.Position + item.OrderQty
	surplus := max(0, level-max(item.Position, s.most[at]))
	reserve := level - surplus
	for _, c := range causes {
		reserve -= c.Qty
	}
	causes = append(causes, Cause{ForReadiness, reserve}, Cause{OnShelf, item.OnOrder - item.Position}, Cause{Coming, -item.OnOrder}, Cause{WholePacks, surplus})
	return slices.DeleteFunc(causes, func(c Cause) bool { return c.Qty == 0 })
}

func whole(steps float64) inventory.Quantity { return inventory.Quantity(math.Round(steps)) }
