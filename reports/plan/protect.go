package plan

import (
	"cmp"
	"slices"

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
	nextPlaceBy  inventory.Date   // when the order after this one goes
	lead         learn.Lead       // days from order to delivery, a law where learnt
	comes, next  []inventory.Date // by day of the law: the deliveries of the two orders
	expectedOn   inventory.Date   // as likely before as after
	protectUntil inventory.Date   // the day before the delivery after the next one, as expected
}

// rhythmOf follows the item's cheapest offer a piece at its smallest packs; of
// equal ones the faster. An item that nobody offers is protected for as long
// as the workshop's slowest supplier takes, and cannot be ordered.
func (v *view) rhythmOf(item inventory.Item) (rhythm, bool) {
	o, offered := inventory.UsualOffer(v.offers[item.Code], v.leadDays)
	if !offered {
		return v.slowest(), false
	}
	return v.rhythm(o), true
}

func (v *view) rhythm(o inventory.Offer) rhythm {
	s := v.supplier[o.Supplier]
	quoted := v.leadDays(o)
	lead, learnt := v.lessons.LeadOf(o.Supplier, quoted)
	if !learnt {
		lead = learn.Lead{Days: []int{quoted}, Prob: []float64{1}, Quoted: quoted}
	}
	placeBy, next := v.days.place(s, inventory.Date(lead.Quantile(0.5)))
	return v.days.rhythm(o, s, placeBy, next, lead)
}

// rhythm is that of an order placed on a day and of the one after it.
func (d orderDays) rhythm(o inventory.Offer, s inventory.Supplier, placeBy, nextPlaceBy inventory.Date, lead learn.Lead) rhythm {
	r := rhythm{offer: o, supplier: s, placeBy: placeBy, nextPlaceBy: nextPlaceBy, lead: lead}
	for _, days := range lead.Days {
		r.comes = append(r.comes, d.Delivery(s.Code, placeBy+inventory.Date(days)))
		r.next = append(r.next, d.Delivery(s.Code, nextPlaceBy+inventory.Date(days)))
	}
	expected := inventory.Date(lead.Quantile(0.5))
	r.expectedOn = d.Delivery(s.Code, placeBy+expected)
	r.protectUntil = d.Delivery(s.Code, nextPlaceBy+expected) - 1
	return r
}

// week is the days between two orders to a supplier.
const week = 7

// lasts is the probability that a day lies in the protection time.
func (r rhythm) lasts(day forecast.Day) float64 {
	sum := 0.0
	for i, next := range r.next {
		if inventory.Date(day) < next {
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
	for d := slices.Min(r.comes); d <= r.latest(); d++ {
		if weekend(d) {
			continue
		}
		serves := r.come(r.comes, d) * (1 - r.come(r.next, d))
		all += serves
		if d >= inventory.Date(day) {
			left += serves
		}
	}
	return left / all
}

// come is the probability that one of the two orders has come by a day.
func (r rhythm) come(deliveries []inventory.Date, by inventory.Date) float64 {
	sum := 0.0
	for i, on := range deliveries {
		if on <= by {
			sum += r.lead.Prob[i]
		}
	}
	return min(sum, 1)
}

// latest is the last day that may lie in the protection time.
func (r rhythm) latest() inventory.Date { return slices.Max(r.next) - 1 }

// same reports whether two rhythms protect the same days.
func (r rhythm) same(other rhythm) bool {
	return slices.Equal(r.comes, other.comes) && slices.Equal(r.next, other.next) && slices.Equal(r.lead.Prob, other.lead.Prob)
}

// byEnd orders rhythms by how long they protect.
func byEnd(a, b rhythm) int {
	return cmp.Or(
		cmp.Compare(a.end(), b.end()),
		cmp.Compare(a.placeBy, b.placeBy), slices.Compare(a.comes, b.comes), slices.Compare(a.next, b.next), slices.Compare(a.lead.Prob, b.lead.Prob),
	)
}

// end is the mean day of the next order's delivery.
func (r rhythm) end() float64 {
	end := float64(r.nextPlaceBy) + r.lead.Mean()
	for i, next := range r.next { // what holidays put off
		end += r.lead.Prob[i] * float64(next-r.nextPlaceBy-inventory.Date(r.lead.Days[i]))
	}
	return end
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
	if v.last != nil {
		return *v.last
	}
	last := v.days.rhythm(inventory.Offer{}, inventory.Supplier{}, v.AsOf, v.AsOf+week, learn.Lead{Days: []int{0}, Prob: []float64{1}})
	for _, o := range v.Offers {
		if r := v.rhythm(o); byEnd(last, r) < 0 {
			r.offer, r.supplier = inventory.Offer{}, inventory.Supplier{}
			last = r
		}
	}
	v.last = &last
	return last
}
