package order

import (
	"cmp"
	"slices"
)

// setsOfNode is how many sets of departures are looked at in one node.
const setsOfNode = 1 << 18

// departure is an offer taken instead of the pick, and the value it adds, fine.
type departure struct {
	offer int
	adds  int64
}

// loose is an item with departures that may pay, those that add least first.
type loose struct {
	item       int
	departures []departure
	rate       int64 // least that they add for a minor unit of goods moved
}

// reach is what the departures from some loose item on can do.
type reach struct {
	up, down []int64 // by watched order: goods they can bring, and take away
	rate     int64   // the least they add for a minor unit of goods moved
}

// near goes through the choices of a node that depart a little from its picks.
type near struct {
	*search
	n       *node
	base    int64 // value of the picks with the worth of every least, fine
	fees    int64
	picks   []int
	watched []int // suppliers whose least is kept
	draft   *draft
	loose   []loose
	reach   []reach // from each loose item on, and one past them
	limit   int64   // cost to beat
	best    []int
	stop    int // nodes left at which to give up
}

// settle finds the cheapest choice that keeps the least of all settled ways,
// with open suppliers still delivering anything for nothing. None: the node
// holds no choice below the best known. False: it gave up. The node's bound
// rises to what is proven.
func (s *search) settle(n *node, base int64, picks []int) ([]int, bool) {
	c := &near{search: s, n: n, base: base, picks: picks, stop: max(0, s.left-setsOfNode)}
	for supplier := range s.suppliers {
		c.fees += s.way(n, supplier).fee
		if n.price[supplier] > 0 {
			c.watched = append(c.watched, supplier)
		}
	}
	for {
		if !c.widen() {
			return nil, false
		}
		missed := c.missed()
		if missed < 0 {
			return c.best, true
		}
		c.watched = append(c.watched, missed)
	}
}

// widen looks into a gap above the picks' value that grows until the best
// choice is in it: one that costs less than the value and the gap departs by
// less than the gap.
func (c *near) widen() bool {
	floor := ceil(c.base, c.fine)
	for gap := int64(1); ; gap *= 3 {
		wide := min(c.search.limit, floor+gap)
		c.limit, c.best = wide, nil
		c.gather()
		c.from(0, 0)
		if c.left <= c.stop {
			return false
		}
		c.n.bound = max(c.n.bound, min(c.limit, c.search.limit))
		if c.best != nil || wide >= c.search.limit {
			return true
		}
	}
}

// missed is a supplier whose least the best choice does not come to; -1: none.
func (c *near) missed() int {
	if c.best == nil {
		return -1
	}
	d := c.table.draft(c.best)
	for supplier := range c.suppliers {
		if w := c.way(c.n, supplier); !w.shut && d.goods[supplier] < w.least {
			return supplier
		}
	}
	return -1
}

// gather lists the items that can be departed from inside the gap, those that
// move goods cheaply first, and adds up from the end what they can do.
func (c *near) gather() {
	c.draft, c.loose = c.table.draft(c.picks), c.loose[:0]
	for i := range c.picks {
		if l := c.departures(i); len(l) > 0 {
			c.loose = append(c.loose, loose{i, l, c.rate(i, l)})
		}
	}
	slices.SortStableFunc(c.loose, func(a, b loose) int { return cmp.Compare(a.rate, b.rate) })
	n := len(c.watched)
	c.reach = make([]reach, len(c.loose)+1)
	c.reach[len(c.loose)] = reach{make([]int64, n), make([]int64, n), 1 << (c.fine + steepest)}
	for k, l := range slices.Backward(c.loose) {
		c.reach[k] = c.extend(c.reach[k+1], l)
	}
}

// departures are the offers that may pay instead of an item's pick.
func (c *near) departures(i int) []departure {
	pick := c.value(c.n, c.picks[i])
	var list []departure
	for o := c.first[i]; o < c.first[i+1]; o++ {
		if o == c.picks[i] || c.shut(c.n, o) {
			continue
		}
		if adds := c.value(c.n, o) - pick; c.beats(adds) && !c.needless(i, o) {
			list = append(list, departure{o, adds})
		}
	}
	slices.SortStableFunc(list, func(a, b departure) int { return cmp.Compare(a.adds, b.adds) })
	return list
}

// needless tells whether another offer of an item does all that one does: it
// costs no more and brings as much where that is watched. Of equals one is
// kept, the pick if it is among them.
func (c *near) needless(i, o int) bool {
	use := c.use(o)
	for k := c.first[i]; k < c.first[i+1]; k++ {
		a, b := &c.offers[k], &c.offers[o]
		if k == o || c.shut(c.n, k) || a.cost > b.cost || use > 0 && (a.supplier != b.supplier || a.goods < use) {
			continue
		}
		equal := a.cost == b.cost && c.use(k) == use
		if !equal || k == c.picks[i] || k < o {
			return true
		}
	}
	return false
}

// use is the goods that an offer brings to a watched order.
func (c *near) use(o int) int64 {
	if !slices.Contains(c.watched, c.offers[o].supplier) {
		return 0
	}
	return c.offers[o].goods
}

// rate is the least that departures of an item add for each minor unit of
// goods they move at watched orders.
func (c *near) rate(i int, departures []departure) int64 {
	rate := int64(1) << (c.fine + steepest)
	for _, dep := range departures {
		moved := c.use(dep.offer) + c.use(c.picks[i])
		if c.offers[dep.offer].supplier == c.offers[c.picks[i]].supplier {
			moved = max(moved-2*c.use(c.picks[i]), moved-2*c.use(dep.offer))
		}
		if moved > 0 {
			rate = min(rate, dep.adds/moved)
		}
	}
	return rate
}

// extend adds a loose item before those of a reach.
func (c *near) extend(r reach, l loose) reach {
	r = reach{slices.Clone(r.up), slices.Clone(r.down), min(r.rate, l.rate)}
	for k, supplier := range c.watched {
		now := c.brings(c.picks[l.item], supplier)
		largest, smallest := now, now
		for _, dep := range l.departures {
			goods := c.brings(dep.offer, supplier)
			largest, smallest = max(largest, goods), min(smallest, goods)
		}
		r.up[k] += largest - now
		r.down[k] += now - smallest
	}
	return r
}

// beats tells whether a choice of so much more value than the picks can cost
// less than the limit, by a whole minor unit.
func (c *near) beats(adds int64) bool {
	return c.base+adds <= (min(c.limit, c.search.limit)-1)<<c.fine
}

// hopeless tells whether nothing that departs from loose item k on can keep
// every least and cost less than the limit: what an order lacks must be moved
// there, and what it has too much is worth nothing or must be moved away.
func (c *near) hopeless(k int, adds int64) bool {
	r := &c.reach[k]
	for w, supplier := range c.watched {
		spare := c.draft.goods[supplier] - c.way(c.n, supplier).least
		if spare+r.up[w] < 0 {
			return true
		}
		if spare < 0 {
			adds -= r.rate * spare
			continue
		}
		price, away := c.n.price[supplier], min(spare, r.down[w])
		adds += price*(spare-away) + min(price, r.rate)*away
	}
	return !c.beats(adds)
}

// from tries the choice as it stands, and after it each departure from loose
// item k on.
func (c *near) from(k int, adds int64) {
	c.left--
	c.keep()
	for ; k < len(c.loose) && c.left > c.stop && !c.hopeless(k, adds); k++ {
		l := c.loose[k]
		for _, dep := range l.departures {
			if !c.beats(adds + dep.adds) {
				break
			}
			c.draft.take(l.item, dep.offer)
			if !c.hopeless(k+1, adds+dep.adds) {
				c.from(k+1, adds+dep.adds)
			}
		}
		c.draft.take(l.item, c.picks[l.item])
	}
}

// keep notes a choice that keeps every watched least and beats the limit.
func (c *near) keep() {
	for _, supplier := range c.watched {
		if c.draft.goods[supplier] < c.way(c.n, supplier).least {
			return
		}
	}
	c.offer(c.draft)
	if cost := c.draft.cost + c.fees; cost < c.limit {
		c.limit, c.best = cost, slices.Clone(c.draft.taken)
	}
}
