package order

import (
	"cmp"
	"math"
	"slices"
)

// Break is a price of one unit that holds for whole orders of so many units or
// more, up to where the next break begins.
type Break struct {
	From  int     // units; 0 or 1: any order
	Price float64 // of one unit, above zero
}

// Economic is the order quantity that costs least a year, in units, and that
// cost: goods, setups and half an order held all year,
//
//	perYear·price + setup·perYear/quantity + rate·price·quantity/2
//
// with the price of the quantity's break for all its units (Harris 1913;
// breaks: Hadley & Whitin 1963). perYear is units a year, setup the cost of
// placing an order, rate the cost of holding one unit of money for a year.
//
// Where an order costs nothing to place, the smallest quantity of a break is
// best, which may be 0: order as it is used. Where holding costs nothing, a
// year's need is ordered, or up to a break above it. Numbers below zero, or no
// breaks, give 0 and 0.
func Economic(perYear, setup, rate float64, breaks []Break) (qty, costPerYear float64) {
	y := year{perYear, setup, rate}
	best := math.Inf(1)
	for _, r := range y.ranges(breaks) {
		q := max(y.harris(r.price), r.from)
		if q >= r.until {
			q = r.until - 1 // only where a longer order is dearer: breaks are whole units
		}
		if cost := y.cost(q, r.price); cost < best {
			qty, best = q, cost
		}
	}
	if math.IsInf(best, 1) {
		return 0, 0
	}
	return qty, best
}

// EconomicPacks is Economic in whole units that are a multiple of something:
// the quantity of least cost a year, 0 where nothing is used. Of equals it is
// the smallest.
func EconomicPacks(perYear, setup, rate float64, breaks []Break, multiple int) int {
	y, step := year{perYear, setup, rate}, float64(max(1, multiple))
	qty, best := 0.0, math.Inf(1)
	for _, r := range y.ranges(breaks) {
		least := math.Ceil(max(r.from, 1)/step) * step
		below := math.Floor(y.harris(r.price)/step) * step
		largest := math.Floor((r.until-1)/step) * step
		for _, q := range []float64{below, below + step} {
			q = max(min(q, largest), least)
			if cost := y.cost(q, r.price); q < r.until && cost < best {
				qty, best = q, cost
			}
		}
	}
	if perYear == 0 || qty >= math.MaxInt {
		return 0
	}
	return int(qty)
}

// year is what ordering one item over a year depends on, its price apart.
type year struct{ need, setup, rate float64 }

// harris is the quantity at which setups and holding cost the same.
func (y year) harris(price float64) float64 {
	switch hold := y.rate * price; {
	case y.setup == 0:
		return 0
	case hold == 0:
		return y.need
	default:
		return math.Sqrt(2 * y.setup * y.need / hold)
	}
}

func (y year) cost(qty, price float64) float64 {
	setups := 0.0
	if y.setup > 0 && y.need > 0 {
		setups = y.setup * y.need / qty
	}
	return y.need*price + setups + y.rate*price*qty/2
}

// priced is the quantities from, up to but not until, that have one price.
type priced struct{ from, until, price float64 }

// ranges lays breaks end to end; none where a number makes no sense.
func (y year) ranges(breaks []Break) []priced {
	if !sound(y.need) || !sound(y.setup) || !sound(y.rate) {
		return nil
	}
	sorted := slices.SortedStableFunc(slices.Values(breaks), func(a, b Break) int { return cmp.Compare(a.From, b.From) })
	var ranges []priced
	until := math.Inf(1)
	for _, b := range slices.Backward(sorted) {
		if !sound(b.Price) || b.From < 0 {
			return nil
		}
		if from := float64(b.From); from < until {
			ranges = append(ranges, priced{from, until, b.Price})
			until = from
		}
	}
	slices.Reverse(ranges)
	return ranges
}

// sound tells whether a number is finite and not below zero.
func sound(x float64) bool { return x >= 0 && !math.IsInf(x, 1) }
