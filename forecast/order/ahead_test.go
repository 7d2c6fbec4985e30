package order_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"

	"circlip/forecast/order"
)

// laid reckons a schedule from its definition; false: a week's goods are not
// ordered, or twice.
func laid(weeks []order.Week, t order.Terms, cover []int) (cost float64, whole bool) {
	times := make([]int, len(weeks))
	for u, n := range cover {
		if n == 0 {
			continue
		}
		goods := int64(0)
		for w := u; w < u+n; w++ {
			goods += weeks[w].Goods
			cost += t.Hold * float64(weeks[w].Goods) * float64(w-u)
			times[w]++
		}
		if !t.Free || goods < t.FreeFrom {
			cost += float64(weeks[u].Carriage)
		}
	}
	for w, n := range times {
		if n > 1 || n == 0 && weeks[w].Goods > 0 {
			return cost, false
		}
	}
	return cost, true
}

// bruteAhead goes through all sets of weeks in which orders are placed, each
// of which lasts until the next; one for nothing is not placed.
func bruteAhead(weeks []order.Week, t order.Terms) float64 {
	best := math.Inf(1)
	for set := range 1 << len(weeks) {
		cover, until, first := make([]int, len(weeks)), len(weeks), int64(0)
		for u := len(weeks) - 1; u >= 0; u-- {
			first += weeks[u].Goods
			if set>>u&1 == 1 {
				if first > 0 {
					cover[u] = until - u
				}
				until, first = u, 0
			}
		}
		if cost, whole := laid(weeks, t, cover); whole {
			best = min(best, cost)
		}
	}
	return best
}

func TestAheadPublished(t *testing.T) {
	series := map[string]map[string]string{}
	for _, row := range published(t, "5a_dynamic_lot_sizing_series.csv") {
		series[row["example"]] = row
	}
	seen := 0
	for _, row := range published(t, "5a_dynamic_lot_sizing.csv") {
		example := series[row["example"]]
		var weeks []order.Week
		setups := numbers(t, example["setup"])
		for w, demand := range numbers(t, example["demand"]) {
			weeks = append(weeks, order.Week{Goods: int64(demand), Carriage: int64(setups[w])})
		}
		terms := order.Terms{Hold: number(t, example["hold"])}
		switch row["method"] {
		case "wagner_whitin":
			seen++
			checkAhead(t, row["example"], weeks, terms, number(t, row["total_cost"]))
		case "wagner_whitin_prefix_costs": // of the series cut off after each period
			seen++
			for n, cost := range numbers(t, row["q_by_period"]) {
				checkAhead(t, row["example"], weeks[:n+1], terms, cost)
			}
		default: // a simpler rule is never cheaper
			if got := order.Ahead(weeks, terms); got.Cost > number(t, row["total_cost"])+1e-9 {
				t.Errorf("%s: %v, %s costs %s", row["example"], got.Cost, row["method"], row["total_cost"])
			}
		}
	}
	if seen != 6 {
		t.Errorf("%d rows of the exact method, expected 6", seen)
	}
}

func checkAhead(t *testing.T, name string, weeks []order.Week, terms order.Terms, want float64) {
	t.Helper()
	got := order.Ahead(weeks, terms)
	if cost, whole := laid(weeks, terms, got.Cover); !whole || !near(cost, want) || !near(got.Cost, want) {
		t.Errorf("%s, %d periods: %v costs %v, whole %v, expected %v", name, len(weeks), got, cost, whole, want)
	}
}

func TestAhead(t *testing.T) {
	week := func(goods int64) order.Week { return order.Week{Goods: goods, Carriage: 600} }
	for _, row := range []struct {
		name  string
		weeks []order.Week
		terms order.Terms
		cover []int
		cost  float64
	}{
		{"no weeks", nil, order.Terms{}, []int{}, 0},
		{"nothing falls due, nothing is ordered", []order.Week{week(0), week(0)}, order.Terms{Hold: 1}, []int{0, 0}, 0},
		{"holding for less than a second carriage", []order.Week{week(5000), week(5000)}, order.Terms{Hold: 0.1}, []int{2, 0}, 1100},
		{"holding for more", []order.Week{week(5000), week(5000)}, order.Terms{Hold: 0.2}, []int{1, 1}, 1200},
		{"of equals the shorter order first", []order.Week{week(5000), week(6000)}, order.Terms{Hold: 0.1}, []int{1, 1}, 1200},
		{"an empty week ahead is waited for", []order.Week{week(0), week(5000)}, order.Terms{Hold: 0.1}, []int{0, 1}, 600},
		{"unless its carriage is less", []order.Week{{Carriage: 50}, week(5000)}, order.Terms{Hold: 0.1}, []int{2, 0}, 550},
		{"together up to free carriage", []order.Week{week(5000), week(5000)}, order.Terms{FreeFrom: 10000, Free: true, Hold: 0.2}, []int{2, 0}, 1000},
		{"not if holding costs more than carriage", []order.Week{week(5000), week(5000)}, order.Terms{FreeFrom: 10000, Free: true, Hold: 0.25}, []int{1, 1}, 1200},
		{"what is free by itself is not held", []order.Week{week(10000), week(10000)}, order.Terms{FreeFrom: 10000, Free: true, Hold: 0.001}, []int{1, 1}, 0},
		{"holding for no number costs nothing", []order.Week{week(1), week(1)}, order.Terms{Hold: math.NaN()}, []int{2, 0}, 600},
		{"holding for nothing is one order", []order.Week{week(1), week(1), week(1)}, order.Terms{}, []int{3, 0, 0}, 600},
	} {
		t.Run(row.name, func(t *testing.T) {
			got := order.Ahead(row.weeks, row.terms)
			if diff := cmp.Diff(row.cover, got.Cover); diff != "" || !near(got.Cost, row.cost) {
				t.Errorf("%v, expected %v for %v", got, row.cover, row.cost)
			}
		})
	}
}

func TestAheadEqualsTryingAll(t *testing.T) {
	for _, row := range []struct {
		name string
		free bool
	}{{"carriage always", false}, {"carriage that may be free", true}} {
		t.Run(row.name, func(t *testing.T) {
			d := rand.New(rand.NewPCG(1, 2))
			together := 0
			for range 2000 {
				weeks := make([]order.Week, 1+d.IntN(8))
				for w := range weeks {
					weeks[w] = order.Week{Goods: max(0, d.Int64N(120)-20), Carriage: d.Int64N(60)}
				}
				terms := order.Terms{FreeFrom: d.Int64N(200), Free: row.free, Hold: d.Float64()}
				got, want := order.Ahead(weeks, terms), bruteAhead(weeks, terms)
				if cost, whole := laid(weeks, terms, got.Cover); !whole || !near(cost, want) || !near(got.Cost, want) {
					t.Fatalf("%v, %v: %v costs %v, whole %v, expected %v", weeks, terms, got, cost, whole, want)
				}
				for _, n := range got.Cover {
					if n > 1 {
						together++
						break
					}
				}
			}
			if together < 500 {
				t.Errorf("weeks were put together in %d cases of 2000, expected 500 at least", together)
			}
		})
	}
}

// Without free carriage no plan at all is cheaper, not even one that splits a
// week's goods: tried over all ways to spread whole units of three weeks.
func TestNoSplitIsCheaperWithoutFreeCarriage(t *testing.T) {
	d := rand.New(rand.NewPCG(3, 4))
	for range 300 {
		weeks := make([]order.Week, 3)
		for w := range weeks {
			weeks[w] = order.Week{Goods: d.Int64N(6), Carriage: d.Int64N(9)}
		}
		hold, best := 2*d.Float64(), math.Inf(1)
		total := weeks[0].Goods + weeks[1].Goods + weeks[2].Goods
		for first := weeks[0].Goods; first <= total; first++ {
			for second := max(0, weeks[0].Goods+weeks[1].Goods-first); first+second <= total; second++ {
				best = min(best, spread(weeks, hold, [3]int64{first, second, total - first - second}))
			}
		}
		if got := order.Ahead(weeks, order.Terms{Hold: hold}); !near(got.Cost, best) {
			t.Fatalf("%v, hold %v: %v, expected %v", weeks, hold, got, best)
		}
	}
}

// spread is what so many units ordered in each week cost.
func spread(weeks []order.Week, hold float64, ordered [3]int64) (cost float64) {
	stock := int64(0)
	for w, n := range ordered {
		if n > 0 {
			cost += float64(weeks[w].Carriage)
		}
		stock += n - weeks[w].Goods
		cost += hold * float64(stock)
	}
	return cost
}
