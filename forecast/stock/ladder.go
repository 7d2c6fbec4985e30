package stock

// ladder is the levels of one item that a walk may stand on, from what is
// there without buying (rung 0) to more than jobs will ask for.
type ladder struct {
	packs  []int // bought, by rung, rising
	levels []int // steps, by rung
	// chances[pattern·rungs+rung][vector]: that a job need not wait for the item.
	chances [][]float64
	next    []int // by rung: the next one down worth standing on
}

const (
	rungs = 48   // of a ladder, about, at most
	ample = 1e-6 // a job's chance to wait for an item at the top of its ladder
	scant = 1e-3 // and not to wait for it at the second rung
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

// newLadder lists levels of an item above a position. wanted[pattern][vector]
// is how many jobs wait for it. Where there would be too many rungs, some
// purchases are left out.
func newLadder(d *demand, it Item, from int, wanted [][]float64) ladder {
	short := d.shortage(wanted)
	level := func(packs int) int { return from + packs*it.Pack }
	low := it.first(0, func(packs int) bool { return short(level(packs)) <= 1-scant })
	top := it.first(low, func(packs int) bool { return short(level(packs)) <= ample })
	l := ladder{packs: []int{0}, levels: []int{from}}
	if it.Pack > 0 && top > 0 {
		low = max(1, low)
		stride := (top-low)/rungs + 1
		for k := low; k < top+stride; k += stride {
			l.packs = append(l.packs, it.purchase(k))
			l.levels = append(l.levels, level(it.purchase(k)))
		}
	}
	l.chances = d.chances(l.levels)
	l.next = l.hull(l.served(wanted))
	return l
}

// shortage is, at a level, an upper bound of a job's chance to wait for the
// item: the chance that any job must.
func (d *demand) shortage(wanted [][]float64) func(level int) float64 {
	jobs, all := make([]float64, len(d.vectors)), 0.0
	for _, weights := range wanted {
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

// served is how many jobs need not wait for the item, by rung.
func (l ladder) served(wanted [][]float64) []float64 {
	n := len(l.packs)
	served := make([]float64, n)
	for p, weights := range wanted {
		for k := range n {
			column := l.chances[p*n+k]
			for v, w := range weights {
				served[k] += w * column[v]
			}
		}
	}
	return served
}

// hull finds, for each rung, the next one down that is worth standing on: not
// below the straight line between two others in the plane of packs and jobs
// served, all other items being there (Fox 1966). A pair of seals that only
// go in together is such a case: one alone costs money and serves nobody.
func (l ladder) hull(served []float64) []int {
	next := make([]int, len(served))
	var hull []int
	for k := range served {
		for len(hull) > 1 && l.sags(served, hull[len(hull)-2], hull[len(hull)-1], k) {
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
func (l ladder) sags(served []float64, a, b, c int) bool {
	return (served[b]-served[a])*float64(l.packs[c]-l.packs[a]) <=
		(served[c]-served[a])*float64(l.packs[b]-l.packs[a])
}

// at is the chances of a pattern at a rung, by vector.
func (l ladder) at(pattern, rung int) []float64 {
	return l.chances[pattern*len(l.packs)+rung]
}
