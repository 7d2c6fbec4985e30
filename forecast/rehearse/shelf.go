package rehearse

import "circlip/forecast"

// Lot is what is left of one delivery. Expires is the first day on which it
// can no longer be used; 0 for what does not age.
type Lot struct {
	Item, Qty int
	Expires   forecast.Day
}

// Order is a line that was ordered. Due is as quoted, Received the day it
// came in, if Arrived.
type Order struct {
	Item, Packs           int
	Placed, Due, Received forecast.Day
	Arrived               bool
}

// Flow is the steps of one item over a whole replay. Always
//
//	Start + Received = Used + Expired + Left - Owed
//
// with Used what jobs needed, Owed what of it was not served by the end.
// Short is the number of critical lines after the warm-up that were not there
// in full.
type Flow struct {
	Start, Received, Used, Expired, Left, Owed int
	OnOrder                                    int // at the end
	Short                                      int
}

// place is the stock of one item. It owes only while nothing is on hand.
type place struct {
	hand, owed, onOrder int
	lots                []Lot // of what ages, first expired first
}

func (p *place) receive(item Item, index, qty int, day forecast.Day) {
	served := min(p.owed, qty)
	p.owed -= served
	p.put(item, index, qty-served, day)
}

func (p *place) put(item Item, index, qty int, day forecast.Day) {
	if qty == 0 {
		return
	}
	p.hand += qty
	if item.Expires > 0 {
		p.lots = append(p.lots, Lot{Item: index, Qty: qty, Expires: day + forecast.Day(item.Expires)})
	}
}

// take removes what is there of qty and owes the rest; it tells whether all
// of it was there.
func (p *place) take(qty int) bool {
	there := min(qty, p.hand)
	p.hand -= there
	p.owed += qty - there
	for left := there; left > 0 && len(p.lots) > 0; {
		used := min(left, p.lots[0].Qty)
		p.lots[0].Qty -= used
		left -= used
		if p.lots[0].Qty == 0 {
			p.lots = p.lots[1:]
		}
	}
	return there == qty
}

// expire writes off what no longer keeps on a day.
func (p *place) expire(day forecast.Day) (steps int) {
	for len(p.lots) > 0 && p.lots[0].Expires <= day {
		steps += p.lots[0].Qty
		p.lots = p.lots[1:]
	}
	p.hand -= steps
	return steps
}
