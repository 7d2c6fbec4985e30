package plan

import (
	"fmt"
	"slices"

	"circlip/inventory"
)

// Stale says what has changed since a sheet was written with a proposal: in
// sentences, none where the sheet is as good as a fresh one. p is the plan of
// the shop as it is now.
func (p Plan) Stale(shop inventory.Shop, sheet inventory.Proposal) []string {
	return slices.Concat(p.pastItsDay(shop, sheet), orderedSince(shop, sheet), p.moved(sheet), repriced(shop, sheet))
}

// pastItsDay: a sheet that was for an order day that is over.
func (p Plan) pastItsDay(shop inventory.Shop, sheet inventory.Proposal) []string {
	at := slices.IndexFunc(shop.Suppliers, func(s inventory.Supplier) bool { return s.Code == sheet.Supplier })
	if at < 0 {
		return nil
	}
	cutoff := shop.Suppliers[at].Cutoff
	switch {
	case p.AsOf > sheet.PlaceBy:
		return []string{fmt.Sprintf("it was to be placed by %s, and today is %s", sheet.PlaceBy, p.AsOf)}
	case p.AsOf == sheet.PlaceBy && cutoff != "" && shop.TimeOfDay > cutoff:
		return []string{fmt.Sprintf("the cut-off was at %s, and now it is %s", cutoff, shop.TimeOfDay)}
	}
	return nil
}

// orderedSince: other orders to the supplier that the sheet knows nothing of.
func orderedSince(shop inventory.Shop, sheet inventory.Proposal) []string {
	orders := ordersTo(shop, sheet.Supplier)
	switch more := len(orders) - sheet.Earlier; {
	case more == 1:
		return []string{fmt.Sprintf("order %s has been placed with %s since", orders[len(orders)-1], sheet.Supplier)}
	case more > 1:
		return []string{fmt.Sprintf("%d orders have been placed with %s since, the last %s", more, sheet.Supplier, orders[len(orders)-1])}
	case more < 0:
		return []string{fmt.Sprintf("it knows of %d orders to %s, and the workshop has %d", sheet.Earlier, sheet.Supplier, len(orders))}
	}
	return nil
}

// ordersTo lists the orders that were placed with a supplier, by day and code.
func ordersTo(shop inventory.Shop, supplier string) []string {
	placed := map[string]inventory.Date{}
	var orders []string
	for _, o := range shop.Orders {
		if _, known := placed[o.Order]; !known && o.Supplier == supplier {
			placed[o.Order] = o.PlacedOn
			orders = append(orders, o.Order)
		}
	}
	slices.SortStableFunc(orders, func(a, b string) int { return int(placed[a] - placed[b]) })
	return orders
}

// moved: positions that are no longer what the proposal rests on.
func (p Plan) moved(sheet inventory.Proposal) []string {
	var changed []string
	for _, l := range sheet.Lines {
		at := slices.IndexFunc(p.Items, func(i Item) bool { return i.Item.Code == l.Item })
		if at < 0 {
			changed = append(changed, fmt.Sprintf("%s is no longer in the book", l.Item))
			continue
		}
		if i := p.Items[at]; i.Position != l.Position {
			m := i.Item.Measure
			changed = append(changed, fmt.Sprintf("%s: %s %s were there or on order, now %s %s", l.Item, m.Format(l.Position), m, m.Format(i.Position), m))
		}
	}
	return changed
}

// repriced: packs or prices that the supplier no longer offers.
func repriced(shop inventory.Shop, sheet inventory.Proposal) []string {
	var changed []string
	for _, l := range sheet.Lines {
		offered := slices.ContainsFunc(shop.Offers, func(o inventory.Offer) bool {
			return o.Item == l.Item && o.Supplier == sheet.Supplier && o.PackQty == l.PackQty && o.Price == l.Price
		})
		if !offered {
			changed = append(changed, fmt.Sprintf("%s: %s no longer offers that pack at %s", l.Item, sheet.Supplier, shop.Settings.Currency.Format(l.Price)))
		}
	}
	return changed
}
