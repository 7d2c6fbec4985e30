package order

import "math"

// Week is what falls due from one supplier in a week.
type Week struct {
	Goods    int64 // minor units, not below zero
	Carriage int64 // minor units that an order in this week costs, not below zero
}

// Terms are those of the supplier, and what holding costs.
type Terms struct {
	FreeFrom int64   // goods of an order from which its carriage is free
	Free     bool    // whether FreeFrom holds at all
	Hold     float64 // of one minor unit of goods for a week, in minor units; below zero or not finite counts as 0
}

// Schedule is in which weeks to order.
type Schedule struct {
	Cover []int   // by week: how many weeks, itself the first, its order covers; 0: no order
	Cost  float64 // carriage and holding together, minor units
}

// Ahead chooses the weeks in which to order, and for how many weeks each time,
// so that carriage and holding cost least together. What falls due in week t
// and is ordered in week u is held t−u weeks.
//
// Without free carriage this is dynamic lot sizing, solved exactly (Wagner &
// Whitin 1958): splitting a week's goods or ordering them out of turn cannot
// pay. With free carriage it could, and the schedule is the cheapest of those
// whose orders cover whole consecutive weeks. A week without goods is nobody's
// to cover unless it lies inside an order. Of equal schedules it is the one
// whose first order, then second, is the shortest.
func Ahead(weeks []Week, t Terms) Schedule {
	if !sound(t.Hold) {
		t.Hold = 0
	}
	cover := make([]int, len(weeks))
	rest := make([]float64, len(weeks)+1) // least cost of this week and all later ones
	for u := len(weeks) - 1; u >= 0; u-- {
		rest[u] = math.Inf(1)
		if weeks[u].Goods == 0 {
			rest[u] = rest[u+1]
		}
		goods, held := int64(0), 0.0 // held: minor units times weeks
		for end := u + 1; end <= len(weeks); end++ {
			last := weeks[end-1].Goods
			goods = plus(goods, last)
			held += float64(float64(last) * float64(end-1-u))
			cost := t.carriage(weeks[u], goods) + float64(t.Hold*held) + rest[end]
			if cost < rest[u] {
				rest[u], cover[u] = cost, end-u
			}
		}
	}
	s := Schedule{Cover: make([]int, len(weeks)), Cost: rest[0]}
	for u := 0; u < len(weeks); u += max(1, cover[u]) {
		s.Cover[u] = cover[u]
	}
	return s
}

// carriage is what an order of so many goods in a week costs.
func (t Terms) carriage(w Week, goods int64) float64 {
	if t.Free && goods >= t.FreeFrom {
		return 0
	}
	return float64(w.Carriage)
}
