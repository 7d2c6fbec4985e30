package plan

import (
	"slices"

	"circlip/inventory"
)

// flammableUpToC is the flash point, in °C, up to which a liquid counts as
// flammable: 199.4 °F, the upper end of the widest class of flammable liquids
// of 29 CFR 1910.106(a)(19). The limit of litres is the workshop's own figure;
// keeping to it is no permission to store them.
const flammableUpToC = 93.0

// cabinet is the flammable fluids of a workshop and what may still be ordered of
// them together. Expired ones are still in it.
type cabinet struct {
	*buyer
	limited   bool
	flammable []bool // by item
	limit     inventory.Quantity
	filled    inventory.Quantity // on hand and on order
}

func (b *buyer) newCabinet() cabinet {
	c := cabinet{buyer: b, flammable: make([]bool, len(b.view.Items))}
	if litres := b.view.Settings.FlammableLimitL; litres != nil {
		c.limited = true
		const most = 1e12     // litres: keeps the limit inside 64 bits
		const rounding = 1e-3 // 2.3 l must not become a step less
		c.limit = floor(min(max(0, *litres), most)*1000*float64(inventory.Millilitre.Steps()) + rounding)
	}
	for i, item := range b.view.Items {
		c.flammable[i] = item.Measure == inventory.Millilitre && item.FlashPointC != nil && *item.FlashPointC <= flammableUpToC
		if !c.flammable[i] {
			continue
		}
		for _, l := range b.view.lotsOf[item.Code] {
			c.filled += l.OnHand
		}
		c.filled += b.held.onOrder[i]
	}
	return c
}

// room is what may still be ordered of all flammable fluids beside some.
func (c cabinet) room(ordered []inventory.Quantity) inventory.Quantity {
	room := c.limit - c.filled
	for i, qty := range ordered {
		if c.flammable[i] {
			room -= qty
		}
	}
	return room
}

// keep takes packs of flammable fluids away until they fit in: always those that
// lose the least readiness for a litre, of which those that no job waits for
// lose none; and puts back what fits in after all, the most readiness first.
func (c cabinet) keep(packs []int) {
	if !c.limited {
		return
	}
	wanted := slices.Clone(packs)
	for c.room(c.ordered(packs)) < 0 {
		item, fewer := c.leastLoss(packs)
		if item < 0 {
			return // what is there is too much already
		}
		packs[item] = fewer
	}
	for item, more := c.mostGain(packs, wanted); item >= 0; item, more = c.mostGain(packs, wanted) {
		packs[item] = more
	}
}

// mostGain is the next step up, towards what was wanted, of the flammable fluid
// that gains the most readiness and fits in; -1: none does.
func (c cabinet) mostGain(packs, wanted []int) (item, more int) {
	item = -1
	most := 0.0
	for i, n := range packs {
		if !c.flammable[i] || n >= wanted[i] {
			continue
		}
		next := c.fewest(i, c.usual(i, n)+1)
		packs[i] = next
		ordered := c.ordered(packs)
		packs[i] = n
		if c.room(ordered) < 0 {
			continue
		}
		if ready := c.ready(ordered).Workshop; item < 0 || ready > most {
			item, more, most = i, next, ready
		}
	}
	return item, more
}

// leastLoss is the next step down of the flammable fluid that loses the least
// readiness for a litre; -1: none is ordered.
func (c cabinet) leastLoss(packs []int) (item, fewer int) {
	item = -1
	least, now := 0.0, c.ready(c.ordered(packs)).Workshop
	for i, n := range packs {
		if !c.flammable[i] || n == 0 {
			continue
		}
		less := c.within(i, c.usual(i, n)-1)
		lost := 0.0
		if c.waits[i] {
			packs[i] = less
			lost = max(0, now-c.ready(c.ordered(packs)).Workshop) / float64(c.usual(i, n-less))
			packs[i] = n
		}
		if item < 0 || lost < least {
			item, fewer, least = i, less, lost
		}
	}
	return item, fewer
}

// ordered is packs of the usual offers as quantities.
func (b *buyer) ordered(packs []int) []inventory.Quantity {
	ordered := make([]inventory.Quantity, len(packs))
	for i, n := range packs {
		if n > 0 {
			ordered[i] = b.usual(i, n)
		}
	}
	return ordered
}
