package order

import "math"

// Prices are in 2^-fine minor units of cost for one minor unit of goods, and
// what is reckoned with them, "fine" below, in 2^-fine minor units.
const (
	open     = -1 // of a supplier: no way of dealing with it is settled
	steepest = 6  // 2^6 minor units is the highest price
)

// node is a part of all choices: those that deal with each supplier in the one
// way settled, or in any where it is open.
type node struct {
	ways  []int
	price []int64 // what goods are worth to an order that must come to a least
	bound int64   // no choice of the node costs less
	seq   int
}

// way is how a node deals with a supplier. An open one is taken to deliver
// anything for nothing, which no way undercuts.
func (s *search) way(n *node, supplier int) way {
	if n.ways[supplier] == open {
		return way{}
	}
	return s.ways[supplier][n.ways[supplier]]
}

// shut tells whether a node leaves out the supplier of an offer.
func (s *search) shut(n *node, o int) bool { return s.way(n, s.offers[o].supplier).shut }

// value is the cost of an offer less what its goods are worth, fine.
func (s *search) value(n *node, o int) int64 {
	of := &s.offers[o]
	return of.cost<<s.fine - n.price[of.supplier]*of.goods
}

// relax picks the offer of least value for each item. The values, with the
// worth of every least added, come to no more than any choice of the node
// costs: its orders bring at least that worth (Lagrangian relaxation: Geoffrion
// 1974). Fine; false: an item has no offer.
func (s *search) relax(n *node, picks []int) (cost int64, ok bool) {
	for supplier := range s.suppliers {
		w := s.way(n, supplier)
		cost += w.fee<<s.fine + n.price[supplier]*w.least
	}
	for i := range s.items() {
		pick, least := -1, int64(math.MaxInt64)
		for o := s.first[i]; o < s.first[i+1]; o++ {
			if s.shut(n, o) {
				continue
			}
			if v := s.value(n, o); v < least {
				pick, least = o, v
			}
		}
		if pick < 0 {
			return 0, false
		}
		picks[i] = pick
		cost += least
	}
	return cost, true
}

// tune chooses the node's prices, one at a time and each the best given the
// others: the bound is concave in it, and at its top where goods come to the
// least.
func (s *search) tune(n *node) {
	for range 8 {
		moved := false
		for supplier := range s.suppliers {
			w := s.way(n, supplier)
			if w.shut || w.least == 0 {
				continue
			}
			price := s.fit(n, supplier, w.least)
			moved = moved || price != n.price[supplier]
			n.price[supplier] = price
		}
		if !moved {
			return
		}
	}
}

// fit is the lowest price at which a supplier's goods come to a least; the
// highest where none does.
func (s *search) fit(n *node, supplier int, least int64) int64 {
	s.compare(n, supplier)
	if s.goodsAt(0, supplier) >= least {
		return 0
	}
	low, high := int64(0), int64(1)<<(s.fine+steepest)
	for high-low > 1 {
		if middle := (low + high) / 2; s.goodsAt(middle, supplier) >= least {
			high = middle
		} else {
			low = middle
		}
	}
	return high
}

// compare notes the least value elsewhere of each item a supplier sells.
func (s *search) compare(n *node, supplier int) {
	s.elsewhere = s.elsewhere[:0]
	for _, i := range s.sold[supplier] {
		least := int64(math.MaxInt64)
		for o := s.first[i]; o < s.first[i+1]; o++ {
			if s.offers[o].supplier != supplier && !s.shut(n, o) {
				least = min(least, s.value(n, o))
			}
		}
		s.elsewhere = append(s.elsewhere, least)
	}
}

// goodsAt is what is ordered from a supplier at a price: of equal offers the
// one with more goods.
func (s *search) goodsAt(price int64, supplier int) int64 {
	sum := int64(0)
	for k, i := range s.sold[supplier] {
		least, goods := s.elsewhere[k], int64(0)
		for o := s.first[i]; o < s.first[i+1]; o++ {
			of := &s.offers[o]
			if of.supplier != supplier {
				continue
			}
			if v := of.cost<<s.fine - price*of.goods; v < least || v == least && of.goods > goods {
				least, goods = v, of.goods
			}
		}
		sum += goods
	}
	return sum
}
