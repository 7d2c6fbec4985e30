package plan

import (
	"time"

	"circlip/inventory"
)

// orderDays knows on which days orders go to suppliers, and on which they are
// delivered.
type orderDays struct {
	asOf      inventory.Date
	timeOfDay string                             // HH:MM; empty: before every cut-off
	holidays  map[string]map[inventory.Date]bool // by supplier; under "" the workshop's
}

func newOrderDays(shop inventory.Shop) orderDays {
	d := orderDays{shop.AsOf, shop.TimeOfDay, map[string]map[inventory.Date]bool{}}
	for _, h := range shop.Holidays {
		if d.holidays[h.Supplier] == nil {
			d.holidays[h.Supplier] = map[inventory.Date]bool{}
		}
		d.holidays[h.Supplier][h.Date] = true
	}
	return d
}

// place is the day by which the next order to a supplier must go, and that of
// the order after it: one that comes so much later that some working day lies
// between the two deliveries, or nothing would depend on the first.
func (d orderDays) place(s inventory.Supplier, leadDays inventory.Date) (placeBy, next inventory.Date) {
	regular := d.asOf.OnOrAfter(s.OrderWeekday)
	for placeBy = d.moved(s.Code, regular); d.missed(s, placeBy); placeBy = d.moved(s.Code, regular) {
		regular += week
	}
	comes := d.delivery(s.Code, placeBy+leadDays)
	for next = placeBy; next <= placeBy || !workdayIn(comes, d.delivery(s.Code, next+leadDays)); next = d.moved(s.Code, regular) {
		regular += week
	}
	return placeBy, next
}

// moved is an order day, or where it is a holiday the last open day before it.
func (d orderDays) moved(supplier string, day inventory.Date) inventory.Date {
	if !d.holiday(supplier, day) {
		return day
	}
	for d.holiday(supplier, day) || weekend(day) {
		day--
	}
	return day
}

// missed: a day is past, or today and past the supplier's cut-off.
func (d orderDays) missed(s inventory.Supplier, day inventory.Date) bool {
	return day < d.asOf || day == d.asOf && s.Cutoff != "" && d.timeOfDay > s.Cutoff
}

// delivery is when something comes that is due on a day: then, or on the first
// day after that is no holiday.
func (d orderDays) delivery(supplier string, day inventory.Date) inventory.Date {
	for d.holiday(supplier, day) {
		day++
	}
	return day
}

// holiday: the supplier or the workshop is closed.
func (d orderDays) holiday(supplier string, day inventory.Date) bool {
	return d.holidays[""][day] || d.holidays[supplier][day]
}

// workdayIn: from one day to the one before another there is a working day.
func workdayIn(from, to inventory.Date) bool {
	for day := from; day < to; day++ {
		if !weekend(day) {
			return true
		}
	}
	return false
}

func weekend(day inventory.Date) bool {
	return day.Weekday() == time.Saturday || day.Weekday() == time.Sunday
}
