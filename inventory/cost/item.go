package cost

import (
	"cmp"
	"math/big"
	"slices"

	"circlip/inventory"
)

// Item is what an item cost and is worth. Costs are those of one of its
// measure: a piece, a millilitre, a gram.
type Item struct {
	Item     inventory.Item
	LastOn   inventory.Date     // of the latest delivery; zero: there was none
	LastCost inventory.UnitCost // of it
	MeanCost inventory.UnitCost // of what is on hand, by quantity; zero where nothing is
	YearCost inventory.UnitCost // of the deliveries of the last 12 months less returns; zero where there were none
	OnHand   inventory.Quantity
	Value    inventory.Money // its lots on hand, each rounded once
	Guessed  int             // lots on hand that have no cost of their own
}

// itemMoves is what is gathered of an item.
type itemMoves struct {
	Item
	onHand, year mean
}

// items is every item that has a lot, by code.
func (s *shelf) items(shop inventory.Shop, moves []Move) []Item {
	all := map[string]*itemMoves{}
	for _, i := range shop.Items {
		all[i.Code] = &itemMoves{Item: Item{Item: i}}
	}
	delivered := map[lotKey]inventory.Quantity{}
	yearAgo := shop.AsOf.AddMonths(-12)
	for _, m := range moves {
		if m.Place != inventory.FromOrder {
			continue
		}
		key := lotKey{m.Item, m.Lot}
		delivered[key] += m.Qty
		if m.On > yearAgo {
			all[m.Item].year.add(m.Qty, s.named[key].cost)
		}
	}
	s.lastDeliveries(all, moves, delivered)
	listed := map[string]bool{}
	for _, l := range s.lots {
		i := all[l.Item]
		listed[l.Item] = true
		i.onHand.add(l.OnHand, l.cost)
		i.OnHand += l.OnHand
		i.Value += l.worth(l.OnHand)
		if l.OnHand > 0 && l.UnitCost == 0 {
			i.Guessed++
		}
	}
	var list []Item
	for _, i := range shop.Items {
		if listed[i.Code] {
			of := all[i.Code]
			of.MeanCost, of.YearCost = of.onHand.cost(), of.year.cost()
			list = append(list, of.Item)
		}
	}
	slices.SortFunc(list, func(a, b Item) int { return cmp.Compare(a.Item.Code, b.Item.Code) })
	return list
}

// lastDeliveries finds the latest delivery of each item that was not undone or
// sent back whole; of several on a day, that of the last lot by code.
func (s *shelf) lastDeliveries(all map[string]*itemMoves, moves []Move, delivered map[lotKey]inventory.Quantity) {
	lastLot := map[string]string{}
	for _, m := range moves {
		key := lotKey{m.Item, m.Lot}
		if m.Place != inventory.FromOrder || m.Qty < 0 || delivered[key] <= 0 {
			continue
		}
		i := all[m.Item]
		if m.On > i.LastOn || (m.On == i.LastOn && m.Lot > lastLot[m.Item]) {
			i.LastOn, i.LastCost, lastLot[m.Item] = m.On, s.named[key].cost, m.Lot
		}
	}
}

// mean is a mean cost by quantity. Quantities times costs may be larger than
// 64 bits.
type mean struct {
	sum big.Int
	qty inventory.Quantity
}

func (m *mean) add(q inventory.Quantity, c inventory.UnitCost) {
	m.sum.Add(&m.sum, new(big.Int).Mul(big.NewInt(int64(q)), big.NewInt(int64(c))))
	m.qty += q
}

// cost is the mean, rounded once, half away from zero; zero where there is no
// quantity to speak of.
func (m *mean) cost() inventory.UnitCost {
	if m.qty <= 0 || m.sum.Sign() < 0 {
		return 0
	}
	return inventory.UnitCost(over(&m.sum, int64(m.qty)))
}

// over is a/b for b above zero, half away from zero.
func over(a *big.Int, b int64) int64 {
	twice := new(big.Int).Abs(a)
	twice.Lsh(twice, 1).Add(twice, big.NewInt(b)).Quo(twice, new(big.Int).Lsh(big.NewInt(b), 1))
	if a.Sign() < 0 {
		twice.Neg(twice)
	}
	return twice.Int64()
}
