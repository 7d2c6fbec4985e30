package big

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"circlip/inventory"
)

// need is what a done job takes of one item.
type need struct {
	job string
	on  inventory.Date
	qty inventory.Quantity
}

// shelve plays every item's shelf from the opening count to today: what jobs
// took, first in first out, what was ordered, and counts of the fluids.
func (m *maker) shelve() {
	needs := m.needs()
	for _, it := range m.Shop.Items {
		s := &shelf{maker: m, item: it}
		for _, o := range m.Shop.Offers {
			if o.Item == it.Code && (len(s.breaks) == 0 || o.Supplier == s.breaks[0].Supplier) {
				s.breaks = append(s.breaks, o)
			}
		}
		if len(s.breaks) > 0 {
			s.offer = &s.breaks[0]
		}
		s.play(needs[it.Code])
	}
	slices.SortFunc(m.Shop.Uses, func(a, b inventory.JobUse) int {
		return cmp.Or(cmp.Compare(a.Job, b.Job), cmp.Compare(a.Item, b.Item), cmp.Compare(a.Lot, b.Lot))
	})
	slices.SortFunc(m.Shop.Orders, func(a, b inventory.OrderLine) int {
		return cmp.Or(cmp.Compare(a.Order, b.Order), cmp.Compare(a.Item, b.Item))
	})
}

// needs draws what every done job takes, by item and in the order of days.
func (m *maker) needs() map[string][]need {
	all := map[string][]need{}
	for _, j := range m.Shop.Jobs {
		if j.State != inventory.Done {
			continue
		}
		taken := map[string]inventory.Quantity{}
		for _, l := range m.bill.Lines(j.Services, j.Model, j.DoneOn) {
			if m.rnd.Float64() >= l.Need {
				continue
			}
			low, more := l.Sizes(m.item[l.Item].Measure)
			if m.rnd.Float64() < more {
				low++
			}
			taken[l.Item] += low
		}
		for item, qty := range taken {
			all[item] = append(all[item], need{j.Code, j.DoneOn, qty})
		}
	}
	return all
}

// shelf is one item's.
type shelf struct {
	*maker
	item   inventory.Item
	offer  *inventory.Offer  // the first supplier's, for few packs; nil: nobody's
	breaks []inventory.Offer // that supplier's, by rising packs
	lots   []inventory.Lot
	coming []inventory.OrderLine
	used   [78]inventory.Quantity // by week
}

func (s *shelf) play(needs []need) {
	var all inventory.Quantity
	for _, n := range needs {
		all += n.qty
	}
	start := inventory.Lot{Item: s.item.Code, Code: "opening", Received: opened, OnHand: all/10 + 2, UnitCost: s.cost(1)}
	start.Expires = inventory.LifeOf(s.item, nil).Expires(0, inventory.Cure{}, opened)
	s.lots = append(s.lots, start)
	s.Opening = append(s.Opening, start)
	s.Shop.Openings = append(s.Shop.Openings, inventory.Count{Item: s.item.Code, Date: opened, Qty: start.OnHand})
	for d := opened + 1; d < AsOf; d++ {
		s.receive(d)
		for len(needs) > 0 && needs[0].on <= d {
			s.take(needs[0])
			needs = needs[1:]
		}
		if s.item.Measure != inventory.Each && (d-opened)%28 == 0 {
			s.Shop.Counts = append(s.Shop.Counts, inventory.Count{Item: s.item.Code, Date: d, Qty: s.onHand()})
		}
		if d.Weekday() == time.Monday && s.offer != nil {
			s.reorder(d)
		}
	}
	for _, l := range s.lots {
		if l.OnHand > 0 {
			s.Shop.Lots = append(s.Shop.Lots, l)
		}
	}
	s.Shop.Orders = append(s.Shop.Orders, s.coming...)
}

// priced is the offer that an order of so many packs is charged by; the zero
// offer where there is none.
func (s *shelf) priced(packs int) (reached inventory.Offer) {
	for _, o := range s.breaks {
		if o.FromPacks <= packs {
			reached = o
		}
	}
	return reached
}

// cost is what one piece, ml or g costs in such an order.
func (s *shelf) cost(packs int) inventory.UnitCost {
	if o := s.priced(packs); o.PackQty > 0 {
		return inventory.CostOf(o.Price, o.PackQty, s.item.Measure)
	}
	return 0
}

func (s *shelf) onHand() (sum inventory.Quantity) {
	for _, l := range s.lots {
		sum += l.OnHand
	}
	return sum
}

// receive takes in what is due, as a lot named for its order.
func (s *shelf) receive(d inventory.Date) {
	for i, o := range s.coming {
		if o.DueOn != d {
			continue
		}
		o.ReceivedOn, o.ReceivedPacks = d, o.Packs
		qty := inventory.Quantity(o.Packs) * o.PackQty
		s.lots = append(s.lots, inventory.Lot{
			Item: s.item.Code, Code: o.Order, Received: d, OnHand: qty, UnitCost: s.cost(o.Packs),
			Expires: inventory.LifeOf(s.item, nil).Expires(0, inventory.Cure{}, d),
		})
		s.Shop.Receipts = append(s.Shop.Receipts, inventory.Receipt{Item: s.item.Code, Date: d, Qty: qty})
		s.coming[i] = o
	}
}

// take writes the job card as far as there is any.
func (s *shelf) take(n need) {
	s.used[(n.on-opened)/7] += n.qty
	for i := range s.lots {
		if q := min(n.qty, s.lots[i].OnHand); q > 0 {
			s.lots[i].OnHand -= q
			n.qty -= q
			s.Shop.Uses = append(s.Shop.Uses, inventory.JobUse{Job: n.job, Item: s.item.Code, Lot: s.lots[i].Code, Qty: q})
		}
	}
}

// reorder keeps about four weeks of use: a rule of thumb. A busy Monday passes
// an item over now and then.
func (s *shelf) reorder(d inventory.Date) {
	week := int(d-opened) / 7
	want, position := inventory.Quantity(1), s.onHand()
	for w := max(0, week-8); w < week; w++ {
		want += s.used[w] / 2
	}
	for _, o := range s.coming {
		position += o.Outstanding()
	}
	if position >= want || s.rnd.Float64() < .3 {
		return
	}
	lead := 0
	for _, x := range s.Shop.Suppliers {
		if x.Code == s.offer.Supplier {
			lead = x.LeadDays
		}
	}
	if s.offer.LeadDays != nil {
		lead = *s.offer.LeadDays
	}
	packs := int((want - position + s.offer.PackQty - 1) / s.offer.PackQty)
	s.coming = append(s.coming, inventory.OrderLine{
		Order: fmt.Sprintf("PO%s-%s", d, s.offer.Supplier), Item: s.item.Code, Supplier: s.offer.Supplier,
		Packs: packs, PackQty: s.offer.PackQty, Price: s.priced(packs).Price, PlacedOn: d, DueOn: d + inventory.Date(lead),
	})
}
