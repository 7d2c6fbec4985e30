package plan

import (
	"testing"

	"circlip/forecast/order"
	"circlip/forecast/stock"
	"circlip/inventory"
)

// oneItem is an order of some packs of one piece, at 10.00 and from 12 packs on
// at a second price, to a supplier with carriage of 9.50.
func oneItem(packs int, perWeek float64, fromTwelve, freeFrom inventory.Money, holdWeekly float64) later {
	item := inventory.Item{Code: "seal", Measure: inventory.Each}
	few := inventory.Offer{Item: "seal", Supplier: "near", FromPacks: 1, PackQty: 1, Price: 10_00}
	many := few
	many.FromPacks, many.Price = 12, fromTwelve
	near := inventory.Supplier{Code: "near", Carriage: 9_50, HasFreeCarriage: freeFrom > 0, CarriageFreeFrom: freeFrom}
	v := &view{Shop: inventory.Shop{Items: []inventory.Item{item}, Settings: inventory.Settings{HoldingRate: holdWeekly * weeksInYear}}}
	src := &source{offers: []inventory.Offer{few, many}, rhythms: make([]rhythm, 2)}
	for _, o := range src.offers {
		src.priced = append(src.priced, stock.Offer{Supplier: "near", FromPacks: o.FromPacks, PackQty: 1, Price: int64(o.Price)})
	}
	b := &buyer{shelf: &shelf{view: v, rhythms: []rhythm{{offer: few}}}, sources: []*source{src}}
	o := Order{Supplier: near, Lines: []Line{{Item: item, Packs: packs, Total: inventory.Money(packs) * 10_00}}}
	o.addUp()
	now := b.priced(0, 0, packs)
	return later{b, o, []laterItem{{now: now, small: 0, perWeek: perWeek, most: now.qty + floor(mostCover*perWeek)}}}
}

// Every figure below follows from the case's by hand.
func TestWhatIsWorthBringingForward(t *testing.T) {
	for _, c := range []struct {
		rule                             string
		later                            later
		weeks                            bool
		packs                            int
		goods, carriage, holding, saving inventory.Money
	}{
		// 9 × 10.00 and 9.50 carriage; the tenth pack makes carriage free. It is
		// used evenly over two weeks, so kept one in the mean: 2 % of 10.00.
		{"a pack that makes carriage free saves it, less a week's holding",
			oneItem(9, .5, 10_00, 100_00, .02), false, 1, 10_00, 9_50, 20, 9_30},
		// 13 × 8.00 = 104.00 instead of 90.00; the four packs more, eight weeks'
		// use, cost 40.00 later and are kept four weeks in the mean: 8 % of 40.00.
		// At the break itself, three packs, it would be 30.00 − 6.00 − 1.80.
		{"a price break saves on all packs",
			oneItem(9, .5, 8_00, 0, .02), false, 4, 14_00, 0, 3_20, 22_80},
		{"nothing is brought forward that only costs its holding",
			oneItem(9, .5, 10_00, 0, .02), false, 0, 0, 0, 0, 0},
		// 12 × 10.00 a week; a week's goods cost 2.00 to hold for a week. Three
		// weeks in one order save two carriages and cost 2.00 and 4.00.
		{"three weeks in one order save two carriages",
			oneItem(12, 12, 10_00, 0, 2./120), true, 24, 240_00, 19_00, 6_00, 13_00},
		{"weeks are not ordered together where holding costs more than carriage",
			oneItem(12, 12, 10_00, 0, 10./120), true, 0, 0, 0, 0, 0},
	} {
		t.Run(c.rule, func(t *testing.T) {
			f := c.later.some()
			if c.weeks {
				f = c.later.weeks()
			}
			packs := 0
			for _, l := range f.Lines {
				packs += l.Packs
				if l.Qty != inventory.Quantity(l.Packs) || l.Total != f.Goods {
					t.Errorf("line %+v of goods for %d", l, f.Goods)
				}
			}
			if packs != c.packs || f.Goods != c.goods || f.Carriage != c.carriage || f.Holding != c.holding || f.Saving != c.saving {
				t.Errorf("%d packs more for %d, carriage %d, holding %d, saving %d; expected %d for %d, %d, %d, %d",
					packs, f.Goods, f.Carriage, f.Holding, f.Saving, c.packs, c.goods, c.carriage, c.holding, c.saving)
			}
		})
	}
}

// 9 × 10.00 meets a minimum of 80.00; 13 × 6.00 would save money, and come to
// 78.00. Without the minimum, or with one that is not met as it is, it is
// proposed.
func TestNothingIsBroughtForwardBelowTheMinimum(t *testing.T) {
	for _, c := range []struct {
		minimum inventory.Money
		packs   int
	}{{0, 4}, {78_00, 4}, {80_00, 0}, {90_01, 4}} {
		l := oneItem(9, .5, 6_00, 0, .02)
		l.order.Supplier.MinOrder = c.minimum
		packs := 0
		for _, line := range l.some().Lines {
			packs += line.Packs
		}
		if packs != c.packs {
			t.Errorf("minimum %d: %d packs brought forward, expected %d", c.minimum, packs, c.packs)
		}
	}
}

// A week's 12 × 10.00 meets a minimum of 120.00; two weeks' at 4.00 do not.
func TestNoWeeksAreOrderedTogetherBelowTheMinimum(t *testing.T) {
	for minimum, saves := range map[inventory.Money]bool{0: true, 96_00: true, 120_00: false} {
		l := oneItem(12, 12, 4_00, 0, 0)
		l.order.Supplier.MinOrder = minimum
		due := l.due()
		weeks := []order.Week{{Goods: 120_00, Carriage: 9_50}, {Goods: sumOf(due, 1), Carriage: 9_50}}
		if _, allowed := l.together(due, weeks); allowed != saves {
			t.Errorf("minimum %d: two weeks together are %v, expected %v", minimum, allowed, saves)
		}
	}
}

// What is spare is used first, so that it puts off what falls due.
func TestWhatIsSpareFallsDueLater(t *testing.T) {
	l := oneItem(4, 2, 10_00, 0, 0)
	l.items[0].spare = 5
	due := l.due()[0]
	want := [mostCover]int{3: 1, 4: 2, 5: 2, 6: 2, 7: 2, 8: 2, 9: 2, 10: 2, 11: 2, 12: 2}
	for w, b := range due {
		if b.packs != want[w] {
			t.Errorf("week %d: %d packs due, expected %d", w, b.packs, want[w])
		}
	}
}

func TestAWorthwhileProposalIsInThePlan(t *testing.T) {
	shop := parkShop()
	shop.Settings.HoldingRate = 0.2
	p := planOf(t, shop)
	if len(p.Forward) != 1 || p.Forward[0].Supplier.Code != "near" {
		t.Fatalf("found %+v, expected a proposal for the supplier with carriage", p.Forward)
	}
	f := p.Forward[0]
	goods := inventory.Money(0)
	for _, l := range f.Lines {
		goods += l.Total
	}
	if goods != f.Goods || f.Saving != f.Carriage-f.Holding || f.Carriage%5_00 != 0 || f.Holding <= 0 {
		t.Errorf("lines of %d, %+v; expected whole carriages of 5.00 less holding, as there are no price breaks", goods, f)
	}
	for _, o := range p.Orders {
		for _, l := range o.Lines {
			if o.Supplier.Code == "near" && p.item(l.Item.Code).OrderQty != l.Qty {
				t.Errorf("%s: a proposal is no order, found %d ordered in a line of %d", l.Item.Code, p.item(l.Item.Code).OrderQty, l.Qty)
			}
		}
	}
}
