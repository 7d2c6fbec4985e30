package plan

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"circlip/inventory"

	"pgregory.net/rapid"
)

// picksOf is an order as it was proposed.
func picksOf(p Plan) []Pick {
	var picks []Pick
	for _, o := range p.Orders {
		for _, l := range o.Lines {
			picks = append(picks, Pick{o.Supplier.Code, l.Item.Code, l.Packs, l.PackQty})
		}
	}
	return picks
}

func TestAnOrderAsProposedIsJudgedAsPlanned(t *testing.T) {
	for name, shop := range map[string]inventory.Shop{"small park": parkShop(), "large workshop": valley} {
		t.Run(name, func(t *testing.T) {
			p, out, err := MakeWith(shop, Options{})
			if err != nil {
				t.Fatal(err)
			}
			j, err := out.Judge(Options{}, picksOf(p))
			if err != nil {
				t.Fatal(err)
			}
			if j.Readiness != p.Readiness || len(j.Broken) > 0 {
				t.Errorf("readiness %+v, planned %+v; broken %q", j.Readiness, p.Readiness, j.Broken)
			}
			for i, o := range p.Orders {
				for k := range o.Lines {
					o.Lines[k].Why = nil
				}
				if !reflect.DeepEqual(j.Orders[i], o) {
					t.Errorf("judged %+v, planned %+v", j.Orders[i], o)
				}
			}
			if none, err := out.Judge(Options{}, nil); err != nil || none.Readiness.WithOrder != p.Readiness.WithoutOrder || len(none.Orders) > 0 {
				t.Errorf("without any line: %+v, %v", none, err)
			}
		})
	}
}

// Whatever suppliers offer: the same packs cost the same, are there at the same
// time, break no rule but the minimums that the plan tells of, and make as many
// jobs ready; and so do those that are worth bringing forward.
func TestAnyOrderAsProposedIsJudgedAsPlanned(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, out, err := MakeWith(limited(t, anyShop(t)), Options{})
		if err != nil {
			t.Fatal(err)
		}
		j, err := out.Judge(Options{}, picksOf(p))
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range allLines(Plan{Orders: p.Orders}) {
			l.Why = nil
			if !slices.ContainsFunc(allLines(Plan{Orders: j.Orders}), func(as Line) bool { return reflect.DeepEqual(as, l) }) {
				t.Errorf("planned %+v, judged %+v", l, j.Orders)
			}
		}
		below := len(j.Broken)
		for _, l := range p.Limits {
			if l.Kind == MinimumLimit {
				below--
			}
		}
		if j.Readiness != p.Readiness || below != 0 {
			t.Errorf("readiness %+v, planned %+v; broken %q", j.Readiness, p.Readiness, j.Broken)
		}
		for _, f := range p.Forward {
			more, err := out.Judge(Options{}, append(picksOf(p), picksOf(Plan{Orders: []Order{{Supplier: f.Supplier, Lines: f.Lines}}})...))
			if err != nil || len(more.Broken) > len(j.Broken) || goodsOf(more.Orders) != goodsOf(j.Orders)+f.Goods {
				t.Errorf("with %+v goods of %d instead of %d, broken %q, %v", f, goodsOf(more.Orders), goodsOf(j.Orders), more.Broken, err)
			}
		}
	})
}

func goodsOf(orders []Order) (sum inventory.Money) {
	for _, o := range orders {
		sum += o.Goods
	}
	return sum
}

func TestWhatAPersonMakesOfAnOrder(t *testing.T) {
	for _, c := range []struct {
		rule   string
		change func(*inventory.Shop)
		picks  []Pick
		goods  inventory.Money
		broken string
	}{
		{"a line struck", nil, []Pick{{"near", "wiper", 3, 0}}, 28_80, ""},
		{"no packs are no line", nil, []Pick{{"near", "wiper", 3, 0}, {"near", "wipes", 0, 0}}, 28_80, ""},
		{"two lines of one item are one", nil, []Pick{{"near", "wiper", 1, 0}, {"near", "wiper", 2, 0}}, 28_80, ""},
		{"a price break holds for all packs", func(s *inventory.Shop) {
			many := s.Offers[2]
			many.FromPacks, many.Price = 5, 8_00
			s.Offers = append(s.Offers, many)
		}, []Pick{{"near", "wiper", 5, 2}}, 40_00, ""},
		{"fewer packs than the supplier sells", func(s *inventory.Shop) { s.Offers[2].MinPacks = 4 },
			[]Pick{{"near", "wiper", 3, 0}}, 28_80, "wiper from near: 3 packs, the supplier sells no fewer than 4"},
		{"no multiple", func(s *inventory.Shop) { s.Offers[2].Multiple = 2 },
			[]Pick{{"near", "wiper", 3, 0}}, 28_80, "in multiples of 2"},
		{"below the supplier's minimum", func(s *inventory.Shop) { s.Suppliers[0].MinOrder = 30_00 },
			[]Pick{{"near", "wiper", 3, 0}}, 28_80, "goods of EUR 28.80, its minimum is EUR 30.00"},
		{"above the budget, by the carriage alone", func(s *inventory.Shop) {
			money := inventory.Money(33_79)
			s.Settings.Budget = &money
		}, []Pick{{"near", "wiper", 3, 0}}, 28_80, "the orders come to EUR 33.80, carriage included, EUR 33.79 may be spent"},
		{"more than is used before it expires", func(s *inventory.Shop) { s.Items[3].ShelfMonths = 1 },
			[]Pick{{"near", "wiper", 50, 0}}, 480_00, "shelf life of wiper: 100 ea ordered"},
		{"more than the cabinet takes", func(s *inventory.Shop) {
			flash, litres := 60.0, 1.0
			s.Items[1].FlashPointC, s.Settings.FlammableLimitL = &flash, &litres
		}, []Pick{{"far", "oil", 1, 0}}, 20_00, "flammable litres: 1.1 l on hand, on order and ordered, the limit is 1.0 l"},
		{"from somebody who is too late", func(s *inventory.Shop) {
			s.Offers = append(s.Offers, inventory.Offer{Item: "wiper", Supplier: "far", FromPacks: 1, PackQty: 2, Price: 12_00})
		}, []Pick{{"far", "wiper", 1, 0}}, 12_00, "wiper from far: comes on 2026-06-27, the readiness counts it as there on 2026-06-18"},
	} {
		t.Run(c.rule, func(t *testing.T) {
			shop := parkShop()
			if c.change != nil {
				c.change(&shop)
			}
			j, err := Judge(shop, Options{}, c.picks)
			if err != nil {
				t.Fatal(err)
			}
			if len(j.Orders) != 1 || len(j.Orders[0].Lines) != 1 || j.Orders[0].Goods != c.goods {
				t.Errorf("found %+v, expected one order of one line for %d", j.Orders, c.goods)
			}
			if broken := strings.Join(j.Broken, "\n"); !strings.Contains(broken, c.broken) || c.broken == "" && broken != "" || len(j.Broken) > 1 {
				t.Errorf("broken: %q, expected %q", j.Broken, c.broken)
			}
		})
	}
}

func TestPicksThatMeanNothing(t *testing.T) {
	for _, c := range []struct {
		rule string
		pick Pick
		want string
	}{
		{"an unknown item", Pick{"near", "nut", 1, 0}, "item nut: not in the book"},
		{"an unknown supplier", Pick{"nobody", "wiper", 1, 0}, "supplier nobody: not in the book"},
		{"an item that the supplier does not sell", Pick{"far", "wiper", 1, 0}, "supplier far does not offer wiper"},
		{"packs that the supplier does not sell", Pick{"near", "wiper", 1, 3}, "in packs of 3 ea"},
		{"packs below none", Pick{"near", "wiper", -1, 0}, "found -1 packs"},
		{"packs beyond all reason", Pick{"near", "wiper", 1_000_000_000, 0}, "found 1000000000 packs"},
	} {
		t.Run(c.rule, func(t *testing.T) {
			if _, err := Judge(parkShop(), Options{}, []Pick{c.pick}); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("found %v, expected %q", err, c.want)
			}
		})
	}
}

// Orders count those that were placed before, open or not, each once.
func TestEarlierOrdersAreCounted(t *testing.T) {
	shop := parkShop()
	shop.Orders = []inventory.OrderLine{
		{Order: "PO1", Supplier: "near", Item: "wiper", Packs: 1, PackQty: 2, ReceivedPacks: 1},
		{Order: "PO1", Supplier: "near", Item: "wipes", Packs: 1, PackQty: 6, ReceivedPacks: 1},
		{Order: "PO2", Supplier: "near", Item: "wiper", Packs: 9, PackQty: 2, ClosedOn: monday - 1},
		{Order: "PO3", Supplier: "far", Item: "kit", Packs: 1, PackQty: 1, ReceivedPacks: 1},
	}
	p := planOf(t, shop)
	at := slices.IndexFunc(p.Orders, func(o Order) bool { return o.Supplier.Code == "near" })
	if at < 0 || p.Orders[at].Earlier != 2 {
		t.Errorf("found %+v, expected two orders before the one to near", p.Orders)
	}
}

// Nobody pays more for the same packs of a supplier, if only to reach a minimum:
// what the basket may choose from costs what a person who asks for it pays.
func TestAWayOfBuyingCostsWhatItsPacksCost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		out, err := Foresee(limited(t, anyShop(t)))
		if err != nil {
			t.Fatal(err)
		}
		b, err := out.newBuyer()
		if err != nil {
			t.Fatal(err)
		}
		for item, i := range b.view.Items {
			if len(b.view.offers[i.Code]) == 0 {
				continue
			}
			for packs := range 24 {
				room := inventory.Quantity(1_000_000)
				for _, w := range b.buys(item, packs+1, &room) {
					if as := b.asked(item, b.source(item).small(w.offer), w.packs); as.total < w.total {
						t.Errorf("%s: %d packs of offer %d for %d, asked for they cost %d by offer %d", i.Code, w.packs, w.offer, w.total, as.total, as.offer)
					}
				}
			}
		}
	})
}
