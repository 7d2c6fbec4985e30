package plan

import (
	"math"
	"slices"
	"sync"
	"testing"

	"circlip/forecast"
	"circlip/inventory"
	"circlip/testdata/big"
)

// The large workshop's kinds of things, a fifth of its number, planned once for
// the tests below.
var (
	valley     = big.New(big.Size{Units: 400, Items: 240, Models: 4, Jobs: 4100, Open: 100}).Shop
	valleyPlan = sync.OnceValues(func() (Plan, error) { return Make(valley, Options{}) })
)

func planOfTheValley(t *testing.T) Plan {
	t.Helper()
	p, err := valleyPlan()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestALargeOrderReachesTheTarget(t *testing.T) {
	r := planOfTheValley(t).Readiness
	if r.WithOrder < r.Target || r.WithoutOrder > 0.5 {
		t.Errorf("readiness %.4f without and %.4f with the order, expected it low before and at least %.2f after", r.WithoutOrder, r.WithOrder, r.Target)
	}
	if r.Exact || r.StandardError <= 0 || r.StandardError > 0.002 {
		t.Errorf("exact %v, standard error %v, expected a simulation to less than 0.2 points", r.Exact, r.StandardError)
	}
}

func TestTheReasonsOfALargeOrderAddUp(t *testing.T) {
	p := planOfTheValley(t)
	lines := 0
	for _, o := range p.Orders {
		var goods inventory.Money
		for _, l := range o.Lines {
			lines++
			goods += l.Total
			i := p.item(l.Item.Code)
			var sum inventory.Quantity
			for _, c := range l.Why {
				sum += c.Qty
			}
			if sum != l.Qty || l.Qty != inventory.Quantity(l.Packs)*l.PackQty || i.OrderQty != l.Qty || i.OrderUpTo != i.Position+l.Qty {
				t.Errorf("%s: %d ordered in %d packs of %d, reasons %v, item %+v", l.Item.Code, l.Qty, l.Packs, l.PackQty, l.Why, i)
			}
		}
		if goods != o.Goods || o.Total != o.Goods+o.Carriage {
			t.Errorf("order to %s: lines come to %d, found goods %d and carriage %d in a total of %d", o.Supplier.Code, goods, o.Goods, o.Carriage, o.Total)
		}
	}
	if lines < 100 {
		t.Errorf("found %d lines, expected most of 240 items from a shelf that is far from ready", lines)
	}
}

func TestNoItemIsWorseOffWithTheOrder(t *testing.T) {
	p := planOfTheValley(t)
	for _, i := range p.Items {
		if i.Availability < i.AvailabilityWithout || (i.OrderQty == 0 && i.Availability != i.AvailabilityWithout) {
			t.Errorf("%s: availability %v, without the order of %d %v", i.Item.Code, i.Availability, i.OrderQty, i.AvailabilityWithout)
		}
	}
	rises := func(a, b Point) int {
		if b.StockValue < a.StockValue || b.Readiness < a.Readiness {
			return 1
		}
		return -1
	}
	if !slices.IsSortedFunc(p.Curve, rises) {
		t.Errorf("the curve falls somewhere: %+v", p.Curve)
	}
}

// The joint law of all jobs and the law of an item's demand from each unit's
// stages are worked out apart. They differ by the units' rarest ways, which the
// joint law does not follow to the end: some 0.0002 here.
func TestAvailabilityByTwoWays(t *testing.T) {
	p := planOfTheValley(t)
	out, err := Foresee(valley)
	if err != nil {
		t.Fatal(err)
	}
	v, s := out.view, out.shelf
	joint, err := s.law()
	if err != nil {
		t.Fatal(err)
	}
	takings := forecast.NewTakings(out.futures, out.streams, len(v.Items), s.lines(out.types), out.types.byWeek)
	spans := s.spans(rhythm.sees)
	off, n := 0.0, 0
	for _, level := range []func(Item) inventory.Quantity{func(i Item) inventory.Quantity { return i.Position }, func(i Item) inventory.Quantity { return i.OrderUpTo }} {
		levels := make([]int, len(p.Items))
		for at, i := range p.Items {
			levels[at] = s.inSteps(at, level(i))
		}
		r := joint.Readiness(levels)
		for at, i := range p.Items {
			expected := takings.Laws(spans[s.window(at)], []int{at})[0].CDF(levels[at])
			if math.Abs(r.Availability[at]-expected) > 0.0005 {
				t.Errorf("%s: availability %.4f at %d, by the law of demand %.4f", i.Item.Code, r.Availability[at], levels[at], expected)
			}
			off += r.Availability[at] - expected
			n++
		}
	}
	if mean := off / float64(n); math.Abs(mean) > 0.0001 {
		t.Errorf("availabilities lie %.4f above the laws of demand in the mean, expected less than 0.0001 from them", mean)
	}
}

func TestWeeksAreToldOfTheItemsWithMostAtStake(t *testing.T) {
	few := planOfTheValley(t)
	all, err := Make(valley, Options{EveryWeek: true})
	if err != nil {
		t.Fatal(err)
	}
	told := 0
	for at, i := range few.Items {
		if len(all.Items[at].Week) != len(all.Weeks) || len(all.Items[at].Through) != len(all.Weeks) {
			t.Fatalf("%s: asked for every week, found %d and %d, expected %d", i.Item.Code, len(all.Items[at].Week), len(all.Items[at].Through), len(all.Weeks))
		}
		if len(i.Week) == 0 {
			continue
		}
		told++
		if !slices.Equal(i.Week, all.Items[at].Week) {
			t.Errorf("%s: its weeks are others when all items' are asked for", i.Item.Code)
		}
	}
	if told != Told {
		t.Errorf("%d items are told of by week, expected %d", told, Told)
	}
}
