package stock

import "math"

// ladder is the levels of one item that a walk may stand on, from what is
// there without buying (rung 0) to more than jobs will ask for.
type ladder struct {
	demand *demand
	packs  []int // bought, by rung, rising
	levels []int // steps, by rung
	next   []int // by rung: the next one down worth standing on
	// served is how many jobs need not wait for the item, by rung.
	served []float64

	// Chances take room, so they are worked out for a block of rungs when one
	// of them is stood on, and only the last two blocks are kept.
	block  int // rungs in a block
	blocks map[int]chances
	latest [2]int
}

const (
	rungs = 48      // of a ladder, about, at most
	ample = 1e-6    // a job's chance to wait for an item at the top of its ladder
	scant = 1e-3    // and not to wait for it at the second rung
	room  = 1 << 17 // chances in a block, about
)

// purchase is the k-th smallest number of packs that can be ordered; 0: none.
func (it Item) purchase(k int) int {
	if k == 0 {
		return 0
	}
	multiple := max(1, it.Multiple)
	return roundUp(max(1, it.Least), multiple) + (k-1)*multiple
}

// roundUp is the smallest multiple that is n or more.
func roundUp(n, multiple int) int { return (n + multiple - 1) / multiple * multiple }

// first is the smallest k, from low on, whose purchase is enough; low for what
// cannot be bought.
func (it Item) first(low int, enough func(packs int) bool) int {
	if it.Pack == 0 || enough(it.purchase(low)) {
		return low
	}
	high := low + 1
	for !enough(it.purchase(high)) {
		low, high = high, high+2*(high-low)
	}
	for low+1 < high { // not enough at low, enough at high
		if mid := low + (high-low)/2; enough(it.purchase(mid)) {
			high = mid
		} else {
			low = mid
		}
	}
	return high
}

// unlimited is any number of packs.
const unlimited = -1

// last is the largest k whose purchase is no more than so many packs.
func (it Item) last(most int) int {
	switch least := it.purchase(1); {
	case most < 0:
		return math.MaxInt
	case most < least:
		return 0
	default:
		return 1 + (most-least)/max(1, it.Multiple)
	}
}

// newLadder lists levels of an item above a position, with no more than so many
// packs. Where there would be too many rungs, some purchases are left out.
func newLadder(d *demand, it Item, from, most int) *ladder {
	short := d.shortage()
	level := func(packs int) int { return from + packs*it.Pack }
	low := it.first(0, func(packs int) bool { return short(level(packs)) <= 1-scant })
	top := it.first(low, func(packs int) bool { return short(level(packs)) <= ample })
	last := it.last(most)
	low, top = min(low, last), min(top, last)
	l := &ladder{demand: d, packs: []int{0}, levels: []int{from}, blocks: make(map[int]chances)}
	if it.Pack > 0 && top > 0 {
		low = max(1, low)
		stride := (top-low)/rungs + 1
		for k := low; k < top+stride; k += stride {
			packs := it.purchase(min(k, last))
			l.packs = append(l.packs, packs)
			l.levels = append(l.levels, level(packs))
		}
	}
	l.block = min(len(l.packs), max(4, room/max(1, len(d.vectors)*len(d.patterns))))
	l.served = l.countServed()
	l.next = l.hull()
	return l
}

// shortage is, by level, an upper bound of a job's chance to wait for the
// item: the chance that any job must, this one among them.
func (d *demand) shortage() func(level int) float64 {
	if d.exact != nil {
		return func(level int) float64 { return 1 - d.exact.availability(level*d.scale-d.exact.most()) }
	}
	jobs, all := make([]float64, len(d.vectors)), 0.0
	for _, weights := range d.wanted {
		for v, w := range weights {
			jobs[v] += w
			all += w
		}
	}
	return func(level int) float64 {
		short := 0.0
		for v, w := range jobs {
			if w > 0 {
				short += w * (1 - d.available(d.vectors[v], level))
			}
		}
		return short / all
	}
}

// countServed counts the jobs that need not wait for the item, by rung: from
// the exact law where there is one, else over the scenarios, which then are
// all there are.
func (l *ladder) countServed() []float64 {
	total := make([]float64, len(l.packs))
	if l.demand.exact != nil {
		served, _ := l.demand.exact.served(l.demand.scaled(l.levels), len(l.demand.patterns))
		for c, jobs := range served {
			total[c%len(l.packs)] += jobs
		}
		return total
	}
	for k := range l.packs {
		for p, weights := range l.demand.wanted {
			at := l.at(p, k)
			for v, w := range weights {
				total[k] += w * at.chance(v)
			}
		}
	}
	return total
}

// hull finds, for each rung, the next one down that is worth standing on: not
// below the straight line between two others in the plane of packs and jobs
// served, all other items being there (Fox 1966). A pair of seals that only
// go in together is such a case: one alone costs money and serves nobody.
func (l *ladder) hull() []int {
	next := make([]int, len(l.packs))
	var hull []int
	for k := range l.packs {
		for len(hull) > 1 && l.sags(hull[len(hull)-2], hull[len(hull)-1], k) {
			hull = hull[:len(hull)-1]
		}
		next[k] = -1
		if len(hull) > 0 {
			next[k] = hull[len(hull)-1]
		}
		hull = append(hull, k)
	}
	return next
}

// sags: rung b lies on or below the line from a to c.
func (l *ladder) sags(a, b, c int) bool {
	return (l.served[b]-l.served[a])*float64(l.packs[c]-l.packs[a]) <=
		(l.served[c]-l.served[a])*float64(l.packs[b]-l.packs[a])
}

// column is the chances of a pattern at a rung.
type column struct {
	table        []float64
	levels, rung int
}

// chance is that of a vector.
func (c column) chance(vector int) float64 { return c.table[vector*c.levels+c.rung] }

// at is the chances of a pattern at a rung.
func (l *ladder) at(pattern, rung int) column {
	b := rung / l.block
	c, ok := l.blocks[b]
	if !ok {
		c = l.demand.chances(l.levels[b*l.block : min((b+1)*l.block, len(l.levels))])
		l.remember(b, c)
	}
	return column{c.patterns[pattern], c.levels, rung % l.block}
}

// remember keeps a block and forgets the older of the two before. Walks come
// down, so the last two are the ones that moves go between.
func (l *ladder) remember(b int, c chances) {
	if len(l.blocks) > 1 {
		delete(l.blocks, l.latest[0])
	}
	l.blocks[b] = c
	l.latest[0], l.latest[1] = l.latest[1], b
}
