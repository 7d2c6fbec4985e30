package cost

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"circlip/inventory"
)

// drawShop draws a workshop of a few items, some on offer, and a few jobs of one
// or two services, some of which the book forgot.
func drawShop(t *rapid.T) inventory.Shop {
	shop := forks()
	shop.Items = []inventory.Item{
		{Code: "grease", Measure: inventory.Gram}, {Code: "oil", Measure: inventory.Millilitre}, {Code: "wiper", Measure: inventory.Each},
	}
	for _, i := range shop.Items {
		if rapid.Bool().Draw(t, "offered") {
			shop.Offers = append(shop.Offers, inventory.Offer{
				Item: i.Code, Supplier: "ravelin", FromPacks: 1,
				PackQty: inventory.Quantity(rapid.Int64Range(1, 10_000).Draw(t, "pack")), Price: inventory.Money(rapid.Int64Range(0, 50_000).Draw(t, "price")),
			})
		}
	}
	for n := range rapid.IntRange(0, 4).Draw(t, "jobs") {
		services := rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"damp", "full", "lower"}), 1, 3, rapid.ID).Draw(t, "services")
		shop.Jobs = append(shop.Jobs, done(fmt.Sprint("J", n), 1+n, services...))
	}
	return shop
}

// drawLedger draws lots that come, are used, lost, found, sent back and undone,
// in any order that leaves nothing below zero.
func drawLedger(t *rapid.T, shop inventory.Shop) ledger {
	var l ledger
	for n := range rapid.IntRange(0, 6).Draw(t, "lots") {
		item := rapid.SampledFrom(shop.Items).Draw(t, "item").Code
		cost := inventory.UnitCost(rapid.OneOf(rapid.Just(int64(0)), rapid.Int64Range(1, 100_000_000)).Draw(t, "cost"))
		day := on(time.January, 1) + inventory.Date(rapid.IntRange(0, 60).Draw(t, "first day"))
		from := rapid.SampledFrom([]inventory.Place{inventory.FromStart, inventory.FromOrder, inventory.OpenedKit}).Draw(t, "from")
		onHand := inventory.Quantity(rapid.Int64Range(1, 20_000).Draw(t, "came"))
		moves := []Move{{On: day, Place: from, Supplier: "ravelin", Qty: onHand}}
		for range rapid.IntRange(0, 12).Draw(t, "moves") {
			m := drawMove(t, onHand, moves)
			day += inventory.Date(rapid.IntRange(0, 20).Draw(t, "days"))
			m.On = min(day, shop.AsOf)
			onHand += m.Qty
			moves = append(moves, m)
		}
		l.lot(item, fmt.Sprint("L", n), cost, moves...)
	}
	return l
}

// drawMove draws what may happen to a lot with so much on hand.
func drawMove(t *rapid.T, onHand inventory.Quantity, earlier []Move) Move {
	if last := earlier[len(earlier)-1]; !last.Undoes && last.Qty <= onHand && rapid.IntRange(0, 4).Draw(t, "undo") == 0 {
		return undone(last, last.On)
	}
	place := rapid.SampledFrom([]inventory.Place{inventory.FromOrder, inventory.AtJob, inventory.Wasted, inventory.Difference}).Draw(t, "place")
	m := Move{Place: place, Supplier: "ravelin", Ref: rapid.SampledFrom([]string{"J0", "J1", "J2", "lost"}).Draw(t, "ref")}
	least, most := -int64(onHand), int64(20_000)
	if place == inventory.AtJob || place == inventory.Wasted {
		most = 0
	}
	m.Qty = inventory.Quantity(rapid.Int64Range(least, most).Draw(t, "qty"))
	return m
}

// What came less what left is what is there, to the last minor unit; months,
// suppliers, services and items each add up to the whole.
func TestEverythingAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shop := drawShop(t)
		l := drawLedger(t, shop)
		moves := slices.Clone(l.Moves)
		a, err := Of(shop, l.Records)
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(moves, l.Moves) {
			t.Fatal("the movements handed in were changed")
		}
		// worth is worked out apart from the account: from what is on hand.
		worth, usual := inventory.Money(0), map[string]inventory.UnitCost{}
		measures := map[string]inventory.Measure{}
		for _, i := range shop.Items {
			measures[i.Code] = i.Measure
		}
		for _, o := range shop.Offers { // one an item
			usual[o.Item] = inventory.CostOf(o.Price, o.PackQty, measures[o.Item])
		}
		for _, lot := range l.Lots {
			c := lot.UnitCost
			if c == 0 {
				c = usual[lot.Item]
			}
			worth += inventory.Value(lot.OnHand, measures[lot.Item], c)
		}
		same := func(what string, found, expected inventory.Money) {
			if found != expected {
				t.Fatalf("%s: found %d, expected %d", what, found, expected)
			}
		}
		same("the stock", a.Stock, worth)
		same("what came less what left", a.Flow.Change(), worth)
		if len(a.Months) > 0 {
			same("the last month's end", a.Months[len(a.Months)-1].End, worth)
		}
		var sums struct{ items, bought, used inventory.Money }
		for _, i := range a.Items {
			sums.items += i.Value
		}
		for _, s := range a.Suppliers {
			sums.bought += s.Spend
		}
		for _, s := range a.Services {
			sums.used += s.Spend
		}
		same("the items", sums.items, worth)
		same("the suppliers", sums.bought, a.Flow.Bought)
		same("the services", sums.used, a.Flow.Used)
		for n, m := range a.Months {
			same("the end of "+m.Month.String(), m.End, m.Start+m.Change())
			if n > 0 {
				same("the start of "+m.Month.String(), m.Start, a.Months[n-1].End)
			}
		}
	})
}

// No amount is further from its quantity at its cost than a minor unit a move.
func TestNoMoveIsRoundedByMoreThanAMinorUnit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shop := drawShop(t)
		l := drawLedger(t, shop)
		s, err := newShelf(shop, l.Lots)
		if err != nil {
			t.Fatal(err)
		}
		values, err := s.values(l.Moves)
		if err != nil {
			t.Fatal(err)
		}
		for n, m := range l.Moves {
			lot := s.named[lotKey{m.Item, m.Lot}]
			exact := float64(m.Qty) * float64(lot.cost) / float64(lot.measure.Steps()*10_000)
			if off := float64(values[n]) - exact; off > 1+1e-6 || off < -1-1e-6 {
				t.Fatalf("%+v at %d: found %d, expected %v", m, lot.cost, values[n], exact)
			}
		}
	})
}
