package plan

import (
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"circlip/forecast"
	"circlip/forecast/stock"
	"circlip/inventory"

	"pgregory.net/rapid"
)

// anyOffers draws one to three suppliers of an item, each with its packs, rules
// and perhaps a price break.
func anyOffers(t *rapid.T, item inventory.Item) []inventory.Offer {
	pack := inventory.Quantity(1)
	if item.Measure != inventory.Each {
		pack = 2_500
	}
	suppliers := rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"far", "mid", "near"}), 1, 3, rapid.ID[string]).Draw(t, "suppliers")
	var offers []inventory.Offer
	for _, s := range suppliers {
		o := inventory.Offer{
			Item: item.Code, Supplier: s, FromPacks: 1, PackQty: pack * inventory.Quantity(rapid.SampledFrom([]int{1, 2, 5}).Draw(t, "pack")),
			MinPacks: rapid.IntRange(0, 3).Draw(t, "least"), Multiple: rapid.IntRange(0, 3).Draw(t, "multiple"),
			Price: inventory.Money(rapid.IntRange(200, 4000).Draw(t, "price")),
		}
		offers = append(offers, o)
		if rapid.Bool().Draw(t, "price break") {
			o.FromPacks, o.Price = rapid.IntRange(2, 8).Draw(t, "from"), o.Price*8/10
			if rapid.Bool().Draw(t, "with rules of its own") {
				lead := rapid.SampledFrom([]int{1, 4, 8, 30}).Draw(t, "lead")
				o.MinPacks, o.Multiple, o.LeadDays = rapid.IntRange(0, 9).Draw(t, "least"), rapid.IntRange(0, 7).Draw(t, "multiple"), &lead
			}
			offers = append(offers, o)
		}
	}
	return offers
}

// anyShop draws suppliers and offers for the small park; nothing in it ages or
// burns, and no money is short.
func anyShop(t *rapid.T) inventory.Shop {
	shop := parkShop()
	shop.Settings.HoldingRate = 0.2
	shop.Suppliers = append(shop.Suppliers, inventory.Supplier{Code: "mid", Name: "Mid", OrderWeekday: time.Wednesday, LeadDays: 4})
	for i := range shop.Suppliers {
		s := &shop.Suppliers[i]
		s.Carriage = inventory.Money(rapid.IntRange(0, 1500).Draw(t, "carriage"))
		s.HasFreeCarriage = rapid.Bool().Draw(t, "free carriage")
		s.CarriageFreeFrom = inventory.Money(rapid.IntRange(10, 150).Draw(t, "free from")) * 100
		s.MinOrder = inventory.Money(rapid.SampledFrom([]int{0, 0, 2000, 8000}).Draw(t, "minimum"))
	}
	shop.Offers = nil
	for _, item := range shop.Items {
		if item.Code != "seal" { // had by opening kits
			shop.Offers = append(shop.Offers, anyOffers(t, item)...)
		}
	}
	return shop
}

// limited adds what limits an order: shelf lives, a cabinet, a budget.
func limited(t *rapid.T, shop inventory.Shop) inventory.Shop {
	for i := range shop.Items {
		item := &shop.Items[i]
		item.ShelfMonths = rapid.SampledFrom([]int{0, 0, 1, 2, 6, 24}).Draw(t, "shelf months")
		if item.Measure == inventory.Millilitre && rapid.Bool().Draw(t, "flammable") {
			flash := rapid.SampledFrom([]float64{40, 93, 94}).Draw(t, "flash point")
			item.FlashPointC = &flash
		}
	}
	if rapid.Bool().Draw(t, "cabinet") {
		litres := rapid.Float64Range(0, 4).Draw(t, "litres")
		shop.Settings.FlammableLimitL = &litres
	}
	if rapid.Bool().Draw(t, "budget") {
		money := inventory.Money(rapid.IntRange(0, 20_000).Draw(t, "budget"))
		shop.Settings.Budget = &money
	}
	if rapid.Bool().Draw(t, "empty shelf") {
		shop.Lots = nil
	}
	if packs := rapid.IntRange(0, 4).Draw(t, "wipers on order"); packs > 0 {
		shop.Orders = append(shop.Orders, inventory.OrderLine{Order: "PO0", Supplier: "near", Item: "wiper", Packs: packs, PackQty: 1, DueOn: monday + 1})
	}
	if rapid.Bool().Draw(t, "old lots") {
		shop.Lots = append(shop.Lots, inventory.Lot{Item: "oil", Code: "old", OnHand: 2_000, Expires: monday - 3})
		shop.Orders = append(shop.Orders, inventory.OrderLine{Order: "PO1", Supplier: "near", Item: "oil", Packs: 1, PackQty: 1_000, DueOn: monday + 2})
	}
	return shop
}

func TestNoOrderExceedsALimit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shop := limited(t, anyShop(t))
		p, out, err := MakeWith(shop, Options{})
		if err != nil {
			t.Fatal(err)
		}
		withinBudget(t, p, shop)
		withinCabinet(t, p, shop)
		withinShelfLife(t, p, out)
		byTheRules(t, p, shop)
		addsUp(t, p)
		for _, l := range p.Limits {
			if l.With > l.Without+1e-9 {
				t.Errorf("%s %s: readiness %v with the limit and %v without", l.Kind, l.Of, l.With, l.Without)
			}
		}
	})
}

func withinBudget(t *rapid.T, p Plan, shop inventory.Shop) {
	spent, forward := inventory.Money(0), inventory.Money(0)
	for _, o := range p.Orders {
		spent += o.Total
	}
	for _, f := range p.Forward {
		forward += f.Goods
	}
	if b := shop.Settings.Budget; b != nil && (spent > *b || len(p.Forward) > 0 && spent+forward > *b) {
		t.Errorf("orders of %d, and %d to bring forward, with a budget of %d", spent, forward, *b)
	}
}

func withinCabinet(t *rapid.T, p Plan, shop inventory.Shop) {
	limit := shop.Settings.FlammableLimitL
	if limit == nil {
		return
	}
	var there, ordered inventory.Quantity
	burns := map[string]bool{}
	for _, i := range shop.Items {
		burns[i.Code] = i.Measure == inventory.Millilitre && i.FlashPointC != nil && *i.FlashPointC <= 93
	}
	for _, l := range shop.Lots {
		if burns[l.Item] {
			there += l.OnHand
		}
	}
	for _, o := range shop.Orders {
		if burns[o.Item] {
			there += o.Outstanding()
		}
	}
	for _, l := range allLines(p) {
		if burns[l.Item.Code] {
			ordered += l.Qty
		}
	}
	if ordered > 0 && float64(there+ordered) > *limit*10_000 {
		t.Errorf("%d tenths of ml there and %d ordered, with a limit of %v l", there, ordered, *limit)
	}
}

// allLines are those of the orders and what may be brought forward.
func allLines(p Plan) []Line {
	var all []Line
	for _, o := range p.Orders {
		all = append(all, o.Lines...)
	}
	for _, f := range p.Forward {
		all = append(all, f.Lines...)
	}
	return all
}

// withinShelfLife: what is there, on order and ordered is used before the order
// expires, nine times of ten, by the law of use up to that day; beyond the
// horizon, of its repetitions. Else booked jobs take it.
func withinShelfLife(t *rapid.T, p Plan, out *Outlook) {
	ordered := map[string]inventory.Quantity{}
	soonest := map[string]inventory.Date{}
	for _, l := range allLines(p) {
		ordered[l.Item.Code] += l.Qty
		soonest[l.Item.Code] = l.ExpectedOn
	}
	for i, item := range p.Items {
		qty := ordered[item.Item.Code]
		if qty == 0 || item.Item.ShelfMonths == 0 {
			continue
		}
		expires := soonest[item.Item.Code].AddMonths(item.Item.ShelfMonths)
		law, days := forecast.Certain(0), expires-p.AsOf
		for horizon := p.Weeks[len(p.Weeks)-1].To - p.AsOf + 1; days > 0; days -= horizon {
			span := out.view.cal.Until(forecast.Day(p.AsOf + min(days, horizon) - 1))
			law = law.Convolve(out.takings().Laws(span, []int{i})[0])
		}
		level := int((item.Usable + item.OnOrder + qty + out.Step(i) - 1) / out.Step(i))
		if over := law.CDF(level - 1); over > 0.1+1e-6 && !neededForSure(out, i, item, qty) {
			t.Errorf("%s: %d ordered on %d that are there, and with probability %v not all is used before %s", item.Item.Code, qty, item.Usable+item.OnOrder, over, expires)
		}
	}
}

// neededForSure: no smaller order of the usual offer brings what booked jobs
// take for certain.
func neededForSure(out *Outlook, i int, item Item, ordered inventory.Quantity) bool {
	o, _ := out.Usual(i)
	sure := inventory.Quantity(0)
	for _, j := range out.view.Jobs {
		for _, l := range out.view.bill.Lines(j.Services, j.Model, j.BenchDate) {
			if l.Item == item.Item.Code && l.Need == 1 && j.BenchDate <= item.ProtectUntil {
				sure += l.PerJob(item.Item.Measure)
			}
		}
	}
	fewest := 1
	for ; inventory.Quantity(fewest)*o.PackQty < sure-item.Position || fewest < max(o.MinPacks, o.FromPacks) || fewest%max(1, o.Multiple) > 0; fewest++ {
	}
	return sure > item.Position && ordered <= inventory.Quantity(fewest)*o.PackQty
}

// byTheRules: packs are those that suppliers sell, at the price for so many;
// and an order below a supplier's minimum is told.
func byTheRules(t *rapid.T, p Plan, shop inventory.Shop) {
	for _, o := range p.Orders {
		for _, l := range o.Lines {
			soldSo(t, shop, o.Supplier.Code, l)
		}
		told := slices.ContainsFunc(p.Limits, func(l Limit) bool { return l.Kind == MinimumLimit && l.Of == o.Supplier.Code })
		if below := o.Goods < o.Supplier.MinOrder; below != told || below && !strings.Contains(strings.Join(p.Warnings, "\n"), "order to "+o.Supplier.Name+": goods of") {
			t.Errorf("order to %s: goods of %d, minimum %d, told: %v in %q", o.Supplier.Code, o.Goods, o.Supplier.MinOrder, told, p.Warnings)
		}
	}
}

// soldSo: an offer with that price sells so many packs, and none of its breaks
// that sells them too, and no later, has another price.
func soldSo(t *rapid.T, shop inventory.Shop, supplier string, l Line) {
	var sold []inventory.Offer
	for _, o := range shop.Offers {
		same := o.Supplier == supplier && o.Item == l.Item.Code && o.PackQty == l.PackQty
		if same && l.Packs >= max(o.FromPacks, o.MinPacks) && l.Packs%max(1, o.Multiple) == 0 {
			sold = append(sold, o)
		}
	}
	at := slices.IndexFunc(sold, func(o inventory.Offer) bool { return o.Price == l.Price })
	if at < 0 || l.Total != l.Price*inventory.Money(l.Packs) {
		t.Fatalf("%s: %d packs of %d at %d for %d, sold by %+v", l.Item.Code, l.Packs, l.PackQty, l.Price, l.Total, sold)
	}
	for _, o := range sold {
		if o.FromPacks > sold[at].FromPacks && leadOf(shop, o) <= leadOf(shop, sold[at]) && o.Price != l.Price {
			t.Errorf("%s: %d packs at %d, and the break %+v holds", l.Item.Code, l.Packs, l.Price, o)
		}
	}
}

func addsUp(t *rapid.T, p Plan) {
	ordered := map[string]inventory.Quantity{}
	for _, o := range p.Orders {
		goods := inventory.Money(0)
		for _, l := range o.Lines {
			goods += l.Total
			ordered[l.Item.Code] += l.Qty
			because := inventory.Quantity(0)
			for _, c := range l.Why {
				because += c.Qty
			}
			if because != l.Qty || l.Qty != inventory.Quantity(l.Packs)*l.PackQty {
				t.Errorf("%s: %d in %d packs, reasons %v", l.Item.Code, l.Qty, l.Packs, l.Why)
			}
		}
		if goods != o.Goods || o.Total != o.Goods+o.Carriage {
			t.Errorf("%s: lines of %d in an order of %d with carriage %d for %d", o.Supplier.Code, goods, o.Goods, o.Carriage, o.Total)
		}
	}
	for _, i := range p.Items {
		if i.OrderQty != ordered[i.Item.Code] || i.OrderUpTo != i.Position+i.OrderQty {
			t.Errorf("%s: %d ordered, said to be %d on top of %d up to %d", i.Item.Code, ordered[i.Item.Code], i.OrderQty, i.Position, i.OrderUpTo)
		}
	}
}

// Without limits the orders reach the target, and cost no more than if each item
// were bought by itself where it is cheapest.
func TestOneBasketIsNoDearerThanItemByItem(t *testing.T) {
	saved := 0
	rapid.Check(t, func(t *rapid.T) {
		shop := anyShop(t)
		for i := range shop.Suppliers {
			shop.Suppliers[i].MinOrder = 0
		}
		p, out, err := MakeWith(shop, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if p.Readiness.WithOrder < p.Readiness.Target-1e-9 {
			t.Errorf("readiness %v of %v", p.Readiness.WithOrder, p.Readiness.Target)
		}
		b, err := out.newBuyer()
		if err != nil {
			t.Fatal(err)
		}
		c, err := b.choose(p.Readiness.Aim, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, w := range c.basket.buys {
			need, cover := b.usual(w.item, c.packs[w.item]), floor(mostCover*b.perWeek(w.item))
			if w.qty < need || w.qty > need+cover {
				t.Errorf("%+v: %d needed, and no more than %d for later", w, need, cover)
			}
		}
		apart := int64(itemByItem(b, c.packs))
		if spent := int64(paid(p)); spent > apart {
			t.Errorf("the orders cost %d, item by item %d", spent, apart)
		} else if spent < apart {
			saved++
		}
	})
	if saved == 0 {
		t.Error("a common basket never costs less than item by item")
	}
}

func paid(p Plan) (sum inventory.Money) {
	for _, o := range p.Orders {
		sum += o.Total
	}
	return sum
}

// itemByItem is what packs of the usual offers cost where each item goes where it
// is cheapest by itself, of the offers that come in time and bring no more than
// mostCover weeks' use too much.
func itemByItem(b *buyer, packs []int) inventory.Money {
	goods := map[string]inventory.Money{}
	for i, n := range packs {
		if n == 0 {
			continue
		}
		src := b.source(i)
		best := b.priced(i, src.usual, n)
		for _, c := range stock.Choices(src.priced, int(b.usual(i, n))) {
			fits := src.inTime(c.Offer) && float64(c.Qty) <= float64(b.usual(i, n))+math.Floor(mostCover*b.perWeek(i))
			if fits && c.Total < best.total {
				best = buy{i, c.Offer, c.Packs, inventory.Quantity(c.Qty), c.Total}
			}
		}
		goods[src.offers[best.offer].Supplier] += inventory.Money(best.total)
	}
	sum := inventory.Money(0)
	for s, g := range goods {
		sum += g + carriage(b.view.supplier[s], g)
	}
	return sum
}

// More money never makes fewer jobs ready, up to what is aimed at; and where
// there is enough, that is reached and no more is spent.
func TestReadinessRisesWithTheBudget(t *testing.T) {
	shops := rapid.Custom(anyShop)
	for seed := range 20 {
		out, err := Foresee(shops.Example(seed))
		if err != nil {
			t.Fatal(err)
		}
		b, err := out.newBuyer()
		if err != nil {
			t.Fatal(err)
		}
		_, aim := out.target(Options{})
		free, err := b.choose(aim, nil)
		if err != nil {
			t.Fatal(err)
		}
		before := 0.0
		for _, part := range []int64{0, 20, 40, 60, 80, 100, 300} {
			budget := inventory.Money(free.basket.total * part / 100)
			c, err := b.choose(aim, &budget)
			if err != nil {
				t.Fatal(err)
			}
			if c.basket.total > int64(budget) {
				t.Fatalf("shop %d: spends %d of %d", seed, c.basket.total, budget)
			}
			ready := min(aim, b.readiness(c.basket.buys).WithOrder)
			if ready < before-1e-9 {
				t.Errorf("shop %d: readiness %v for %d of %d, less money made it %v", seed, ready, budget, free.basket.total, before)
			}
			before = ready
			if part >= 100 && !reflect.DeepEqual(c.basket, free.basket) {
				t.Errorf("shop %d: with %d for what costs %d the orders are others", seed, budget, free.basket.total)
			}
		}
	}
}
