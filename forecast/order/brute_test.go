package order_test

import (
	"cmp"
	"fmt"
	"math/rand/v2"
	"slices"

	"circlip/forecast/order"
)

// bill reckons a choice from its definition: what it costs, and whether every
// supplier it uses gets the minimum order.
func bill(p order.Problem, taken []int) (cost int64, allowed bool) {
	goods := map[int]int64{}
	for i, o := range taken {
		option := p.Items[i].Options[o]
		cost += option.Cost
		goods[option.Supplier] += option.Goods
	}
	allowed = true
	for s, sum := range goods {
		supplier := p.Suppliers[s]
		if !supplier.Free || sum < supplier.FreeFrom {
			cost += supplier.Carriage
		}
		allowed = allowed && sum >= supplier.MinOrder
	}
	return cost, allowed
}

// brute goes through all choices; false: none is allowed.
func brute(p order.Problem) (least int64, found bool) {
	taken := make([]int, len(p.Items))
	for {
		if cost, allowed := bill(p, taken); allowed && (!found || cost < least) {
			least, found = cost, true
		}
		i := 0
		for ; i < len(taken); i++ {
			if taken[i]++; taken[i] < len(p.Items[i].Options) {
				break
			}
			taken[i] = 0
		}
		if i == len(taken) {
			return least, found
		}
	}
}

// equalsBrute tells how a choice differs from the cheapest of all, or whether
// its own figures are wrong; nil if it does not.
func equalsBrute(p order.Problem) error {
	choice, err := order.Cheapest(p, order.Effort{})
	least, found := brute(p)
	if !found {
		if p = withoutMinimums(p); err == nil {
			return fmt.Errorf("a choice, expected none allowed: %+v", choice)
		}
		least, _ = brute(p)
	} else if err != nil {
		return fmt.Errorf("%w, expected a choice for %d", err, least)
	}
	if choice.Cost != least || choice.Bound != least || !choice.Exact {
		return fmt.Errorf("cost %d, bound %d, exact %v, expected %d", choice.Cost, choice.Bound, choice.Exact, least)
	}
	if err := earlier(p, choice); err != nil {
		return err
	}
	return figures(p, choice)
}

// earlier tells whether an item could come earlier, or from a lower supplier
// or by a lower option, for the same cost.
func earlier(p order.Problem, c order.Choice) error {
	for i, it := range p.Items {
		taken := slices.Clone(c.Taken)
		was := it.Options[taken[i]]
		for o, option := range it.Options {
			first := cmp.Or(cmp.Compare(option.Days, was.Days), cmp.Compare(option.Supplier, was.Supplier), cmp.Compare(o, c.Taken[i])) < 0
			taken[i] = o
			if cost, allowed := bill(p, taken); first && allowed && cost == c.Cost {
				return fmt.Errorf("item %d: option %d, expected %d, which is as cheap", i, c.Taken[i], o)
			}
		}
	}
	return nil
}

// figures tells whether the sums of a choice are those of what it takes.
func figures(p order.Problem, c order.Choice) error {
	cost, allowed := bill(p, c.Taken)
	if cost != c.Cost || !allowed {
		return fmt.Errorf("options taken cost %d, allowed %v, the choice says %d", cost, allowed, c.Cost)
	}
	goods, sum, carriage := make([]int64, len(p.Suppliers)), int64(0), int64(0)
	for i, o := range c.Taken {
		goods[p.Items[i].Options[o].Supplier] += p.Items[i].Options[o].Goods
		sum += p.Items[i].Options[o].Cost
	}
	for s := range goods {
		carriage += c.Carriage[s]
		if goods[s] != c.Goods[s] {
			return fmt.Errorf("goods of supplier %d: %d, expected %d", s, c.Goods[s], goods[s])
		}
	}
	if sum+carriage != c.Cost {
		return fmt.Errorf("options %d and carriage %d, expected %d together", sum, carriage, c.Cost)
	}
	return nil
}

func withoutMinimums(p order.Problem) order.Problem {
	suppliers := make([]order.Supplier, len(p.Suppliers))
	for s, supplier := range p.Suppliers {
		supplier.MinOrder = 0
		suppliers[s] = supplier
	}
	return order.Problem{Suppliers: suppliers, Items: p.Items}
}

// dice draws numbers; the seeded random source does, and so does rapid.
type dice interface{ IntN(n int) int }

// small draws up to 4 suppliers, 6 items, 3 options an item, with limits near
// what orders come to.
func small(d dice, minimums bool) order.Problem {
	var p order.Problem
	for range 1 + d.IntN(4) {
		s := order.Supplier{Carriage: int64(d.IntN(25)), Free: d.IntN(3) > 0, FreeFrom: int64(d.IntN(60))}
		if minimums && d.IntN(2) == 0 {
			s.MinOrder = int64(d.IntN(50))
		}
		p.Suppliers = append(p.Suppliers, s)
	}
	for range d.IntN(7) {
		base := 1 + d.IntN(20)
		var it order.Item
		for range 1 + d.IntN(3) {
			goods := int64(base + d.IntN(base/3+3))
			cost := goods
			switch d.IntN(6) {
			case 0: // brought forward
				cost -= int64(d.IntN(base))
			case 1: // a gift
				goods = 0
			case 2: // saves more later than it costs
				cost = -int64(d.IntN(5))
			}
			it.Options = append(it.Options, order.Option{Supplier: d.IntN(len(p.Suppliers)), Goods: goods, Cost: cost, Days: d.IntN(4)})
		}
		p.Items = append(p.Items, it)
	}
	return p
}

// workshop draws a week as workshops have it: 2 to 4 suppliers an item, prices
// of 1 to 60 euro that differ by 25 % either way, offers of what is needed, of
// a price break, and with later weeks brought forward.
func workshop(seed uint64, suppliers, items int) order.Problem {
	d := rand.New(rand.NewPCG(seed, 7))
	var p order.Problem
	for range suppliers {
		s := order.Supplier{Carriage: 500 + d.Int64N(1501), Free: d.IntN(4) > 0, FreeFrom: 8000 + d.Int64N(22001)}
		if d.IntN(2) == 0 {
			s.MinOrder = d.Int64N(10001)
		}
		p.Suppliers = append(p.Suppliers, s)
	}
	for range items {
		usual, need := 100+d.Int64N(5901), 1+d.Int64N(4)
		var it order.Item
		for _, s := range d.Perm(suppliers)[:min(suppliers, 2+d.IntN(3))] {
			price, days := usual*(75+d.Int64N(51))/100, 1+d.IntN(5)
			goods := price * need
			it.Options = append(it.Options, order.Option{Supplier: s, Goods: goods, Cost: goods, Days: days})
			if d.IntN(2) == 0 { // up to three packs more, which cost 1 to 6 % to hold
				later := price * (1 + d.Int64N(3))
				it.Options = append(it.Options, order.Option{Supplier: s, Goods: goods + later, Cost: goods + later*(1+d.Int64N(6))/100, Days: days})
			}
			if d.IntN(3) == 0 { // twice the packs, 3 to 15 % cheaper
				twice := 2 * need * (price * (85 + d.Int64N(13)) / 100)
				it.Options = append(it.Options, order.Option{Supplier: s, Goods: twice, Cost: twice - goods*97/100, Days: days})
			}
		}
		p.Items = append(p.Items, it)
	}
	return p
}

// binding is a workshop whose suppliers carry freely only from near what each
// would get of it, so that many limits bind at once.
func binding(seed uint64, suppliers, items int) order.Problem {
	p := workshop(seed, suppliers, items)
	for s := range p.Suppliers {
		supplier := &p.Suppliers[s]
		if supplier.Free {
			supplier.FreeFrom = int64(8000 * items / suppliers * (8 + s%5) / 10)
		}
		if supplier.MinOrder > 0 {
			supplier.MinOrder = supplier.FreeFrom / 2
		}
	}
	return p
}
