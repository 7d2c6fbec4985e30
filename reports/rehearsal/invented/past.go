package invented

import (
	"cmp"
	"fmt"
	"slices"

	"circlip/inventory"
)

// takings draws what every job done took, and writes the cards of most of them
// from Start on.
func (m *maker) takings() {
	d := newDice(m.Seed, streamTakings)
	bill := inventory.NewBill(m.Shop)
	lines := map[[2]string][]inventory.BOMLine{} // by service and model; the bill never changes
	for _, j := range m.Shop.Jobs {
		if j.State != inventory.Done {
			continue
		}
		of := [2]string{j.Services[0], j.Model}
		if _, ok := lines[of]; !ok {
			lines[of] = bill.Lines(j.Services, j.Model, j.DoneOn)
		}
		card := d.chance(m.Recorded) && j.DoneOn >= m.Start
		for _, l := range lines[of] {
			qty := m.take(d, l)
			if qty == 0 {
				continue
			}
			m.Taken = append(m.Taken, Taken{j.Code, l.Item, qty})
			if card {
				m.Shop.Uses = append(m.Shop.Uses, inventory.JobUse{Job: j.Code, Item: l.Item, Qty: qty})
			}
		}
	}
}

// take is what one job takes of a line: by its true need; pieces with one more
// for waste, fluids up to a tenth more or less than the bill says.
func (m *maker) take(d dice, l inventory.BOMLine) inventory.Quantity {
	if !d.chance(m.Truth.Need[Line{l.Service, l.Model, l.Item}]) {
		return 0
	}
	measure := m.measure[l.Item]
	low, more := l.Sizes(measure)
	if measure != inventory.Each {
		return inventory.Quantity(float64(low)*d.between(.9, 1.1) + .5)
	}
	if more > 0 && d.chance(more) {
		low++
	}
	return low
}

// orders places a few lines with every supplier on most of its order days. They
// serve to learn lead times from; no shelf was asked.
func (m *maker) orders() {
	d := newDice(m.Seed, streamOrders)
	for _, s := range m.Shop.Suppliers {
		var offers []inventory.Offer
		for _, o := range m.Shop.Offers {
			if o.Supplier == s.Code && o.FromPacks == 1 {
				offers = append(offers, o)
			}
		}
		for day := m.Start.OnOrAfter(s.OrderWeekday); day < asOf; day += 7 {
			if d.chance(.8) {
				m.order(d, s, offers, day)
			}
		}
	}
	slices.SortFunc(m.Shop.Orders, func(a, b inventory.OrderLine) int {
		return cmp.Or(cmp.Compare(a.Order, b.Order), cmp.Compare(a.Item, b.Item))
	})
	slices.SortStableFunc(m.Shop.Receipts, func(a, b inventory.Receipt) int {
		return cmp.Or(cmp.Compare(a.Item, b.Item), cmp.Compare(a.Date, b.Date))
	})
}

// order is up to three lines that come together.
func (m *maker) order(d dice, s inventory.Supplier, offers []inventory.Offer, day inventory.Date) {
	comes := day + inventory.Date(m.Lead(s.Code, day))
	for _, n := range d.Perm(len(offers))[:1+d.IntN(3)] {
		o := inventory.OrderLine{
			Order: fmt.Sprintf("PO-%s-%s", day, s.Code), Item: offers[n].Item, Supplier: s.Code,
			Packs: 1 + d.IntN(2), PackQty: offers[n].PackQty, PlacedOn: day, DueOn: day + inventory.Date(s.LeadDays),
		}
		if comes < asOf {
			o.ReceivedOn, o.ReceivedPacks = comes, o.Packs
			m.Shop.Receipts = append(m.Shop.Receipts, inventory.Receipt{Item: o.Item, Date: comes, Qty: inventory.Quantity(o.Packs) * o.PackQty})
		}
		m.Shop.Orders = append(m.Shop.Orders, o)
	}
}
