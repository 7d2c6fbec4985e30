package order

import (
	"cmp"
	"slices"
)

// offer is an option in the table.
type offer struct {
	cost, goods int64
	supplier    int
	at          int // its index among the item's options
}

// way is one way of dealing with a supplier: not at all, or with goods of at
// least so much for a fee.
type way struct {
	shut  bool
	fee   int64
	least int64
}

// table is a Problem laid out for the search. The offers of item i are
// offers[first[i]:first[i+1]], those that win ties first.
type table struct {
	suppliers []Supplier
	offers    []offer
	first     []int
	sold      [][]int // by supplier: the items it has an offer of
	ways      [][]way // by supplier: shut first
}

func newTable(p Problem) *table {
	t := &table{suppliers: p.Suppliers, first: []int{0}, sold: make([][]int, len(p.Suppliers))}
	for i, it := range p.Items {
		for _, o := range inTurn(it.Options) {
			opt := it.Options[o]
			t.offers = append(t.offers, offer{opt.Cost, opt.Goods, opt.Supplier, o})
			if sold := t.sold[opt.Supplier]; len(sold) == 0 || sold[len(sold)-1] != i {
				t.sold[opt.Supplier] = append(sold, i)
			}
		}
		t.first = append(t.first, len(t.offers))
	}
	for s := range t.suppliers {
		t.ways = append(t.ways, t.waysOf(s))
	}
	return t
}

// inTurn is the options as they win ties: by days, supplier, place.
func inTurn(options []Option) []int {
	turn := make([]int, len(options))
	for o := range turn {
		turn[o] = o
	}
	slices.SortFunc(turn, func(a, b int) int {
		x, y := options[a], options[b]
		return cmp.Or(cmp.Compare(x.Days, y.Days), cmp.Compare(x.Supplier, y.Supplier), cmp.Compare(a, b))
	})
	return turn
}

func (t *table) items() int { return len(t.first) - 1 }

// brings is what an offer adds to a supplier's order.
func (t *table) brings(o, supplier int) int64 {
	if t.offers[o].supplier != supplier {
		return 0
	}
	return t.offers[o].goods
}

// waysOf leaves out what no order of the supplier can come to, and paying
// where the smallest order allowed is carried free.
func (t *table) waysOf(s int) []way {
	sup, reach := t.suppliers[s], int64(0)
	for _, i := range t.sold[s] {
		largest := int64(0)
		for o := t.first[i]; o < t.first[i+1]; o++ {
			largest = max(largest, t.brings(o, s))
		}
		reach += largest
	}
	ways := []way{{shut: true}}
	switch {
	case sup.MinOrder > reach:
		return ways
	case sup.Carriage == 0 || sup.Free && sup.FreeFrom <= sup.MinOrder:
		return append(ways, way{least: sup.MinOrder})
	}
	ways = append(ways, way{fee: sup.Carriage, least: sup.MinOrder})
	if sup.Free && sup.FreeFrom <= reach {
		ways = append(ways, way{least: sup.FreeFrom})
	}
	return ways
}
