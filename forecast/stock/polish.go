package stock

import (
	"cmp"
	"slices"
)

// The walk moves in whole packs, so the first of its points that reaches a
// target mostly overshoots it. What that costs is won back here: from that
// point by taking away the dearest packs that the overshoot can spare, and
// from some points below it by adding the cheapest packs that lift it over.

const (
	startsBelow = 3     // points below the target that are tried
	notWorth    = 0.001 // of the money added: less to be won is not looked for
)

// cheapest is the best stand found that reaches a target which step `above` of
// the walk does and the next does not.
func (c *Curve) cheapest(above int, target float64) *stand {
	best := c.shelf.stand(c.rungs(above))
	best.trim(target)
	for k := above + 1; k <= above+startsBelow && k < len(c.steps); k++ {
		// What a lower point of the walk costs, no levels of the target's
		// readiness undercut by much: that bounds what is left to win.
		if won := best.added - c.steps[above+1].added; float64(won) <= notWorth*float64(best.added) {
			break
		}
		st := c.shelf.stand(c.rungs(k))
		if st.fill(target, best.added) {
			st.trim(target)
			if st.added < best.added {
				best = st
			}
		}
	}
	return best
}

// trim takes packs away, the dearest first, while the target stays reached.
func (st *stand) trim(target float64) {
	order := st.waitedFor()
	stepCost := func(i int) int64 {
		if st.rung[i] == 0 {
			return 0
		}
		return st.cost(i, st.rung[i]-1, st.rung[i])
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(stepCost(b), stepCost(a)) })
	spare := st.readiness() - target
	for _, i := range order {
		for st.rung[i] > 0 {
			loss := st.loss(i, st.rung[i]-1)
			if loss > spare {
				break
			}
			st.down(i, st.rung[i]-1)
			spare -= loss
		}
	}
}

// fill adds packs until the target is reached: the cheapest that does it
// alone, or else the one with the most gain for its money, and again. It gives
// up, with false, where that costs a limit or more.
func (st *stand) fill(target float64, limit int64) bool {
	for st.added < limit {
		missing := target - st.readiness()
		if missing <= 0 {
			return true
		}
		best, cost, finishes := -1, int64(0), false
		bestValue := 0.0
		for _, i := range st.waitedFor() {
			if st.rung[i]+1 == len(st.ladders[i].packs) {
				continue
			}
			c := max(1, st.cost(i, st.rung[i], st.rung[i]+1))
			if c >= limit-st.added || finishes && c >= cost {
				continue
			}
			gain := st.gain(i, st.rung[i]+1)
			switch value := gain / float64(c); {
			case gain >= missing:
				best, cost, finishes = i, c, true
			case !finishes && value > bestValue:
				best, bestValue = i, value
			}
		}
		if best < 0 {
			return false
		}
		st.up(best, st.rung[best]+1)
	}
	return false
}

// spend adds packs for so much money, those with the most gain for theirs
// first. Gains only rise as others are added, so one look at each will do.
func (st *stand) spend(left int64) {
	type offer struct {
		item  int
		cost  int64
		value float64
	}
	var offers []offer
	for _, i := range st.waitedFor() {
		if st.rung[i]+1 == len(st.ladders[i].packs) {
			continue
		}
		if c := st.cost(i, st.rung[i], st.rung[i]+1); c <= left {
			offers = append(offers, offer{i, c, st.gain(i, st.rung[i]+1) / float64(max(1, c))})
		}
	}
	slices.SortStableFunc(offers, func(a, b offer) int { return cmp.Compare(b.value, a.value) })
	for _, o := range offers {
		if o.cost <= left && o.value > 0 {
			st.up(o.item, st.rung[o.item]+1)
			left -= o.cost
		}
	}
}

// waitedFor lists the items that a job waits for.
func (s *shelf) waitedFor() []int {
	var items []int
	for i, w := range s.waiters {
		if len(w) > 0 {
			items = append(items, i)
		}
	}
	return items
}
