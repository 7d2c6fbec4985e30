package plan

import (
	"time"

	"circlip/inventory"
)

// orderDays are the days on which orders go to suppliers, one after the other.
type orderDays struct {
	inventory.Calendar
	asOf inventory.Date
}

func newOrderDays(shop inventory.Shop) orderDays {
	return orderDays{inventory.NewCalendar(shop), shop.AsOf}
}

// place is the day by which the next order to a supplier must go, and that of
// the order after it: one that comes so much later that some working day lies
// between the two deliveries, or nothing would depend on the first.
func (d orderDays) place(s inventory.Supplier, leadDays inventory.Date) (placeBy, next inventory.Date) {
	regular := d.asOf.OnOrAfter(s.OrderWeekday)
	for placeBy = d.OrderDay(s.Code, regular); d.Missed(s, placeBy); placeBy = d.OrderDay(s.Code, regular) {
		regular += week
	}
	comes := d.Delivery(s.Code, placeBy+leadDays)
	for next = placeBy; next <= placeBy || !workdayIn(comes, d.Delivery(s.Code, next+leadDays)); next = d.OrderDay(s.Code, regular) {
		regular += week
	}
	return placeBy, next
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
