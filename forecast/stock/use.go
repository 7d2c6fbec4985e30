package stock

import "slices"

// portion is one quantity a job may take of an item, all its lines together.
type portion struct {
	qty    int
	prob   float64 // that the job takes so much
	waited float64 // that it does and waits for it: a critical line takes part
}

// use is what one job of a type takes of one item: portions by rising
// quantity, which exclude each other and add up to 1.
type use []portion

// uses are the laws of use of all job types that take an item, by item.
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

type typeUse struct {
	typ int
	use use
}

// nothing: the job never takes any.
func (u use) nothing() bool { return len(u) == 1 && u[0].qty == 0 && u[0].waited == 0 }

// and is the law with one more line, which a job needs or not by itself.
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
// top of it.
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

func (u use) most() int { return u[len(u)-1].qty }

// sameTake compares how much is taken, not what is waited for.
func (u use) sameTake(v use) bool {
	return slices.EqualFunc(u, v, func(a, b portion) bool { return a.qty == b.qty && a.prob == b.prob })
}
