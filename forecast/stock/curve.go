package stock

import (
	"cmp"
	"slices"
	"sort"
)

// Curve is the readiness that money buys, from a position per item upwards:
// the cheapest packs on top of what is there. From an empty shelf it is the
// curve of readiness against stock value; from where the shelf is now it is
// what an order placed now does. What items are worth is their packs' cost.
//
// A Curve works things out as it is asked, so it is not for several goroutines
// at once.
type Curve struct {
	shelf *shelf
	steps []step // falling readiness and money
	held  int64  // money of the positions
	side  int64  // money of the packs of items that no job waits for
}

// Levels is one point of the curve: what to hold of every item.
type Levels struct {
	Packs     []int // of each item, on top of the position the walk began at
	Level     []int // steps: that position and those packs
	Added     int64 // money of the packs, minor units
	Value     int64 // Added and what the positions are worth
	Readiness float64
}

// Point is one point of the curve of readiness against stock value.
type Point struct {
	Value     int64 // minor units, see Levels
	Readiness float64
}

// Walk finds the curve above a position of each item in steps (usable on hand
// − set aside for later + on order; it may be below zero). nil: nothing is
// there. Items that no job waits for are held, each for itself, at an
// availability of 0.90 on every point of the curve.
func (j *Joint) Walk(from []int) *Curve { return j.WalkWithin(from, nil) }

// WalkWithin is the curve for which no more than so many packs of each item
// are bought, whatever they would bring: of a thing that ages, or of which
// there must not be much. Most below zero, or nil: no limit. What cannot be
// ordered in so few packs is not bought at all.
func (j *Joint) WalkWithin(from, most []int) *Curve {
	if from == nil {
		from = make([]int, len(j.problem.Items))
	}
	if most == nil {
		most = slices.Repeat([]int{unlimited}, len(j.problem.Items))
	}
	j.mustFit(from)
	j.mustFit(most)
	c := &Curve{shelf: newShelf(j, slices.Clone(from), slices.Clone(most))}
	c.steps = c.shelf.walk()
	for i, it := range j.problem.Items {
		c.held = plus(c.held, share(max(0, from[i]), it.Pack, it.Cost))
		c.side = plus(c.side, times(c.shelf.aside[i], it.Cost))
	}
	return c
}

// Points is the curve by rising value, from no order to ample levels, thinned
// to about n points that lie evenly along it; n below 2: all of them.
func (c *Curve) Points(n int) []Point {
	all := make([]Point, len(c.steps))
	for k, s := range c.steps {
		all[len(all)-1-k] = Point{plus(plus(c.held, c.side), s.added), s.readiness}
	}
	if n < 2 || len(all) <= n {
		return all
	}
	first, last := all[0], all[len(all)-1]
	along := func(p Point) float64 { // 0 at the first, 2 at the last
		return float64(p.Value-first.Value)/float64(max(1, last.Value-first.Value)) +
			(p.Readiness-first.Readiness)/max(1e-9, last.Readiness-first.Readiness)
	}
	thinned := []Point{first}
	for _, p := range all[1 : len(all)-1] {
		if along(p)-along(thinned[len(thinned)-1]) >= 2/float64(n-1) {
			thinned = append(thinned, p)
		}
	}
	return append(thinned, last)
}

// Steps is how many points the walk down the curve has.
func (c *Curve) Steps() int { return len(c.steps) }

// At is a point of the walk, 0 the top and the last one that buys nothing, as
// the walk passed it: without the last look at whole packs that Reach and Within
// take, and without the items that no job waits for.
func (c *Curve) At(step int) Levels {
	return c.levels(c.shelf.stand(c.rungs(step)), make([]int, len(c.shelf.from)))
}

// Reach is the cheapest levels found that reach a readiness; where none do,
// the ample ones, whose Readiness tells.
func (c *Curve) Reach(readiness float64) Levels {
	readiness -= 1e-12 // what sums of probabilities may be off by
	above := sort.Search(len(c.steps), func(k int) bool { return c.steps[k].readiness < readiness }) - 1
	if above < 0 {
		return c.levels(c.shelf.stand(c.shelf.top), c.shelf.aside)
	}
	return c.levels(c.cheapest(above, readiness), c.shelf.aside)
}

// Within is the best levels found for so much money added, minor units. Jobs
// come first: items that no job waits for get what is left, the cheapest of
// them first.
func (c *Curve) Within(added int64) Levels {
	below := sort.Search(len(c.steps), func(k int) bool { return c.steps[k].added <= added })
	below = min(below, len(c.steps)-1) // less than nothing buys nothing
	best := c.best(below, added)
	return c.levels(best, c.asideWithin(added-best.added))
}

// asideWithin is the packs of items that no job waits for, for so much money:
// each wholly or not at all.
func (c *Curve) asideWithin(left int64) []int {
	items := c.shelf.joint.problem.Items
	cost := func(i int) int64 { return times(c.shelf.aside[i], items[i].Cost) }
	order := make([]int, len(items))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(cost(a), cost(b)) })
	packs := make([]int, len(items))
	for _, i := range order {
		if cost(i) > left {
			break
		}
		left -= cost(i)
		packs[i] = c.shelf.aside[i]
	}
	return packs
}

// rungs are those of all items after a step of the walk.
func (c *Curve) rungs(step int) []int {
	at := slices.Clone(c.shelf.top)
	for _, s := range c.steps[1 : step+1] {
		at[s.item] = s.rung
	}
	return at
}

// levels tells a stand in packs, steps and money.
func (c *Curve) levels(st *stand, aside []int) Levels {
	items := c.shelf.joint.problem.Items
	l := Levels{Packs: slices.Clone(aside), Level: make([]int, len(items)), Readiness: st.readiness()}
	for i, it := range items {
		if len(c.shelf.waiters[i]) > 0 {
			l.Packs[i] = c.shelf.ladders[i].packs[st.rung[i]]
		}
		l.Level[i] = c.shelf.from[i] + l.Packs[i]*it.Pack
		l.Added = plus(l.Added, times(l.Packs[i], it.Cost))
	}
	l.Value = plus(c.held, l.Added)
	return l
}
