package inventory

import (
	"cmp"
	"slices"
	"time"
)

// Calendar knows on which days the workshop works and its suppliers take orders
// and deliver.
type Calendar struct {
	asOf      Date
	timeOfDay string
	holidays  map[string]map[Date]bool // by supplier; under "" the workshop's
}

// NewCalendar is a shop's as of its day and time of day.
func NewCalendar(shop Shop) Calendar {
	c := Calendar{shop.AsOf, shop.TimeOfDay, map[string]map[Date]bool{}}
	for _, h := range shop.Holidays {
		if c.holidays[h.Supplier] == nil {
			c.holidays[h.Supplier] = map[Date]bool{}
		}
		c.holidays[h.Supplier][h.Date] = true
	}
	return c
}

func (d Date) weekend() bool { return d.Weekday() == time.Saturday || d.Weekday() == time.Sunday }

// works: the workshop is open, Monday to Friday.
func (c Calendar) works(day Date) bool { return !day.weekend() && !c.holidays[""][day] }

// Closed: the supplier or the workshop has a holiday.
func (c Calendar) Closed(supplier string, day Date) bool {
	return c.holidays[""][day] || c.holidays[supplier][day]
}

// OrderDay is an order day, or where it is a holiday the last working day before.
func (c Calendar) OrderDay(supplier string, usual Date) Date {
	day := usual
	for c.Closed(supplier, day) || day < usual && day.weekend() {
		day--
	}
	return day
}

// Missed: a day is past, or today and past the supplier's cut-off.
func (c Calendar) Missed(s Supplier, day Date) bool {
	return day < c.asOf || day == c.asOf && s.Cutoff != "" && c.timeOfDay > s.Cutoff
}

// Delivery is when something comes that is due on a day: then, or on the first
// day after that is no holiday.
func (c Calendar) Delivery(supplier string, day Date) Date {
	for c.Closed(supplier, day) {
		day++
	}
	return day
}

// comes is when something is there that goes with the supplier's next order and
// takes so many days.
func (c Calendar) comes(s Supplier, leadDays int) Date {
	usual := c.asOf.OnOrAfter(s.OrderWeekday)
	for c.Missed(s, c.OrderDay(s.Code, usual)) {
		usual += 7
	}
	return c.Delivery(s.Code, c.OrderDay(s.Code, usual)+Date(leadDays))
}

// market is where items can be had.
type market struct {
	Calendar
	suppliers map[string]Supplier
	offers    map[string][]Offer
	kits      map[string][]string // by item: the kits that hold it
}

func newMarket(shop Shop) market {
	m := market{NewCalendar(shop), map[string]Supplier{}, map[string][]Offer{}, map[string][]string{}}
	for _, s := range shop.Suppliers {
		m.suppliers[s.Code] = s
	}
	for _, o := range shop.Offers {
		m.offers[o.Item] = append(m.offers[o.Item], o)
	}
	for _, k := range shop.Kits {
		m.kits[k.Item] = append(m.kits[k.Item], k.Kit)
	}
	return m
}

// soonest is how an item is had that is ordered now: by its usual offer, or
// where nobody offers it in the kit that comes first.
func (m market) soonest(item string) (Wanted, bool) {
	if w, offered := m.ordered(item); offered {
		return w, true
	}
	var best Wanted
	for _, kit := range m.kits[item] {
		if w, offered := m.ordered(kit); offered && (best.ComesOn.IsZero() || w.ComesOn < best.ComesOn) {
			best = w
			best.Item = item
		}
	}
	return best, !best.ComesOn.IsZero()
}

// ordered is an item by its usual offer.
func (m market) ordered(item string) (Wanted, bool) {
	o, offered := UsualOffer(m.offers[item], m.leadDays)
	return Wanted{Item: item, Supplier: o.Supplier, Offered: item, ComesOn: m.comes(m.suppliers[o.Supplier], m.leadDays(o))}, offered
}

// leadDays are an offer's own, or those of its supplier.
func (m market) leadDays(o Offer) int {
	if o.LeadDays != nil {
		return *o.LeadDays
	}
	return m.suppliers[o.Supplier].LeadDays
}

// UsualOffer is the one of an item's offers that it is bought by where nothing
// else is said: the cheapest a piece, ml or g at the fewest packs that are
// sold, of equal ones the faster.
func UsualOffer(offers []Offer, leadDays func(Offer) int) (Offer, bool) {
	if len(offers) == 0 {
		return Offer{}, false
	}
	return slices.MinFunc(offers, func(a, b Offer) int {
		return cmp.Or(
			cmp.Compare(a.FromPacks, b.FromPacks),
			cmp.Compare(int64(a.Price)*int64(b.PackQty), int64(b.Price)*int64(a.PackQty)),
			cmp.Compare(leadDays(a), leadDays(b)),
			cmp.Compare(a.Supplier, b.Supplier),
		)
	}), true
}
