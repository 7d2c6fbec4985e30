package order

import (
	"cmp"
	"slices"
)

// draft is a choice that is being changed: by item the offer taken, by
// supplier the goods and how many items.
type draft struct {
	*table
	taken []int
	goods []int64
	lines []int
	cost  int64 // of the offers alone
}

func (t *table) draft(taken []int) *draft {
	n := len(t.suppliers)
	d := &draft{table: t, taken: slices.Clone(taken), goods: make([]int64, n), lines: make([]int, n)}
	for _, o := range taken {
		d.count(o, 1)
	}
	return d
}

func (d *draft) count(o, sign int) {
	of := &d.offers[o]
	d.goods[of.supplier] += int64(sign) * of.goods
	d.lines[of.supplier] += sign
	d.cost += int64(sign) * of.cost
}

// take takes offer o of item i instead of what is taken.
func (d *draft) take(i, o int) {
	d.count(d.taken[i], -1)
	d.taken[i] = o
	d.count(o, 1)
}

// bill is the carriage of a supplier and what its order lacks to the minimum.
func (d *draft) bill(s int) (carriage, lack int64) {
	if d.lines[s] == 0 {
		return 0, 0
	}
	sup := &d.suppliers[s]
	if !sup.Free || d.goods[s] < sup.FreeFrom {
		carriage = sup.Carriage
	}
	return carriage, max(0, sup.MinOrder-d.goods[s])
}

// total is what the choice costs with carriage, and what its orders lack to
// their minimums.
func (d *draft) total() (cost, lack int64) {
	cost = d.cost
	for s := range d.suppliers {
		carriage, short := d.bill(s)
		cost, lack = cost+carriage, lack+short
	}
	return cost, lack
}

// improve changes one item at a time as long as that brings orders nearer to
// their minimums, else costs less, else costs the same and comes earlier.
func (d *draft) improve() {
	for better := true; better; {
		better = false
		for i := range d.items() {
			for o := d.first[i]; o < d.first[i+1]; o++ {
				better = d.try(i, o) || better
			}
		}
	}
}

// try takes offer o of item i if the whole is better for it.
func (d *draft) try(i, o int) bool {
	was := d.taken[i]
	from, to := d.offers[was].supplier, d.offers[o].supplier
	cost, lack := d.part(from, to)
	d.take(i, o)
	after, short := d.part(from, to)
	if cmp.Or(cmp.Compare(short, lack), cmp.Compare(after, cost), cmp.Compare(o, was)) < 0 {
		return true
	}
	d.take(i, was)
	return false
}

// part is the total as far as a change between two suppliers moves it.
func (d *draft) part(a, b int) (cost, lack int64) {
	cost, lack = d.bill(a)
	if a != b {
		carriage, short := d.bill(b)
		cost, lack = cost+carriage, lack+short
	}
	return cost + d.cost, lack
}
