package plan

import (
	"cmp"
	"slices"
	"sort"

	"circlip/forecast/stock"
)

// purse is what a budget buys, found by trying baskets at what they really cost,
// carriage included.
type purse struct {
	*buyer
	budget int64 // minor units
	packs  []int // the last order tried that it pays
	basket basket
	err    error
}

// pays reports whether the budget pays for packs, and keeps them if so.
func (p *purse) pays(packs []int) bool {
	packs = p.keepWell(p.onOffer(slices.Clone(packs)))
	p.cabinet.keep(packs)
	filled, err := p.buyer.basket(packs)
	if err != nil {
		p.err = err
	}
	if err != nil || filled.total > p.budget {
		return false
	}
	p.packs, p.basket = packs, filled
	return true
}

// afford is the readiest order found that a budget pays, where it does not pay
// for the one wanted. Jobs come first: what no job waits for is bought with what
// is left.
func (b *buyer) afford(curve *stock.Curve, wanted []int, budget int64) ([]int, basket, error) {
	p := &purse{buyer: b, budget: budget, packs: make([]int, len(wanted))}
	if critical := b.onlyWaited(wanted); p.pays(critical) {
		p.addAside(critical, wanted)
	} else {
		p.ready(curve)
	}
	return p.packs, p.basket, p.err
}

// onlyWaited is the packs of the items that a job waits for.
func (b *buyer) onlyWaited(packs []int) []int {
	some := make([]int, len(packs))
	for i, n := range packs {
		if b.waits[i] {
			some[i] = n
		}
	}
	return some
}

// addAside adds as many as can be paid of the items that no job waits for, the
// cheapest first.
func (p *purse) addAside(critical, wanted []int) {
	var aside []int
	for i, n := range wanted {
		if n > critical[i] {
			aside = append(aside, i)
		}
	}
	price := func(i int) int64 { return p.priced(i, p.source(i).usual, wanted[i]).total }
	slices.SortStableFunc(aside, func(a, b int) int { return cmp.Compare(price(a), price(b)) })
	sort.Search(len(aside), func(n int) bool {
		packs := slices.Clone(critical)
		for _, i := range aside[:n+1] {
			packs[i] = wanted[i]
		}
		return !p.pays(packs)
	})
}

// looks is how many times what lies between two points of the walk is halved.
const looks = 4

// ready is the highest point of the walk that the budget pays, and what it pays
// beyond that point and below the next. More money so never comes to a lower
// point.
func (p *purse) ready(curve *stock.Curve) {
	step := sort.Search(curve.Steps(), func(k int) bool { return p.pays(curve.At(k).Packs) })
	if step == 0 || step == curve.Steps() {
		return
	}
	low, high := curve.At(step).Added, curve.At(step-1).Added
	p.pays(curve.Within(low).Packs)
	for range looks {
		if amount := low + (high-low)/2; p.pays(curve.Within(amount).Packs) {
			low = amount
		} else {
			high = amount
		}
	}
}
