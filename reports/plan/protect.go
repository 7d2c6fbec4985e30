package plan

import (
	"cmp"
	"slices"
	"time"

	"circlip/forecast"
	"circlip/forecast/learn"
	"circlip/inventory"
)

// rhythm is when an item's next order goes, when it comes, and until when it
// must last.
type rhythm struct {
	offer        inventory.Offer // the one that sets the rhythm
	supplier     inventory.Supplier
	placeBy      inventory.Date
	lead         learn.Lead     // days from order to delivery, a law where learnt
	expectedOn   inventory.Date // as likely before as after
	protectUntil inventory.Date // the day before the delivery after the next one, as expected
}

// rhythmOf follows the item's cheapest offer a piece at its smallest packs; of
// equal ones the faster. An item that nobody offers is protected for as long
// as the workshop's slowest supplier takes, and cannot be ordered.
func (v *view) rhythmOf(item inventory.Item) (rhythm, bool) {
	offers := slices.Clone(v.offers[item.Code])
	if len(offers) == 0 {
		return v.slowest(), false
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
	quoted := v.leadDays(o)
	lead, learnt := v.lessons.LeadOf(o.Supplier, quoted)
	if !learnt {
		lead = learn.Lead{Days: []int{quoted}, Prob: []float64{1}, Quoted: quoted}
	}
	return rhythmFrom(o, s, v.AsOf.OnOrAfter(s.OrderWeekday), lead)
}

func rhythmFrom(o inventory.Offer, s inventory.Supplier, placeBy inventory.Date, lead learn.Lead) rhythm {
	days := inventory.Date(lead.Quantile(0.5))
	return rhythm{offer: o, supplier: s, placeBy: placeBy, lead: lead, expectedOn: placeBy + days, protectUntil: placeBy + week + days - 1}
}

// week is the days between two orders to a supplier.
const week = 7

// lasts is the probability that a day lies in the protection time.
func (r rhythm) lasts(day forecast.Day) float64 {
	sum := 0.0
	for i, days := range r.lead.Days {
		if inventory.Date(day) < r.placeBy+week+inventory.Date(days) {
			sum += r.lead.Prob[i]
		}
	}
	return min(sum, 1)
}

// sees is the probability that what a job finds on the shelf has already gone
// down by the use of a day: that a job of those whom the order placed now is to
// serve comes on that day or later. They are those of the working days on which
// this order has come and the next one has not, each of which may be late by
// itself.
func (r rhythm) sees(day forecast.Day) float64 {
	all, left := 0.0, 0.0
	for d := r.placeBy + inventory.Date(slices.Min(r.lead.Days)); d <= r.latest(); d++ {
		if d.Weekday() == time.Saturday || d.Weekday() == time.Sunday {
			continue
		}
		serves := r.come(d) * (1 - r.come(d-week))
		all += serves
		if d >= inventory.Date(day) {
			left += serves
		}
	}
	return left / all
}

// come is the probability that the order placed now has come by a day.
func (r rhythm) come(by inventory.Date) float64 {
	sum := 0.0
	for i, days := range r.lead.Days {
		if r.placeBy+inventory.Date(days) <= by {
			sum += r.lead.Prob[i]
		}
	}
	return min(sum, 1)
}

// latest is the last day that may lie in the protection time.
func (r rhythm) latest() inventory.Date {
	return r.placeBy + week + inventory.Date(slices.Max(r.lead.Days)) - 1
}

// same reports whether two rhythms protect the same days.
func (r rhythm) same(other rhythm) bool {
	return r.placeBy == other.placeBy && slices.Equal(r.lead.Days, other.lead.Days) && slices.Equal(r.lead.Prob, other.lead.Prob)
}

// byEnd orders rhythms by how long they protect.
func byEnd(a, b rhythm) int {
	return cmp.Or(
		cmp.Compare(float64(a.placeBy)+a.lead.Mean(), float64(b.placeBy)+b.lead.Mean()),
		cmp.Compare(a.placeBy, b.placeBy), slices.Compare(a.lead.Days, b.lead.Days), slices.Compare(a.lead.Prob, b.lead.Prob),
	)
}

func (v *view) leadDays(o inventory.Offer) int {
	if o.LeadDays != nil {
		return *o.LeadDays
	}
	return v.supplier[o.Supplier].LeadDays
}

// slowest is the rhythm that protects longest; without any offer the week to
// come.
func (v *view) slowest() rhythm {
	last := rhythmFrom(inventory.Offer{}, inventory.Supplier{}, v.AsOf, learn.Lead{Days: []int{0}, Prob: []float64{1}})
	for _, o := range v.Offers {
		if r := v.rhythm(o); byEnd(last, r) < 0 {
			last = rhythmFrom(inventory.Offer{}, inventory.Supplier{}, r.placeBy, r.lead)
		}
	}
	return last
}
