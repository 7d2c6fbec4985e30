package plan

import (
	"slices"

	"circlip/forecast/stock"
	"circlip/inventory"
)

// chosen is what to order and what limits took off it, in packs of the usual
// offers.
type chosen struct {
	wanted []int // reaches the readiness at least cost
	aged   []int // less what would age out
	kept   []int // less what the cabinet does not take
	packs  []int // with what makes up for that, and less what the budget does not pay
	before basket
	basket basket
}

// choose picks the cheapest order that reaches an aim from where the shelf is
// now, and keeps it to the limits: first what ages, then the cabinet, then the
// budget.
func (b *buyer) choose(aim float64, budget *inventory.Money) (chosen, error) {
	from := b.steps(b.position)
	curve := b.joint.Walk(from)
	best := curve.Reach(aim)
	c := chosen{wanted: b.onOffer(slices.Clone(best.Packs))}
	c.aged = b.keepWell(slices.Clone(c.wanted))
	c.kept = slices.Clone(c.aged)
	b.cabinet.keep(c.kept)
	c.packs = c.kept
	if !slices.Equal(c.kept, c.wanted) {
		curve = b.joint.WalkWithin(from, b.cut(c.wanted, c.kept))
		c.packs = b.madeUp(curve.Reach(aim), best.Added, aim, c.kept)
	}
	var err error
	if c.before, err = b.basket(c.packs); err != nil {
		return chosen{}, err
	}
	c.basket = c.before
	if budget != nil && c.before.total > int64(*budget) {
		c.packs, c.basket, err = b.afford(curve, c.packs, int64(*budget))
	}
	return c, err
}

// keepWell takes away packs that would age out.
func (b *buyer) keepWell(packs []int) []int {
	for i, n := range packs {
		if n == 0 {
			continue
		}
		wanted := b.usual(i, n)
		if most, _ := b.keeping.most(i, wanted); most < wanted {
			packs[i] = b.within(i, most)
		}
	}
	return packs
}

// cut is the packs that may be bought where limits took some away: of these no
// more, of others any number.
func (b *buyer) cut(wanted, kept []int) []int {
	most := slices.Repeat([]int{-1}, len(wanted))
	for i := range most {
		if kept[i] < wanted[i] {
			most[i] = kept[i]
		}
	}
	return most
}

// madeUp is an order that reaches the aim in spite of limits, by more of other
// things, where that costs no more than the order without limits would have;
// else what the limits left of that. Nobody would buy the shelf full because
// one oil is short.
func (b *buyer) madeUp(levels stock.Levels, cost int64, aim float64, kept []int) []int {
	if levels.Readiness < aim-1e-9 || levels.Added > cost {
		return kept
	}
	packs := b.onOffer(slices.Clone(levels.Packs))
	held := b.keepWell(slices.Clone(packs))
	b.cabinet.keep(held)
	if !slices.Equal(packs, held) {
		return kept
	}
	return packs
}
