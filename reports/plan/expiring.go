package plan

import (
	"cmp"
	"slices"

	"circlip/inventory"
)

// Expiring is a lot that will not be used up before it expires, or has expired.
type Expiring struct {
	Item     inventory.Item
	Lot      inventory.Lot
	Value    inventory.Money    // of what is on hand
	Expected inventory.Quantity // of it that is expected to be used before it expires
	Over     inventory.Quantity // on hand less that
	Jobs     []string           // booked jobs on or before its last day that could use it, by bench date
	Extend   inventory.Date     // first day it would no longer be good after an inspection; zero: it cannot be extended
}

// watchMonths is how far ahead lots are told of that outlive the horizon: so
// far the use of the horizon is taken to go on at its mean rate.
const watchMonths = 12

// expiring lists the lots that have expired or will not be used up by their
// last good day, the first to expire first. Of the lots of an item the first
// expired is used first.
func (v *view) expiring(s *shelf) []Expiring {
	lots := slices.Clone(v.Lots)
	slices.SortStableFunc(lots, inventory.FirstExpiredFirst)
	until := max(v.AsOf.AddMonths(watchMonths), inventory.Date(v.cal.End()))
	used := make([]inventory.Quantity, len(v.Items)) // of the item, from the lots before
	users := inventory.JobsThatUse(v.Shop)
	var all []Expiring
	for _, l := range lots {
		i, known := v.itemAt[l.Item]
		if !known || l.OnHand <= 0 || l.Expires.IsZero() || l.Expires > until {
			continue
		}
		e := Expiring{Item: v.Items[i], Lot: l}
		if l.UsableOn(v.AsOf) {
			e.Expected = max(0, min(l.OnHand, whole(s.usedBy(i, l.Expires-1))-used[i]))
			used[i] += e.Expected
			e.Jobs = v.before(l.Expires, users[l.Item])
		}
		if e.Over = l.OnHand - e.Expected; e.Over > 0 {
			e.Value, e.Extend = v.valueOf(l, e.Item, s.rhythms[i]), v.extended(e.Item, l)
			all = append(all, e)
		}
	}
	slices.SortStableFunc(all, func(a, b Expiring) int {
		return cmp.Or(cmp.Compare(a.Lot.Expires, b.Lot.Expires), cmp.Compare(a.Item.Code, b.Item.Code), cmp.Compare(a.Lot.Code, b.Lot.Code))
	})
	return all
}

// usedBy is the expected use of an item from today to the end of a day, in its
// steps; beyond the horizon at the horizon's mean rate.
func (s *shelf) usedBy(item int, day inventory.Date) float64 {
	end := inventory.Date(s.view.cal.End())
	if day < end {
		return s.use.until(item, day).sum()
	}
	all := s.use.total(item)
	return all + all/float64(end-s.view.AsOf)*float64(day+1-end)
}

// before are the jobs that come before a day.
func (v *view) before(day inventory.Date, jobs []inventory.Job) []string {
	var codes []string
	for _, j := range jobs {
		if max(j.BenchDate, v.AsOf) < day {
			codes = append(codes, j.Code)
		}
	}
	return codes
}

// extended is until when a lot would keep after an inspection; zero where there
// is none, or it would be too old even then.
func (v *view) extended(item inventory.Item, l inventory.Lot) inventory.Date {
	until := inventory.LifeOf(item, inventory.PartsOf(v.Shop, item.Code)).Inspected(l)
	if until <= v.AsOf {
		return 0
	}
	return until
}

// valueOf is what a lot on hand cost; where that is not known, what the offer
// that sets its item's rhythm asks for it.
func (v *view) valueOf(l inventory.Lot, item inventory.Item, r rhythm) inventory.Money {
	cost := l.UnitCost
	if cost == 0 {
		cost = inventory.CostOf(r.offer.Price, r.offer.PackQty, item.Measure)
	}
	return inventory.Value(l.OnHand, item.Measure, cost)
}
