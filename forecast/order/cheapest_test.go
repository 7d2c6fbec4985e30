package order_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"circlip/forecast/order"
)

// at is an option that costs what is paid for it.
func at(supplier int, goods int64) order.Option {
	return order.Option{Supplier: supplier, Goods: goods, Cost: goods}
}

func item(options ...order.Option) order.Item { return order.Item{Options: options} }

func TestCheapest(t *testing.T) {
	for _, row := range []struct {
		name      string
		suppliers []order.Supplier
		items     []order.Item
		taken     []int
		cost      int64
	}{
		{"nothing needed is nothing paid", []order.Supplier{{Carriage: 600}}, nil, nil, 0},
		{"without carriage each item by itself", make([]order.Supplier, 2),
			[]order.Item{item(at(0, 50), at(1, 40)), item(at(0, 30), at(1, 35))}, []int{1, 0}, 70},
		{"a second carriage for less than it saves is not paid", []order.Supplier{{Carriage: 600}, {Carriage: 600}},
			[]order.Item{item(at(0, 4000)), item(at(0, 2450), at(1, 2400))}, []int{0, 0}, 7050},
		{"a second carriage for more than it costs is", []order.Supplier{{Carriage: 600}, {Carriage: 600}},
			[]order.Item{item(at(0, 4000)), item(at(0, 3450), at(1, 2400))}, []int{0, 1}, 7600},
		{"the supplier of all for the suppliers of each", []order.Supplier{{Carriage: 600}, {Carriage: 600}, {Carriage: 600}},
			[]order.Item{item(at(0, 1000), at(2, 1200)), item(at(1, 1000), at(2, 1200))}, []int{1, 1}, 3000},
		{"an item goes where it makes carriage free", []order.Supplier{{Carriage: 600, Free: true, FreeFrom: 8000}, {}},
			[]order.Item{item(at(0, 6000)), item(at(0, 2100), at(1, 2000))}, []int{0, 0}, 8100},
		{"free from is met exactly", []order.Supplier{{Carriage: 600, Free: true, FreeFrom: 8100}, {}},
			[]order.Item{item(at(0, 6000)), item(at(0, 2100), at(1, 2000))}, []int{0, 0}, 8100},
		{"one cent below is not", []order.Supplier{{Carriage: 600, Free: true, FreeFrom: 8101}, {}},
			[]order.Item{item(at(0, 6000)), item(at(0, 2100), at(1, 2000))}, []int{0, 1}, 8600},
		{"what is brought forward for carriage costs what holding it does", []order.Supplier{{Carriage: 600, Free: true, FreeFrom: 8000}},
			[]order.Item{item(at(0, 6000)), item(at(0, 1000), order.Option{Goods: 2000, Cost: 1040})}, []int{0, 1}, 7040},
		{"nothing is brought forward for more than carriage", []order.Supplier{{Carriage: 600, Free: true, FreeFrom: 8000}},
			[]order.Item{item(at(0, 6000)), item(at(0, 1000), order.Option{Goods: 2000, Cost: 1700})}, []int{0, 0}, 7600},
		{"a minimum draws items", []order.Supplier{{MinOrder: 5000}, {}},
			[]order.Item{item(at(0, 4000)), item(at(0, 1100), at(1, 1000))}, []int{0, 0}, 5100},
		{"or drives them off", []order.Supplier{{MinOrder: 5000}, {}},
			[]order.Item{item(at(0, 4000), at(1, 4050)), item(at(0, 1100), at(1, 1000))}, []int{1, 1}, 5050},
		{"free from nothing is free", []order.Supplier{{Carriage: 600, Free: true}}, []order.Item{item(at(0, 100))}, []int{0}, 100},
		{"a gift pays its carriage", []order.Supplier{{Carriage: 600}, {}}, []order.Item{item(at(0, 0), at(1, 500))}, []int{1}, 500},
		{"what saves more than it costs is below zero", []order.Supplier{{Carriage: 5}},
			[]order.Item{item(order.Option{Goods: 100, Cost: -30})}, []int{0}, -25},
	} {
		t.Run(row.name, func(t *testing.T) {
			p := order.Problem{Suppliers: row.suppliers, Items: row.items}
			choice, err := order.Cheapest(p, order.Effort{})
			if err != nil || choice.Cost != row.cost || !choice.Exact || cmp.Diff(choice.Taken, row.taken) != "" {
				t.Errorf("%+v, %v, expected %v for %d", choice, err, row.taken, row.cost)
			}
			if err := equalsBrute(p); err != nil {
				t.Error(err)
			}
		})
	}
}

func TestOfEqualCostsTheEarliestIsTaken(t *testing.T) {
	same := func(supplier, days int) order.Option {
		return order.Option{Supplier: supplier, Goods: 10, Cost: 10, Days: days}
	}
	for _, row := range []struct {
		name    string
		options []order.Option
		taken   int
	}{
		{"fewer days", []order.Option{same(0, 3), same(1, 2)}, 1},
		{"then the lower supplier", []order.Option{same(1, 2), same(0, 2)}, 1},
		{"then the lower option", []order.Option{same(1, 2), same(1, 2)}, 0},
		{"cost before days", []order.Option{{Supplier: 0, Goods: 11, Cost: 11}, same(1, 9)}, 1},
	} {
		t.Run(row.name, func(t *testing.T) {
			p := order.Problem{Suppliers: make([]order.Supplier, 2), Items: []order.Item{item(row.options...)}}
			if choice, err := order.Cheapest(p, order.Effort{}); err != nil || choice.Taken[0] != row.taken {
				t.Errorf("%v, %v, expected %d", choice.Taken, err, row.taken)
			}
		})
	}
}

func TestCheapestEqualsTryingAll(t *testing.T) {
	for _, row := range []struct {
		name     string
		cases    int
		minimums bool
	}{
		{"carriage that may be free", 30000, false},
		{"and minimum orders", 12000, true},
	} {
		t.Run(row.name, func(t *testing.T) {
			d := rand.New(rand.NewPCG(1, 2))
			for n := range row.cases {
				if p := small(d, row.minimums); equalsBrute(p) != nil {
					t.Fatalf("case %d: %v\n%+v", n, equalsBrute(p), p)
				}
			}
		})
	}
}

// throws lets rapid draw, so that it can make a failure small.
type throws struct{ *rapid.T }

func (d throws) IntN(n int) int { return rapid.IntRange(0, n-1).Draw(d.T, "n") }

func TestCheapestEqualsTryingAllProperty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := small(throws{t}, rapid.Bool().Draw(t, "minimums"))
		if err := equalsBrute(p); err != nil {
			t.Fatal(err)
		}
	})
}

// The random cases are worth something only if limits bind in them: if taking
// each item's cheapest option would often be wrong, and minimums often fail.
func TestRandomCasesBind(t *testing.T) {
	d := rand.New(rand.NewPCG(1, 2))
	greedy, impossible := 0, 0
	for range 1000 {
		p := small(d, true)
		least, found := brute(p)
		if !found {
			impossible++
			continue
		}
		if cost, allowed := bill(p, cheapestEach(p)); !allowed || cost > least {
			greedy++
		}
	}
	if greedy < 200 || impossible < 100 {
		t.Errorf("each item by itself fails in %d cases of 1000, minimums in %d, expected 200 and 100", greedy, impossible)
	}
}

// cheapestEach takes the cheapest option of every item by itself.
func cheapestEach(p order.Problem) []int {
	taken := make([]int, len(p.Items))
	for i, it := range p.Items {
		for o, option := range it.Options {
			if option.Cost < it.Options[taken[i]].Cost {
				taken[i] = o
			}
		}
	}
	return taken
}

func TestBoundIsBelowEveryChoice(t *testing.T) {
	d := rand.New(rand.NewPCG(3, 4))
	loose := 0
	for n := range 3000 {
		p := small(d, n%2 == 0)
		least, found := brute(p)
		choice, err := order.Cheapest(p, order.Effort{Nodes: 1 + n%40})
		if !found || err != nil {
			if !found && err == nil {
				t.Fatalf("case %d: a choice, expected none allowed", n)
			}
			p = withoutMinimums(p)
			least, _ = brute(p)
		}
		if choice.Bound > least || choice.Cost < least || choice.Exact != (choice.Bound == choice.Cost) {
			t.Fatalf("case %d: cost %d, bound %d, exact %v, the cheapest is %d", n, choice.Cost, choice.Bound, choice.Exact, least)
		}
		if err := figures(p, choice); err != nil {
			t.Fatalf("case %d: %v", n, err)
		}
		if !choice.Exact {
			loose++
		}
	}
	if loose == 0 {
		t.Error("few nodes sufficed in all cases, expected some in which they do not")
	}
}

func TestAnotherOptionNeverMakesItDearer(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := small(throws{t}, true)
		before, err := order.Cheapest(p, order.Effort{})
		if err != nil || len(p.Items) == 0 {
			return
		}
		at := rapid.IntRange(0, len(p.Items)-1).Draw(t, "item")
		goods := rapid.Int64Range(0, 60).Draw(t, "goods")
		p.Items[at].Options = append(p.Items[at].Options, order.Option{Goods: goods, Cost: goods - 3})
		if after, err := order.Cheapest(p, order.Effort{}); err != nil || after.Cost > before.Cost {
			t.Fatalf("%d, %v, expected at most %d", after.Cost, err, before.Cost)
		}
	})
}

func TestMinimumsThatCannotBeMet(t *testing.T) {
	p := order.Problem{
		Suppliers: []order.Supplier{{MinOrder: 50, Carriage: 7}, {MinOrder: 60}},
		Items:     []order.Item{item(at(0, 20), at(1, 30)), item(at(0, 25), at(1, 29))},
	}
	choice, err := order.Cheapest(p, order.Effort{})
	if !errors.Is(err, order.ErrMinimum) {
		t.Fatalf("%v, expected that minimums cannot be met", err)
	}
	if choice.Cost != 52 || choice.Goods[0] != 45 {
		t.Errorf("%+v, expected the cheapest without minimums, for 52", choice)
	}
}

// A minimum out of reach need not free other orders of theirs.
func TestAProblemIsEasedOfMinimumsOutOfReach(t *testing.T) {
	p := order.Problem{
		Suppliers: []order.Supplier{{MinOrder: 999}, {MinOrder: 50}, {MinOrder: 999}},
		Items:     []order.Item{item(at(0, 20)), item(at(1, 40), at(1, 55), at(2, 30))},
	}
	eased, some := p.Eased()
	choice, err := order.Cheapest(eased, order.Effort{})
	if !some || err != nil || choice.Goods[0] != 20 || choice.Goods[1] != 55 || !choice.Exact {
		t.Errorf("%+v, %v; expected 20 of the first, short of its minimum, and 55 of the second, which meets it", choice, err)
	}
	if p.Suppliers[0].MinOrder != 999 || eased.Suppliers[2].MinOrder != 999 {
		t.Errorf("%+v eased to %+v; expected the problem as it was, and no easing of whom nobody must ask", p.Suppliers, eased.Suppliers)
	}
	if _, some := eased.Eased(); some {
		t.Error("what is eased is eased again")
	}
	if _, some := (order.Problem{Items: []order.Item{{}}}).Eased(); some {
		t.Error("a problem that makes no sense is eased")
	}
}

func TestCheapestRefuses(t *testing.T) {
	good := func() order.Problem {
		return order.Problem{Suppliers: make([]order.Supplier, 1), Items: []order.Item{item(at(0, 1))}}
	}
	for _, row := range []struct {
		name  string
		spoil func(p *order.Problem)
		say   string
	}{
		{"an item without options", func(p *order.Problem) { p.Items[0].Options = nil }, "item 0 has no option"},
		{"a supplier that is not there", func(p *order.Problem) { p.Items[0].Options[0].Supplier = 1 }, "supplier 1, expected one of 1"},
		{"a supplier below zero", func(p *order.Problem) { p.Items[0].Options[0].Supplier = -1 }, "supplier -1"},
		{"goods below zero", func(p *order.Problem) { p.Items[0].Options[0].Goods = -1 }, "goods -1"},
		{"carriage below zero", func(p *order.Problem) { p.Suppliers[0].Carriage = -1 }, "carriage -1"},
		{"a minimum below zero", func(p *order.Problem) { p.Suppliers[0].MinOrder = -1 }, "minimum -1"},
		{"free from below zero", func(p *order.Problem) { p.Suppliers[0].FreeFrom = -1 }, "free from -1"},
		{"goods beyond counting", func(p *order.Problem) { p.Items[0].Options[0].Goods = math.MaxInt64 }, "goods 9223372036854775807"},
		{"a cost beyond counting", func(p *order.Problem) { p.Items[0].Options[0].Cost = math.MinInt64 }, "cost -9223372036854775808"},
		{"carriage beyond counting", func(p *order.Problem) { p.Suppliers[0].Carriage = math.MaxInt64 }, "come to more than"},
		{"items that are too much together", func(p *order.Problem) {
			p.Items = []order.Item{item(at(0, 1<<52)), item(at(0, 1<<52))}
		}, "come to more than"},
	} {
		t.Run(row.name, func(t *testing.T) {
			p := good()
			row.spoil(&p)
			_, err := order.Cheapest(p, order.Effort{})
			if !errors.Is(err, order.ErrProblem) || !strings.Contains(err.Error(), row.say) {
				t.Errorf("%v, expected a refusal that says %q", err, row.say)
			}
		})
	}
}

// Amounts near the largest allowed are as exact as small ones.
func TestLargeAmountsStayExact(t *testing.T) {
	d := rand.New(rand.NewPCG(5, 6))
	for n := range 300 {
		p := small(d, true)
		const times = 1 << 42
		for s := range p.Suppliers {
			p.Suppliers[s].Carriage *= times
			p.Suppliers[s].FreeFrom *= times
			p.Suppliers[s].MinOrder *= times
		}
		for _, it := range p.Items {
			for o := range it.Options {
				it.Options[o].Goods *= times
				it.Options[o].Cost = it.Options[o].Cost*times + int64(o)
			}
		}
		if err := equalsBrute(p); err != nil {
			t.Fatalf("case %d: %v\n%+v", n, err, p)
		}
	}
}

func TestSameInputSameChoiceAndInputUnchanged(t *testing.T) {
	p, untouched := workshop(1, 12, 60), workshop(1, 12, 60)
	first, err := order.Cheapest(p, order.Effort{})
	if err != nil {
		t.Fatal(err)
	}
	again, _ := order.Cheapest(p, order.Effort{})
	if diff := cmp.Diff(first, again); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff(untouched, p); diff != "" {
		t.Error(diff)
	}
}

// What the package promises of a workshop's week.
func TestWorkshopsAreChosenExactly(t *testing.T) {
	for _, row := range []struct {
		name             string
		make             func(seed uint64, suppliers, items int) order.Problem
		suppliers, items int
	}{
		{"a few items", workshop, 12, 20},
		{"a week", workshop, 12, 80},
		{"a thousand items", workshop, 12, 1000},
		{"a thousand items, limits near what each supplier gets", binding, 12, 1000},
	} {
		t.Run(row.name, func(t *testing.T) {
			for seed := range uint64(50) {
				p := row.make(seed, row.suppliers, row.items)
				choice, err := order.Cheapest(p, order.Effort{})
				if err != nil || !choice.Exact {
					t.Errorf("seed %d: cost %d, bound %d, %v, expected an exact choice", seed, choice.Cost, choice.Bound, err)
				} else if err := figures(p, choice); err != nil {
					t.Errorf("seed %d: %v", seed, err)
				}
			}
		})
	}
}

// Many suppliers of the same large goods, whose leasts all bind, are added up
// without running over.
func TestLargeAmountsOfManySuppliers(t *testing.T) {
	var p order.Problem
	for s := range 12 {
		p.Suppliers = append(p.Suppliers, order.Supplier{Carriage: 1, MinOrder: 1<<45 - int64(s)})
	}
	for range 3 {
		var it order.Item
		for s := range 12 {
			it.Options = append(it.Options, order.Option{Supplier: s, Goods: 1 << 44, Cost: 1<<44 + int64(s*s)})
		}
		p.Items = append(p.Items, it)
	}
	if err := equalsBrute(p); err != nil {
		t.Error(err)
	}
}
