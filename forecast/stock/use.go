package stock

import (
	"math"
	"slices"
)

// portion is one quantity a job may take of an item, all its lines together.
type portion struct {
	qty    int
	prob   float64 // that the job takes so much
	waited float64 // that it does and waits for it: a critical line takes part
}

// use is what one job of a type takes of one item: portions by rising
// quantity, which exclude each other and add up to 1.
type use []portion

// uses are the laws of use of all job types that take an item, by item. Types
// are gone through in order, so that a type's lines on an item follow each
// other in its list, however many lines of other items stand between them.
func uses(p Problem) [][]typeUse {
	byItem := make([][]typeUse, len(p.Items))
	for t, typ := range p.Types {
		for l, line := range typ.Lines {
			list := byItem[line.Item]
			if k := len(list) - 1; k >= 0 && list[k].typ == t {
				list[k].use = list[k].use.and(line)
				continue
			}
			if takes := (use{{prob: 1}}).and(typ.Lines[l]); !takes.nothing() {
				byItem[line.Item] = append(list, typeUse{t, takes})
			}
		}
	}
	return byItem
}

// typeUse is how jobs of one type take the item at hand.
type typeUse struct {
	typ int
	use use
}

// nothing: the job never takes any.
func (u use) nothing() bool { return len(u) == 1 && u[0].qty == 0 && u[0].waited == 0 }

// and is the law with one more line, which a job needs or not by itself. A
// quantity is waited for as soon as one critical line has part in it: the job
// takes all of it or is not ready.
func (u use) and(line Line) use {
	at := map[int]int{}
	var sum use
	add := func(p portion) {
		if p.prob <= 0 {
			return
		}
		i, ok := at[p.qty]
		if !ok {
			i = len(sum)
			at[p.qty] = i
			sum = append(sum, portion{qty: p.qty})
		}
		sum[i].prob += p.prob
		sum[i].waited += p.waited
	}
	for _, p := range u {
		skip := 1 - line.Need
		add(portion{p.qty, p.prob * skip, p.waited * skip})
		for _, s := range line.Sizes {
			take := line.Need * s.Prob
			both := portion{p.qty + s.Qty, p.prob * take, p.waited * take}
			if line.Critical && s.Qty > 0 {
				both.waited = both.prob
			}
			add(both)
		}
	}
	slices.SortFunc(sum, func(a, b portion) int { return a.qty - b.qty })
	return sum
}

// critical: some job of the type waits for the item.
func (u use) critical() bool { return u.slack() < 1 }

// slack is the share of jobs that do not wait for the item.
func (u use) slack() float64 {
	waited := 0.0
	for _, p := range u {
		waited += p.waited
	}
	return max(0, 1-waited)
}

// certain is what every job takes at least, and the law of what may come on
// top of it. The split is what keeps oils cheap: where every job takes its
// measure, the counts alone settle the demand, and nothing is convolved.
func (u use) certain() (least int, rest use) {
	least = u[0].qty
	rest = slices.Clone(u)
	for i := range rest {
		rest[i].qty -= least
	}
	return least, rest
}

// sure: there is nothing left to chance.
func (u use) sure() bool { return len(u) == 1 }

// most is the largest quantity.
func (u use) most() int { return u[len(u)-1].qty }

// sameTake compares how much is taken, not what is waited for.
func (u use) sameTake(v use) bool {
	return slices.EqualFunc(u, v, func(a, b portion) bool { return a.qty == b.qty && a.prob == b.prob })
}

const (
	parts = 16  // of a step, in which a steadied quantity is told
	large = 128 // steps in a pack beside which a step is nothing
)

// steadied is, for items measured out in steps that are nothing beside a pack,
// the uses with their wavering between two neighbouring steps replaced by its
// mean, and the parts of a step that those are told in; else the uses as they
// are, and 1. Otherwise every type that takes 62.4 ml of an oil would be a law
// of its own, 62 or 63.
func steadied(takers []typeUse, pack int) ([]typeUse, int) {
	wavers := func(t typeUse) bool { return t.use.wavers() }
	if pack < large || !slices.ContainsFunc(takers, wavers) {
		return takers, 1
	}
	steady := make([]typeUse, len(takers))
	for i, t := range takers {
		steady[i] = typeUse{t.typ, t.use.steady()}
	}
	return steady, parts
}

// wavers: two quantities, above zero, are one step apart.
func (u use) wavers() bool {
	for k := 1; k < len(u); k++ {
		if u[k-1].qty > 0 && u[k].qty == u[k-1].qty+1 {
			return true
		}
	}
	return false
}

// steady tells quantities in parts of a step, each run of neighbours as one.
func (u use) steady() use {
	var sum use
	last := 0 // the quantity before
	for _, p := range u {
		q := p
		q.qty *= parts
		if n := len(sum) - 1; n >= 0 && last > 0 && p.qty == last+1 {
			mean := float64(sum[n].qty)*sum[n].prob + float64(q.qty)*q.prob
			sum[n].prob += q.prob
			sum[n].waited += q.waited
			sum[n].qty = int(math.Round(mean / sum[n].prob))
		} else {
			sum = append(sum, q)
		}
		last = p.qty
	}
	return sum
}
