package plan

import (
	"cmp"
	"slices"

	"circlip/inventory"
)

// rhythm is when an item's next order goes, when it comes, and until when it
// must last.
type rhythm struct {
	offer        inventory.Offer // the one that sets the rhythm
	supplier     inventory.Supplier
	placeBy      inventory.Date
	expectedOn   inventory.Date
	protectUntil inventory.Date // the day before the delivery after the next one
}

// rhythmOf follows the item's cheapest offer a piece at its smallest packs; of
// equal ones the faster. An item that nobody offers is protected for as long
// as the workshop's slowest supplier takes, and cannot be ordered.
func (v *view) rhythmOf(item inventory.Item) (rhythm, bool) {
	offers := slices.Clone(v.offers[item.Code])
	if len(offers) == 0 {
		return rhythm{protectUntil: v.slowest()}, false
	}
	slices.SortStableFunc(offers, func(a, b inventory.Offer) int {
		return cmp.Or(
			cmp.Compare(a.FromPacks, b.FromPacks),
			cmp.Compare(int64(a.Price)*int64(b.PackQty), int64(b.Price)*int64(a.PackQty)),
			cmp.Compare(v.leadDays(a), v.leadDays(b)),
			cmp.Compare(a.Supplier, b.Supplier),
		)
	})
	return v.rhythm(offers[0]), true
}

func (v *view) rhythm(o inventory.Offer) rhythm {
	s := v.supplier[o.Supplier]
	r := rhythm{offer: o, supplier: s, placeBy: v.AsOf.OnOrAfter(s.OrderWeekday)}
	lead := inventory.Date(v.leadDays(o))
	r.expectedOn = r.placeBy + lead
	r.protectUntil = r.placeBy + 7 + lead - 1
	return r
}

func (v *view) leadDays(o inventory.Offer) int {
	if o.LeadDays != nil {
		return *o.LeadDays
	}
	return v.supplier[o.Supplier].LeadDays
}

func (v *view) slowest() inventory.Date {
	latest := v.AsOf + 6
	for _, o := range v.Offers {
		latest = max(latest, v.rhythm(o).protectUntil)
	}
	return latest
}
