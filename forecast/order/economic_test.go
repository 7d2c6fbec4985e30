package order_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"circlip/forecast/order"
)

func TestEconomicPublished(t *testing.T) {
	for _, row := range published(t, "5b_eoq.csv") {
		need, setup, hold := number(t, row["D"]), number(t, row["K"]), number(t, row["h"])
		price := []order.Break{{Price: 1}}
		qty, cost := order.Economic(need, setup, hold, price)
		if !near(qty, number(t, row["Q"])) || !near(cost-need, number(t, row["cost_per_year"])) {
			t.Errorf("%v: %v for %v a year", row, qty, cost-need)
		}
		whole := order.EconomicPacks(need, setup, hold, price, 1)
		if float64(whole) != number(t, row["best_integer_Q"]) {
			t.Errorf("%v: %d in whole units", row, whole)
		}
	}
}

func TestEconomicWithBreaksPublished(t *testing.T) {
	parameters := map[string]map[string]string{}
	for _, row := range published(t, "5c_quantity_discount_parameters.csv") {
		parameters[row["example"]] = row
	}
	breaks, optimal := map[string][]order.Break{}, map[string]map[string]string{}
	economic := func(example string, breaks []order.Break) (float64, float64) {
		p := parameters[example]
		return order.Economic(number(t, p["per_year"]), number(t, p["setup"]), number(t, p["rate"]), breaks)
	}
	for _, row := range published(t, "5c_quantity_discount.csv") {
		if row["type"] != "all_units" {
			continue
		}
		at := order.Break{From: int(number(t, row["min_q"])), Price: number(t, row["price"])}
		breaks[row["example"]] = append(breaks[row["example"]], at)
		if row["optimal"] == "1" {
			optimal[row["example"]] = row
		}
		if row["candidate_q"] == "" {
			continue
		}
		if qty, cost := economic(row["example"], []order.Break{at}); !near(qty, number(t, row["candidate_q"])) || !near(cost, number(t, row["total_cost"])) {
			t.Errorf("%v: %v for %v at that price alone", row, qty, cost)
		}
	}
	if len(optimal) != 3 {
		t.Fatalf("%d examples, expected 3", len(optimal))
	}
	for example, row := range optimal {
		if qty, cost := economic(example, breaks[example]); !near(qty, number(t, row["candidate_q"])) || !near(cost, number(t, row["total_cost"])) {
			t.Errorf("%v: %v for %v", row, qty, cost)
		}
	}
}

func near(got, want float64) bool { return math.Abs(got-want) <= 1e-9*max(1, math.Abs(want)) }

func TestEconomic(t *testing.T) {
	for _, row := range []struct {
		name                 string
		perYear, setup, rate float64
		breaks               []order.Break
		qty, cost            float64
	}{
		{"an order that costs nothing is as small as it may be", 100, 0, 0.2, []order.Break{{1, 5}}, 1, 500.5},
		{"or nothing at a time", 100, 0, 0.2, []order.Break{{0, 5}}, 0, 500},
		{"unless a break pays", 100, 0, 0.2, []order.Break{{1, 5}, {10, 4.5}, {200, 4.4}}, 10, 454.5},
		{"nothing used, nothing paid", 0, 8, 0.2, []order.Break{{0, 5}}, 0, 0},
		{"holding for nothing: a year at once", 100, 8, 0, []order.Break{{1, 5}}, 100, 508},
		{"or a break above it", 100, 8, 0, []order.Break{{1, 5}, {200, 4}}, 200, 404},
		{"breaks in any order", 600, 8, 0.2, []order.Break{{1000, 0.28}, {0, 0.30}, {500, 0.29}}, 500, 198.1},
		{"a dearer price for more is kept clear of", 600, 8, 0.2, []order.Break{{0, 0.30}, {300, 0.60}}, 299, 180 + 8*600/299.0 + 0.2*0.30*299/2},
		{"no breaks", 100, 8, 0.2, nil, 0, 0},
		{"not a number", math.NaN(), 8, 0.2, []order.Break{{0, 5}}, 0, 0},
		{"a price below zero", 100, 8, 0.2, []order.Break{{0, -5}}, 0, 0},
		{"without end", math.Inf(1), 8, 0.2, []order.Break{{0, 5}}, 0, 0},
	} {
		t.Run(row.name, func(t *testing.T) {
			qty, cost := order.Economic(row.perYear, row.setup, row.rate, row.breaks)
			if !near(qty, row.qty) || !near(cost, row.cost) {
				t.Errorf("%v for %v, expected %v for %v", qty, cost, row.qty, row.cost)
			}
		})
	}
}

// someBreaks draws up to four prices that fall.
func someBreaks(d *rand.Rand) []order.Break {
	breaks := []order.Break{{From: 1, Price: 1 + 9*d.Float64()}}
	for range d.IntN(4) {
		last := breaks[len(breaks)-1]
		breaks = append(breaks, order.Break{From: last.From + 1 + d.IntN(60), Price: last.Price * (0.85 + 0.15*d.Float64())})
	}
	return breaks
}

// yearly is the cost of ordering so many at a time, from its definition.
func yearly(perYear, setup, rate float64, breaks []order.Break, qty float64) float64 {
	price := 0.0
	for _, b := range breaks {
		if float64(b.From) <= qty {
			price = b.Price
		}
	}
	return perYear*price + setup*perYear/qty + rate*price*qty/2
}

func TestEconomicPacksEqualsTryingAll(t *testing.T) {
	d := rand.New(rand.NewPCG(1, 2))
	for range 2000 {
		perYear, setup, rate, breaks := 1+400*d.Float64(), 20*d.Float64(), 0.1+0.4*d.Float64(), someBreaks(d)
		multiple := 1 + d.IntN(12)
		best := 0
		for qty := multiple; qty <= 2000; qty += multiple {
			if best == 0 || yearly(perYear, setup, rate, breaks, float64(qty)) < yearly(perYear, setup, rate, breaks, float64(best)) {
				best = qty
			}
		}
		if got := order.EconomicPacks(perYear, setup, rate, breaks, multiple); got != best {
			t.Fatalf("%v a year, setup %v, rate %v, %v, multiples of %d: %d, expected %d", perYear, setup, rate, breaks, multiple, got, best)
		}
		qty, cost := order.Economic(perYear, setup, rate, breaks)
		if whole := yearly(perYear, setup, rate, breaks, float64(best)); cost > whole+1e-9 || !near(cost, yearly(perYear, setup, rate, breaks, qty)) {
			t.Fatalf("%v for %v, whole multiples %v", qty, cost, whole)
		}
	}
}

func TestEconomicPacks(t *testing.T) {
	price := []order.Break{{1, 5}}
	for _, row := range []struct {
		name                 string
		perYear, setup, rate float64
		breaks               []order.Break
		multiple, packs      int
	}{
		{"nothing used, nothing ordered", 0, 8, 0.2, price, 1, 0},
		{"no multiple is any number", 100, 0, 0.2, price, 0, 1},
		{"an order for nothing is one multiple", 100, 0, 0.2, price, 6, 6},
		{"no breaks", 100, 8, 0.2, nil, 1, 0},
		{"of equals the smallest", 1, 3, 1, []order.Break{{1, 1}}, 1, 2},
		{"a break between two multiples counts from the next", 100, 0, 0.2, []order.Break{{1, 5}, {7, 4}}, 6, 12},
		{"a price that no multiple falls on is not had", 100, 0, 0.2, []order.Break{{1, 5}, {7, 1}, {11, 4.9}}, 6, 12},
	} {
		t.Run(row.name, func(t *testing.T) {
			if got := order.EconomicPacks(row.perYear, row.setup, row.rate, row.breaks, row.multiple); got != row.packs {
				t.Errorf("%d, expected %d", got, row.packs)
			}
		})
	}
}
