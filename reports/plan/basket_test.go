package plan

import (
	"slices"
	"testing"

	"circlip/inventory"
)

// The small park orders three packs of wipers at 9.60 and one of wipes at 15.00
// from near, and two kits at 18.00 from far.
func TestWhereAWeekIsBought(t *testing.T) {
	near, far := func(s *inventory.Shop) *inventory.Supplier { return &s.Suppliers[0] }, func(s *inventory.Shop) *inventory.Supplier { return &s.Suppliers[1] }
	kitFromNear := func(s *inventory.Shop, price inventory.Money) {
		far(s).Carriage = 5_00
		s.Offers = append(s.Offers, inventory.Offer{Item: "kit", Supplier: "near", FromPacks: 1, PackQty: 1, Price: price})
	}
	for _, c := range []struct {
		rule     string
		change   func(*inventory.Shop)
		supplier string // of the order looked at
		packs    []int  // of its lines
		carriage inventory.Money
		total    inventory.Money // of all orders
	}{
		{"each where it is cheapest", func(*inventory.Shop) {}, "near", []int{3, 1}, 5_00, 84_80},
		{"kits that are 1.00 dearer, where that saves a carriage of 5.00", func(s *inventory.Shop) { kitFromNear(s, 19_00) }, "near", []int{2, 3, 1}, 5_00, 86_80},
		{"but not if they are 3.00 dearer", func(s *inventory.Shop) { kitFromNear(s, 21_00) }, "near", []int{3, 1}, 5_00, 89_80},
		{"a fourth pack of wipers, if with it carriage of 12.00 is free", func(s *inventory.Shop) {
			near(s).Carriage, near(s).CarriageFreeFrom = 12_00, 50_00
		}, "near", []int{4, 1}, 0, 89_40},
		{"but not to save a carriage of 5.00", func(s *inventory.Shop) { near(s).CarriageFreeFrom = 50_00 }, "near", []int{3, 1}, 5_00, 84_80},
		{"a fourth pack, if the supplier takes no less", func(s *inventory.Shop) { near(s).MinOrder = 50_00 }, "near", []int{4, 1}, 5_00, 94_40},
		{"what is needed, if no thirteen weeks' use reach the minimum", func(s *inventory.Shop) { near(s).MinOrder = 999_00 }, "near", []int{3, 1}, 5_00, 84_80},
		{"a fourth pack for a minimum in reach, though that of another order is not", func(s *inventory.Shop) {
			near(s).MinOrder, far(s).MinOrder = 50_00, 999_00
		}, "near", []int{4, 1}, 5_00, 94_40},
		{"four packs, if they cost less than three", func(s *inventory.Shop) {
			many := s.Offers[2]
			many.FromPacks, many.Price = 4, 7_00
			s.Offers = append(s.Offers, many)
		}, "near", []int{4, 1}, 5_00, 84_00},
		{"nothing from those who come too late, however cheap", func(s *inventory.Shop) {
			few := inventory.Offer{Item: "wiper", Supplier: "far", FromPacks: 1, PackQty: 1, Price: 4_90}
			many := few
			many.FromPacks, many.Price = 6, 3_00
			s.Offers = append(s.Offers, few, many)
			far(s).LeadDays = 4 // on Thursday: a day after near's would have come
		}, "near", []int{3, 1}, 5_00, 84_80},
	} {
		t.Run(c.rule, func(t *testing.T) {
			shop := parkShop()
			c.change(&shop)
			p := planOf(t, shop)
			at := slices.IndexFunc(p.Orders, func(o Order) bool { return o.Supplier.Code == c.supplier })
			if at < 0 {
				t.Fatalf("found %+v, expected an order to %s", p.Orders, c.supplier)
			}
			var packs []int
			for _, l := range p.Orders[at].Lines {
				packs = append(packs, l.Packs)
			}
			if o := p.Orders[at]; !slices.Equal(packs, c.packs) || o.Carriage != c.carriage || paid(p) != c.total {
				t.Errorf("%v packs, carriage %d, %d in all; expected %v, %d, %d", packs, o.Carriage, paid(p), c.packs, c.carriage, c.total)
			}
			told := slices.ContainsFunc(p.Limits, func(l Limit) bool { return l.Kind == MinimumLimit && l.Of == c.supplier })
			if below := p.Orders[at].Goods < p.Orders[at].Supplier.MinOrder; below != told {
				t.Errorf("goods of %d, minimum %d, told: %v", p.Orders[at].Goods, p.Orders[at].Supplier.MinOrder, told)
			}
		})
	}
}
