package plan

import (
	"testing"

	"circlip/inventory"

	"pgregory.net/rapid"
)

// heldOf is the position by item, and what it is made of.
func heldOf(t interface {
	Helper()
	Fatal(...any)
}, shop inventory.Shop) held {
	t.Helper()
	out, err := Foresee(shop)
	if err != nil {
		t.Fatal(err)
	}
	return out.view.holdings(out.shelf)
}

func TestAPositionCountsNothingTwice(t *testing.T) {
	later := inventory.Job{Code: "J9", Model: "fell", Services: []string{"lower"}, BenchDate: monday + 50, State: inventory.Booked}
	aside := []inventory.SetAside{{Job: "J9", Qty: 4}}
	for _, c := range []struct {
		rule   string
		lots   []inventory.Lot
		orders []inventory.OrderLine
		want   inventory.Quantity
	}{
		{"what is there", []inventory.Lot{{Item: "wiper", OnHand: 10}}, nil, 10},
		{"what a later job has set aside is not there for others", []inventory.Lot{{Item: "wiper", OnHand: 10, SetAside: aside}}, nil, 6},
		{"what a job within the time has set aside is there for it", []inventory.Lot{{Item: "wiper", OnHand: 10, SetAside: []inventory.SetAside{{Job: "J1", Qty: 2}}}}, nil, 10},
		{"a lot that expires today is not there", []inventory.Lot{{Item: "wiper", OnHand: 10, Expires: monday}}, nil, 0},
		{"of a lot that expires before a later job, what is set aside for it serves nobody, and is not taken off twice",
			[]inventory.Lot{{Item: "wiper", OnHand: 4, Expires: monday + 5, SetAside: aside}}, nil, 0},
		{"of such a lot the rest counts as far as it is used in time",
			[]inventory.Lot{{Item: "wiper", OnHand: 100, Expires: monday + 5, SetAside: aside}}, nil, 4},
		{"two such lots do not count the same use twice",
			[]inventory.Lot{{Item: "wiper", Code: "a", OnHand: 100, Expires: monday + 5}, {Item: "wiper", Code: "b", OnHand: 100, Expires: monday + 5}}, nil, 4},
		{"what is on order and still to come", nil, []inventory.OrderLine{{Item: "wiper", Packs: 5, ReceivedPacks: 2, PackQty: 2}}, 6},
		{"what came is a lot by now", []inventory.Lot{{Item: "wiper", OnHand: 4}}, []inventory.OrderLine{{Item: "wiper", Packs: 2, ReceivedPacks: 2, PackQty: 2}}, 4},
		{"what came too much is not owed back", nil, []inventory.OrderLine{{Item: "wiper", Packs: 2, ReceivedPacks: 3, PackQty: 2}}, 0},
		{"of a closed order nothing comes", nil, []inventory.OrderLine{{Item: "wiper", Packs: 5, PackQty: 2, ClosedOn: monday - 1}}, 0},
	} {
		t.Run(c.rule, func(t *testing.T) {
			shop := parkShop()
			shop.Jobs = append(shop.Jobs, later)
			shop.Lots, shop.Orders = c.lots, c.orders
			if got := heldOf(t, shop).position(3); got != c.want {
				t.Errorf("position %d, expected %d", got, c.want)
			}
		})
	}
}

// Two lots alike but for their code are one lot, and two order lines are one;
// their order does not matter; and what is set aside is taken off once.
func TestPositionsDoNotDependOnHowThingsAreWrittenDown(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shop := parkShop()
		shop.Lots, shop.Orders = nil, nil
		shop.Jobs = append(shop.Jobs, inventory.Job{Code: "J9", Model: "fell", Services: []string{"lower"}, BenchDate: monday + 40, State: inventory.Booked})
		split := shop
		for n := range rapid.IntRange(0, 5).Draw(t, "lots") {
			l := inventory.Lot{Item: "wiper", Code: string(rune('a' + n)), OnHand: inventory.Quantity(rapid.IntRange(0, 12).Draw(t, "on hand"))}
			l.Expires = rapid.SampledFrom([]inventory.Date{0, monday - 1, monday + 4, monday + 4, monday + 9, monday + 60}).Draw(t, "expires")
			job := rapid.SampledFrom([]string{"J1", "J9"}).Draw(t, "for")
			aside := inventory.Quantity(rapid.IntRange(0, int(l.OnHand)).Draw(t, "set aside"))
			l.SetAside = []inventory.SetAside{{Job: job, Qty: aside}}
			part := inventory.Quantity(rapid.IntRange(0, int(l.OnHand)).Draw(t, "part"))
			first, second := l, l
			first.OnHand, second.OnHand, second.Code = part, l.OnHand-part, l.Code+"2"
			first.SetAside = []inventory.SetAside{{Job: job, Qty: min(aside, part)}}
			second.SetAside = []inventory.SetAside{{Job: job, Qty: aside - min(aside, part)}}
			shop.Lots, split.Lots = append(shop.Lots, l), append(split.Lots, second, first)
		}
		for range rapid.IntRange(0, 3).Draw(t, "orders") {
			o := inventory.OrderLine{Order: "PO", Item: "wiper", Packs: rapid.IntRange(0, 6).Draw(t, "packs"), PackQty: 2}
			part := o
			part.Packs = rapid.IntRange(0, o.Packs).Draw(t, "part")
			rest := o
			rest.Packs -= part.Packs
			shop.Orders, split.Orders = append(shop.Orders, o), append(split.Orders, rest, part)
		}
		split.Lots = rapid.Permutation(split.Lots).Draw(t, "order")
		whole, parts := heldOf(t, shop), heldOf(t, split)
		if whole.position(3) != parts.position(3) || whole.onHand[3] != parts.onHand[3] || whole.setAside[3] != parts.setAside[3] {
			t.Errorf("position %d of %d on hand; in parts %d of %d", whole.position(3), whole.onHand[3], parts.position(3), parts.onHand[3])
		}
		most := inventory.Quantity(0)
		for _, l := range shop.Lots {
			most += l.OnHand
		}
		for _, o := range shop.Orders {
			most += o.Outstanding()
		}
		if p := whole.position(3); p < 0 || p > most {
			t.Errorf("position %d of %d there and to come", p, most)
		}
	})
}
