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
	halvings    = 8     // of the readiness that money may buy beyond a point
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

// best is the readiest stand found for so much money, from step `below` of the
// walk, which costs no more and the step before it does: with packs for what
// is left, or the cheapest stand of a target in between.
func (c *Curve) best(below int, money int64) *stand {
	best := c.shelf.stand(c.rungs(below))
	best.spend(money)
	if below == 0 || float64(c.steps[below-1].added-c.steps[below].added) <= notWorth*float64(money) {
		return best
	}
	low, high := best.readiness(), c.steps[below-1].readiness
	for range halvings {
		if low >= high {
			break
		}
		target := (low + high) / 2
		if st := c.cheapest(below-1, target); st.added <= money {
			best, low = st, st.readiness()
		} else {
			high = target
		}
	}
	return best
}

// trim takes packs away, the dearest first, while the target stays reached. One
// pass is enough: a loss only shrinks as others are taken away, but so little
// below a target that what a second pass finds is not worth its time.
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
// alone, else those with the most gain for their money until half of the way
// is done, and again. It gives up, with false, where that costs a limit or
// more.
func (st *stand) fill(target float64, limit int64) bool {
	for missing := target - st.readiness(); missing > 0; missing = target - st.readiness() {
		offers := st.offers(limit - st.added)
		if len(offers) == 0 {
			return false
		}
		if i := cheapestFinisher(offers, missing); i >= 0 {
			st.up(offers[i].item, st.rung[offers[i].item]+1)
			continue
		}
		for _, o := range offers {
			if st.added+o.cost < limit && target-st.readiness() > missing/2 {
				st.up(o.item, st.rung[o.item]+1)
			}
		}
	}
	return st.added < limit
}

// cheapestFinisher is the cheapest offer that gains so much by itself; -1:
// none does.
func cheapestFinisher(offers []offer, missing float64) int {
	best := -1
	for i, o := range offers {
		if o.gain >= missing && (best < 0 || o.cost < offers[best].cost) {
			best = i
		}
	}
	return best
}

// spend adds packs as long as the money added stays within a limit, those with
// the most gain for theirs first.
func (st *stand) spend(limit int64) {
	for {
		offers := st.offers(plus(max(0, limit-st.added), 1))
		if len(offers) == 0 {
			return
		}
		for _, o := range offers {
			if plus(st.added, o.cost) <= limit {
				st.up(o.item, st.rung[o.item]+1)
			}
		}
	}
}

// offer is one item's next rung up: what it costs, and what it gains.
type offer struct {
	item int
	cost int64
	gain float64
}

// offers are those that gain anything for less than a limit, the most gain for
// its money first. Gains are told beside what stands now; they only rise when
// others are taken as well, so an offer once good stays good.
func (st *stand) offers(limit int64) []offer {
	var offers []offer
	for _, i := range st.waitedFor() {
		if st.rung[i]+1 == len(st.ladders[i].packs) {
			continue
		}
		cost := st.cost(i, st.rung[i], st.rung[i]+1)
		if cost >= limit {
			continue
		}
		if gain := st.gain(i, st.rung[i]+1); gain > 0 {
			offers = append(offers, offer{i, cost, gain})
		}
	}
	slices.SortStableFunc(offers, func(a, b offer) int {
		return cmp.Compare(b.gain*float64(max(1, a.cost)), a.gain*float64(max(1, b.cost)))
	})
	return offers
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
