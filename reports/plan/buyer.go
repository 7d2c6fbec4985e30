package plan

import (
	"slices"

	"circlip/forecast"
	"circlip/forecast/stock"
	"circlip/inventory"
)

// buyer decides what to order from whom: it knows what is there, what may be
// had where and when, and what must not be ordered beyond.
type buyer struct {
	*shelf
	joint      *stock.Joint
	takings    *forecast.Takings
	held       held
	position   []inventory.Quantity // by item
	sources    []*source            // by item; nil: not asked for yet
	supplierAt map[string]int       // places in the shop's suppliers
	keeping    keeping
	cabinet    cabinet
}

// newBuyer looks at the shelf as it stands.
func (o *Outlook) newBuyer() (*buyer, error) {
	joint, err := o.whole()
	if err != nil {
		return nil, err
	}
	v, s := o.view, o.shelf
	b := &buyer{
		shelf: s, joint: joint, takings: o.takings(), held: v.holdings(s),
		position: make([]inventory.Quantity, len(v.Items)), sources: make([]*source, len(v.Items)),
		supplierAt: number(v.Suppliers, func(s inventory.Supplier) string { return s.Code }),
	}
	for i := range b.position {
		b.position[i] = b.held.position(i)
	}
	b.keeping = b.newKeeping(o.types)
	b.cabinet = b.newCabinet()
	return b, nil
}

// source is where an item may be had: its offers, and when each comes.
type source struct {
	offers  []inventory.Offer
	rhythms []rhythm
	priced  []stock.Offer // the same, in the problem's steps
	usual   int           // the offer that sets the rhythm
}

// source of an item that somebody offers.
func (b *buyer) source(item int) *source {
	if b.sources[item] != nil {
		return b.sources[item]
	}
	s := &source{offers: b.view.offers[b.view.Items[item].Code]}
	for _, o := range s.offers {
		r := b.view.rhythm(o)
		s.rhythms = append(s.rhythms, r)
		s.priced = append(s.priced, stock.Offer{
			Supplier: o.Supplier, FromPacks: o.FromPacks, MinPacks: o.MinPacks, Multiple: o.Multiple,
			PackQty: int(o.PackQty), Price: int64(o.Price), Arrives: int(r.expectedOn),
		})
	}
	s.usual = slices.Index(s.offers, b.rhythms[item].offer)
	b.sources[item] = s
	return s
}

// inTime: an offer comes no later than the usual one, for whose delivery the
// levels are chosen.
func (s *source) inTime(offer int) bool {
	return s.rhythms[offer].expectedOn <= s.rhythms[s.usual].expectedOn
}

// soonest is the first day on which any offer comes.
func (s *source) soonest() inventory.Date {
	return slices.MinFunc(s.rhythms, func(a, b rhythm) int { return int(a.expectedOn - b.expectedOn) }).expectedOn
}

// usual is so many packs of an item's usual offer, in its steps.
func (b *buyer) usual(item, packs int) inventory.Quantity {
	return inventory.Quantity(packs) * b.rhythms[item].offer.PackQty
}

// fewest is the smallest order of an item's usual offer that brings so much.
func (b *buyer) fewest(item int, qty inventory.Quantity) int {
	it := b.problem.Items[item]
	pack := b.rhythms[item].offer.PackQty
	multiple := max(1, it.Multiple)
	packs := max(1, it.Least, int((qty+pack-1)/pack))
	return (packs + multiple - 1) / multiple * multiple
}

// within is the largest order of an item's usual offer that brings no more than
// so much; 0: there is none.
func (b *buyer) within(item int, qty inventory.Quantity) int {
	it := b.problem.Items[item]
	multiple := max(1, it.Multiple)
	packs := int(max(0, qty)/b.rhythms[item].offer.PackQty) / multiple * multiple
	if packs < it.Least {
		return 0
	}
	return packs
}

// perWeek is the expected use of an item in a week of the horizon.
func (b *buyer) perWeek(item int) float64 {
	return b.use.total(item) / float64(len(b.view.cal.Weeks))
}

// ready is the readiness with so much of every item beside its position.
func (b *buyer) ready(ordered []inventory.Quantity) stock.Readiness {
	levels := make([]inventory.Quantity, len(ordered))
	for i := range levels {
		levels[i] = b.position[i] + ordered[i]
	}
	return b.joint.Readiness(b.steps(levels))
}
