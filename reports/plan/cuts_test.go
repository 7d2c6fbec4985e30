package plan

import (
	"math"
	"strings"
	"testing"

	"circlip/forecast"
	"circlip/inventory"
)

// wash is a flammable fluid that no job waits for, needed by one in two.
func wash(s *inventory.Shop, litres float64) {
	flash := 12.0
	s.Items = append(s.Items, inventory.Item{Code: "wash", Measure: inventory.Millilitre, Kind: inventory.Solvent, FlashPointC: &flash})
	s.Offers = append(s.Offers, inventory.Offer{Item: "wash", Supplier: "near", FromPacks: 1, PackQty: 5_000, Price: 6_00})
	s.BOM = append(s.BOM, inventory.BOMLine{Service: "lower", Model: "*", Item: "wash", Qty: 400, Need: 0.5})
	s.Items[1].FlashPointC = &flash
	s.Lots = s.Lots[1:] // no oil
	s.Settings.FlammableLimitL = &litres
}

func TestWhatLimitsTakeOff(t *testing.T) {
	for _, c := range []struct {
		rule    string
		change  func(*inventory.Shop)
		budget  inventory.Money // 0: none
		item    string
		ordered inventory.Quantity
		limit   LimitKind // "": none bites
		cut     map[string]inventory.Quantity
		warning string
	}{
		{"nothing ages or burns, and money is plenty", nil, 0, "kit", 2, "", nil, ""},
		{"a second kit would age out: only what is booked is used within a month for sure",
			func(s *inventory.Shop) { s.Items[0].ShelfMonths = 1 }, 0, "kit", 1, ShelfLifeLimit, map[string]inventory.Quantity{"kit": 1},
			"shelf life of kit: wanted 2 ea, allowed 1 ea, used before 2026-07-27 in nine cases of ten"},
		{"what a job is booked for is ordered though it may age out: the job may not come",
			func(s *inventory.Shop) { s.Items[0].ShelfMonths, s.Settings.ShowRate = 1, 0.5 }, 0, "kit", 1, ShelfLifeLimit, map[string]inventory.Quantity{"kit": 1},
			"kit: 1 ea are ordered, which booked jobs need; all but 0 ea may age out on 2026-07-27"},
		{"a kit ages by its shortest-lived part: NBR keeps seven years, in which two kits are used",
			func(s *inventory.Shop) { s.Items[2].Material = "NBR" }, 0, "kit", 2, "", nil, ""},
		{"the cabinet takes all", func(s *inventory.Shop) { wash(s, 1.5) }, 0, "wash", 5_000, "", nil, ""},
		{"what no job waits for goes first", func(s *inventory.Shop) { wash(s, 1.4) }, 0, "oil", 10_000, FlammableLimit, map[string]inventory.Quantity{"wash": 5_000},
			"flammable litres: wanted 1.5 l, allowed 1.4 l on hand, on order and ordered"},
		{"of what does not fit, what fits in its place", func(s *inventory.Shop) { wash(s, 0.9) }, 0, "wash", 5_000, FlammableLimit, map[string]inventory.Quantity{"oil": 10_000}, ""},
		{"a bottle that has expired stands in the cabinet all the same", func(s *inventory.Shop) {
			wash(s, 1.5)
			s.Lots = append(s.Lots, inventory.Lot{Item: "wash", Code: "old", OnHand: 100, Expires: monday - 90})
		}, 0, "wash", 0, FlammableLimit, map[string]inventory.Quantity{"wash": 5_000}, ""},
		{"what is on order will be in the cabinet", func(s *inventory.Shop) {
			wash(s, 1.5)
			s.Orders = []inventory.OrderLine{{Order: "PO1", Item: "oil", Supplier: "far", Packs: 1, PackQty: 10_001, DueOn: monday + 2}}
		}, 0, "wash", 0, FlammableLimit, map[string]inventory.Quantity{"wash": 5_000}, ""},
		{"a cabinet that is too full already takes nothing, and is told of", func(s *inventory.Shop) {
			wash(s, 1)
			s.Orders = []inventory.OrderLine{{Order: "PO1", Item: "oil", Supplier: "far", Packs: 1, PackQty: 20_000, DueOn: monday + 2}}
		}, 0, "wash", 0, FlammableLimit, map[string]inventory.Quantity{"wash": 5_000}, "2.0 l are on hand and on order already, above the limit of 1.0 l"},
		{"above 93 °C nothing is flammable here", func(s *inventory.Shop) {
			wash(s, 0)
			flash := 93.5
			s.Items[1].FlashPointC, s.Items[5].FlashPointC = &flash, &flash
		}, 0, "wash", 5_000, "", nil, ""},
		{"all that there is money for: the wipers, which every job takes", nil, 40_00, "wiper", 6, BudgetLimit, nil, "budget: wanted EUR 84.80, allowed EUR 40.00"},
		{"a cent less, and what no job waits for is left out", nil, 84_79, "kit", 2, BudgetLimit, map[string]inventory.Quantity{"wipes": 6}, "budget: wanted EUR 84.80, allowed EUR 84.79"},
		{"money to the last cent", nil, 84_80, "wiper", 6, "", nil, ""},
		{"next to no money", nil, 1, "wiper", 0, BudgetLimit, map[string]inventory.Quantity{"kit": 2, "wiper": 6, "wipes": 6}, ""},
	} {
		t.Run(c.rule, func(t *testing.T) {
			shop := parkShop()
			if c.change != nil {
				c.change(&shop)
			}
			o := Options{}
			if c.budget > 0 {
				o.Budget = &c.budget
			}
			p, err := Make(shop, o)
			if err != nil {
				t.Fatal(err)
			}
			if c.item != "" && p.item(c.item).OrderQty != c.ordered {
				t.Errorf("%s: %d ordered, expected %d", c.item, p.item(c.item).OrderQty, c.ordered)
			}
			if c.warning != "" && !strings.Contains(strings.Join(p.Warnings, "\n"), c.warning) {
				t.Errorf("warnings %q, expected %q", p.Warnings, c.warning)
			}
			bites(t, p, c.limit, c.cut)
		})
	}
}

// bites: one limit, or none, took off what is said, and nothing if nil.
func bites(t *testing.T, p Plan, kind LimitKind, cut map[string]inventory.Quantity) {
	t.Helper()
	if kind == "" {
		if len(p.Limits) > 0 {
			t.Errorf("found the limits %+v, expected none to bite", p.Limits)
		}
		return
	}
	if len(p.Limits) != 1 || p.Limits[0].Kind != kind {
		t.Fatalf("found the limits %+v, expected one of %s", p.Limits, kind)
	}
	l := p.Limits[0]
	if l.With != p.Readiness.WithOrder || l.Without < l.With {
		t.Errorf("readiness %v with the limit and %v without, the plan's is %v", l.With, l.Without, p.Readiness.WithOrder)
	}
	for _, c := range l.Cut {
		if want, asked := cut[c.Item.Code]; cut != nil && (!asked || want != c.Qty) {
			t.Errorf("%d of %s cut, expected %v", c.Qty, c.Item.Code, cut)
		}
	}
	if cut != nil && len(l.Cut) != len(cut) {
		t.Errorf("cut %+v, expected %v", l.Cut, cut)
	}
}

// What a limit costs is what the plan without it reaches beyond the plan with
// it, as long as the rest of the order is the same.
func TestWhatALimitCostsIsTheDifferenceOfTwoPlans(t *testing.T) {
	shop := parkShop()
	free := planOf(t, shop)
	shop.Items[0].ShelfMonths = 1
	p := planOf(t, shop)
	if len(p.Limits) != 1 {
		t.Fatalf("found %+v", p.Limits)
	}
	if l := p.Limits[0]; math.Abs(l.Without-free.Readiness.WithOrder) > 1e-12 || l.Without-l.With < 0.001 {
		t.Errorf("readiness %v without the limit and %v with it, the plan without it reaches %v", l.Without, l.With, free.Readiness.WithOrder)
	}
}

// The option's budget holds instead of the settings', and with a readiness both
// hold.
func TestBudgetAndReadinessBothHold(t *testing.T) {
	shop := parkShop()
	little, plenty := inventory.Money(40_00), inventory.Money(9_999_00)
	shop.Settings.Budget = &little
	p, err := Make(shop, Options{Budget: &plenty})
	if err != nil {
		t.Fatal(err)
	}
	if p.Readiness.WithOrder < p.Readiness.Target || paid(p) != 84_80 {
		t.Errorf("readiness %v for %d, expected the target for no more than it costs", p.Readiness.WithOrder, paid(p))
	}
	low, err := Make(shop, Options{Readiness: 0.3, Budget: &plenty})
	if err != nil {
		t.Fatal(err)
	}
	if low.Readiness.Target != 0.3 || paid(low) >= paid(p) {
		t.Errorf("target %v for %d, expected a lower one for less than %d", low.Readiness.Target, paid(low), paid(p))
	}
	poor, err := Make(shop, Options{Readiness: 0.99})
	if err != nil {
		t.Fatal(err)
	}
	if poor.Readiness.Target != 0.99 || paid(poor) > little {
		t.Errorf("target %v for %d, expected no more than the settings' budget", poor.Readiness.Target, paid(poor))
	}
}

// Beyond the horizon its law comes again: in twice the time twice the mean, and
// as uncertain as two by themselves.
func TestUseBeyondTheHorizonIsTheHorizonAgain(t *testing.T) {
	out, err := Foresee(parkShop())
	if err != nil {
		t.Fatal(err)
	}
	b, err := out.newBuyer()
	if err != nil {
		t.Fatal(err)
	}
	const wiper, never = 3, math.MaxInt32
	last := b.view.horizonDays() - 1
	once := b.takings.Laws(b.view.cal.Until(forecast.Day(monday+last)), []int{wiper})[0]
	for times, law := 1, once; times <= 4; times, law = times+1, law.Convolve(once) {
		until := monday + last + inventory.Date(times-1)*b.view.horizonDays()
		if got, want := b.keeping.quantile(wiper, until, never), law.Quantile(0.1-1e-9); got != want {
			t.Errorf("%d times the horizon: %d used for sure, expected %d", times, got, want)
		}
		if got := b.keeping.quantile(wiper, until, 1); got < 1 {
			t.Errorf("one is not used in %d times the horizon", times)
		}
	}
	if got := b.keeping.quantile(wiper, monday-1, 1); got != 0 {
		t.Errorf("%d are used before today", got)
	}
}

// A price break may not fill the cabinet beyond its limit: what is needed fits
// in, what would only be cheaper does not.
func TestNoSurplusIsBoughtThatTheCabinetDoesNotTake(t *testing.T) {
	flash := 60.0
	shop := parkShop()
	shop.Items[1].FlashPointC, shop.Lots = &flash, shop.Lots[1:]
	shop.Offers[1].PackQty, shop.Offers[1].Price = 500, 1_00
	packs := func() int { return int(planOf(t, shop).item("oil").OrderQty / 500) }
	need := packs()
	many := shop.Offers[1]
	many.FromPacks, many.Price = need+2, 50
	shop.Offers = append(shop.Offers, many)
	if got := packs(); got != need+2 {
		t.Fatalf("without a limit %d packs of oil are ordered, expected %d for less money than %d", got, need+2, need)
	}
	for fits, want := range map[int]int{need: need, need + 1: need, need + 2: need + 2} {
		litres := float64(fits) * 0.05
		shop.Settings.FlammableLimitL = &litres
		p := planOf(t, shop)
		if got := int(p.item("oil").OrderQty / 500); got != want || len(p.Limits) > 0 {
			t.Errorf("%d packs fit in: %d are ordered, expected %d; limits %+v", fits, got, want, p.Limits)
		}
		for _, f := range p.Forward {
			for _, l := range f.Lines {
				if l.Item.Code == "oil" && want+l.Packs > fits {
					t.Errorf("%d packs fit in, and %d more than the %d ordered are proposed", fits, l.Packs, want)
				}
			}
		}
	}
}
