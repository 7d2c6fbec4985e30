package plan

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"circlip/inventory"
)

// monday is an order day of the shop below.
var monday = inventory.NewDate(2026, time.June, 15)

// parkShop is a small invented workshop: six rental forks near their service,
// two booked jobs, three suppliers' offers.
func parkShop() inventory.Shop {
	eur, _ := inventory.ParseCurrency("EUR")
	rate := 6.0
	shop := inventory.Shop{
		AsOf: monday,
		Settings: inventory.Settings{
			Workshop: "bench", Currency: eur, Readiness: 0.97, HorizonWeeks: 8, ShowRate: 0.95,
			FleetCapture: 1, FleetLagWeeks: 1, CustomerCapture: 0.6, CustomerLagWeeks: 3, UsageSpreadH: 4, FoldIn: 0.25,
		},
		Suppliers: []inventory.Supplier{
			{Code: "near", Name: "Near", OrderWeekday: time.Monday, LeadDays: 3, Carriage: 500, HasFreeCarriage: true, CarriageFreeFrom: 100_00},
			{Code: "far", Name: "Far", OrderWeekday: time.Thursday, LeadDays: 9},
		},
		Items: []inventory.Item{
			{Code: "kit", Measure: inventory.Each, Kind: inventory.Kit, Critical: true},
			{Code: "oil", Measure: inventory.Millilitre, Kind: inventory.Oil, Critical: true},
			{Code: "seal", Measure: inventory.Each, Kind: inventory.Seal, Critical: true},
			{Code: "wiper", Measure: inventory.Each, Kind: inventory.Wiper, Critical: true},
			{Code: "wipes", Measure: inventory.Each},
		},
		Offers: []inventory.Offer{
			{Item: "kit", Supplier: "far", FromPacks: 1, PackQty: 1, MinPacks: 1, Multiple: 1, Price: 18_00},
			{Item: "oil", Supplier: "far", FromPacks: 1, PackQty: 10_000, MinPacks: 1, Multiple: 1, Price: 20_00},
			{Item: "wiper", Supplier: "near", FromPacks: 1, PackQty: 2, MinPacks: 1, Multiple: 1, Price: 9_60},
			{Item: "wipes", Supplier: "near", FromPacks: 1, PackQty: 6, MinPacks: 1, Multiple: 1, Price: 15_00},
		},
		Kits:   []inventory.KitPart{{Kit: "kit", Item: "seal", Qty: 1}},
		Models: []inventory.Model{{Code: "fell", Family: "fork"}},
		Services: []inventory.Service{
			{Code: "lower", Family: "fork", EveryHours: 50},
			{Code: "spring", Family: "fork", EveryHours: 100, Covers: []string{"lower"}},
		},
		BOM: []inventory.BOMLine{
			{Service: "lower", Model: "*", Item: "oil", Qty: 200, Need: 1, Waste: 0.05},
			{Service: "lower", Model: "*", Item: "wiper", Qty: 2, Need: 1},
			{Service: "lower", Model: "*", Item: "wipes", Qty: 1, Need: 0.1},
			{Service: "lower", Model: "*", Item: "seal", Qty: 1, Need: 0.1},
			{Service: "spring", Model: "*", Item: "kit", Qty: 1, Need: 1},
			{Service: "spring", Model: "*", Item: "oil", Qty: 230, Need: 1},
			{Service: "spring", Model: "*", Item: "wiper", Qty: 2, Need: 1},
		},
		Lots: []inventory.Lot{{Item: "oil", Code: "L1", OnHand: 1_500}, {Item: "wiper", Code: "L1", OnHand: 2}},
		Jobs: []inventory.Job{
			{Code: "J1", Unit: "f1", Model: "fell", Services: []string{"lower"}, BookedOn: monday - 3, BenchDate: monday + 2, State: inventory.Booked},
			{Code: "J2", Model: "fell", Services: []string{"spring"}, BookedOn: monday - 3, BenchDate: monday + 4, State: inventory.Booked},
		},
	}
	for n := range 6 {
		shop.Units = append(shop.Units, inventory.Unit{
			Code: fmt.Sprintf("f%d", n+1), Model: "fell", Holder: inventory.Fleet, HoursPerWeek: &rate,
			Readings: []inventory.Reading{{Date: monday - 40, Hours: 0}, {Date: monday - 1, Hours: float64(20 + 5*n)}},
		})
	}
	return shop
}

func planOf(t *testing.T, shop inventory.Shop) Plan {
	t.Helper()
	p, err := Make(shop, Options{EveryWeek: true})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func (p Plan) item(code string) Item {
	for _, i := range p.Items {
		if i.Item.Code == code {
			return i
		}
	}
	return Item{}
}

func TestOrdersGoOnTheSuppliersDayAndLastUntilTheOneAfter(t *testing.T) {
	p := planOf(t, parkShop())
	want := map[string]struct{ placeBy, protect inventory.Date }{
		"near": {monday, monday + 7 + 3 - 1},
		"far":  {monday + 3, monday + 3 + 7 + 9 - 1},
	}
	if len(p.Orders) != 2 {
		t.Fatalf("found %d orders, expected one to each supplier: %+v", len(p.Orders), p.Orders)
	}
	for _, o := range p.Orders {
		if o.PlaceBy != want[o.Supplier.Code].placeBy {
			t.Errorf("%s: place by %s, expected %s", o.Supplier.Code, o.PlaceBy, want[o.Supplier.Code].placeBy)
		}
		for _, l := range o.Lines {
			if until := p.item(l.Item.Code).ProtectUntil; until != want[o.Supplier.Code].protect {
				t.Errorf("%s: protected until %s, expected %s", l.Item.Code, until, want[o.Supplier.Code].protect)
			}
			if l.ExpectedOn != o.PlaceBy+inventory.Date(o.Supplier.LeadDays) {
				t.Errorf("%s: expected on %s, after %s", l.Item.Code, l.ExpectedOn, o.PlaceBy)
			}
		}
	}
}

func TestTheOrderReachesTheTarget(t *testing.T) {
	p := planOf(t, parkShop())
	if p.Readiness.WithOrder < 0.97 || p.Readiness.WithoutOrder > 0.5 {
		t.Errorf("readiness %.3f without and %.3f with the order, expected it low before and at least 0.97 after", p.Readiness.WithoutOrder, p.Readiness.WithOrder)
	}
	low, err := Make(parkShop(), Options{Readiness: 0.8})
	if err != nil {
		t.Fatal(err)
	}
	if low.Readiness.WithOrder < 0.8 || spend(low) > spend(p) {
		t.Errorf("a lower target costs %d for %.3f, the higher one %d", spend(low), low.Readiness.WithOrder, spend(p))
	}
	again := parkShop()
	for _, o := range p.Orders {
		for _, l := range o.Lines {
			again.Orders = append(again.Orders, inventory.OrderLine{Order: "PO", Item: l.Item.Code, Supplier: o.Supplier.Code, Packs: l.Packs, PackQty: l.PackQty, DueOn: l.ExpectedOn})
		}
	}
	if q := planOf(t, again); len(q.Orders) != 0 {
		t.Errorf("what is ordered was ordered again: %+v", q.Orders)
	}
}

func spend(p Plan) (sum inventory.Money) {
	for _, o := range p.Orders {
		sum += o.Goods
	}
	return sum
}

func TestTheReasonsOfALineAddUpToIt(t *testing.T) {
	p := planOf(t, parkShop())
	for _, o := range p.Orders {
		for _, l := range o.Lines {
			var sum inventory.Quantity
			for _, c := range l.Why {
				sum += c.Qty
			}
			if sum != l.Qty || l.Qty != inventory.Quantity(l.Packs)*l.PackQty || l.Total != inventory.Money(l.Packs)*l.Price {
				t.Errorf("%s: reasons come to %d of %d ordered in %d packs for %d: %v", l.Item.Code, sum, l.Qty, l.Packs, l.Total, l.Why)
			}
			if i := p.item(l.Item.Code); i.OrderUpTo != i.Position+i.OrderQty || i.OrderQty != l.Qty {
				t.Errorf("%s: level %d, position %d, order %d", l.Item.Code, i.OrderUpTo, i.Position, i.OrderQty)
			}
		}
		if o.Total != o.Goods+o.Carriage {
			t.Errorf("%s: total %d, goods %d, carriage %d", o.Supplier.Code, o.Total, o.Goods, o.Carriage)
		}
	}
}

// A seal that nobody sells by itself is had by opening a kit: the kit's demand
// carries it, the seal has none of its own.
func TestPartsHadOnlyInKitsAreOrderedAsKits(t *testing.T) {
	p := planOf(t, parkShop())
	if q := p.item("seal"); q.OrderQty != 0 || q.Protection.Mean != 0 {
		t.Errorf("seal: order %d, mean demand %v, expected both to be the kit's", q.OrderQty, q.Protection.Mean)
	}
	without := parkShop()
	without.BOM = append(without.BOM[:3:3], without.BOM[4:]...)
	if with, bare := p.item("kit").Protection.Mean, planOf(t, without).item("kit").Protection.Mean; with <= bare {
		t.Errorf("kit: mean demand %v with the seal's line, %v without it", with, bare)
	}
	for _, w := range p.Warnings {
		if strings.Contains(w, "no supplier offers") {
			t.Errorf("found the warning %q, though a kit holds the seal", w)
		}
	}
}

// The law of demand comes from exact convolution over units, the availability
// from the joint law of job counts: two ways to one number.
func TestAvailabilityIsTheLawOfDemandAtThePosition(t *testing.T) {
	p := planOf(t, parkShop())
	for _, code := range []string{"wiper", "kit", "oil"} {
		i := p.item(code)
		level := i.Item.Measure.Number(i.OrderUpTo)
		if i.Availability < 0.9 && level >= i.Protection.P90 {
			t.Errorf("%s: availability %.4f at %v, but nine in ten times no more than %v is used", code, i.Availability, level, i.Protection.P90)
		}
		if i.Availability >= 0.98 && level < i.Protection.P98 {
			t.Errorf("%s: availability %.4f at %v, but two in a hundred times more than %v is used", code, i.Availability, level, i.Protection.P98)
		}
	}
}

func TestDemandOfTheWeeksAddsUp(t *testing.T) {
	p := planOf(t, parkShop())
	for _, i := range p.Items {
		sum := 0.0
		for week, d := range i.Week {
			sum += d.Mean
			if math.Abs(i.Through[week].Mean-sum) > 1e-6*(1+sum) {
				t.Errorf("%s: %v expected up to week %d, the weeks add up to %v", i.Item.Code, i.Through[week].Mean, week, sum)
			}
			if d.P10 > d.P50 || d.P50 > d.P90 || d.P90 > d.P98 || math.IsNaN(d.SD) {
				t.Errorf("%s, week %d: quantiles out of order: %+v", i.Item.Code, week, d)
			}
		}
	}
	jobs := map[string]float64{}
	for _, a := range p.Arrivals {
		jobs[a.Service] += a.Jobs()
	}
	// Each lower takes two wipers, each spring two and 230 tenths of oil.
	last := len(p.Weeks) - 1
	if got, want := p.item("wiper").Through[last].Mean, 2*(jobs["lower"]+jobs["spring"]); math.Abs(got-want) > 1e-6 {
		t.Errorf("wipers: %v expected, the jobs take %v", got, want)
	}
	if got, want := p.item("oil").Through[last].Mean, 21*jobs["lower"]+23*jobs["spring"]; math.Abs(got-want) > 1e-6 {
		t.Errorf("oil: %v ml expected, the jobs take %v", got, want)
	}
}

func TestPlanLimits(t *testing.T) {
	tests := []struct {
		rule   string
		change func(*inventory.Shop)
		check  func(Plan) error
	}{
		{"an empty shop needs nothing", func(s *inventory.Shop) {
			*s = inventory.Shop{AsOf: monday, Settings: inventory.Settings{HorizonWeeks: 4, Readiness: 0.97}}
		}, func(p Plan) error {
			if len(p.Orders) > 0 || p.Readiness.WithoutOrder != 1 {
				return fmt.Errorf("found %d orders, readiness %v", len(p.Orders), p.Readiness.WithoutOrder)
			}
			return nil
		}},
		{"a lot that expires tomorrow counts only as far as it will be used by then", func(s *inventory.Shop) {
			s.Lots = []inventory.Lot{{Item: "wiper", Code: "old", OnHand: 500, Expires: monday + 1}}
		}, func(p Plan) error {
			if i := p.item("wiper"); i.OnHand != 500 || i.Usable > 2 || i.OrderQty == 0 {
				return fmt.Errorf("on hand %d, usable %d, order %d", i.OnHand, i.Usable, i.OrderQty)
			}
			return nil
		}},
		{"an expired lot is not on hand", func(s *inventory.Shop) {
			s.Lots = []inventory.Lot{{Item: "wiper", Code: "old", OnHand: 500, Expires: monday}}
		}, func(p Plan) error {
			if i := p.item("wiper"); i.OnHand != 0 {
				return fmt.Errorf("on hand %d", i.OnHand)
			}
			return nil
		}},
		{"what a job beyond the protection time has set aside is not there for others", func(s *inventory.Shop) {
			s.Jobs = append(s.Jobs, inventory.Job{Code: "J9", Model: "fell", Services: []string{"lower"}, BenchDate: monday + 50, State: inventory.Booked})
			s.Lots[1].SetAside = []inventory.SetAside{{Job: "J9", Qty: 2}}
		}, func(p Plan) error {
			if i := p.item("wiper"); i.Position != 0 || i.SetAside != 2 || i.Free != 0 {
				return fmt.Errorf("position %d, set aside %d, free %d", i.Position, i.SetAside, i.Free)
			}
			return nil
		}},
		{"a needed item that nobody offers is told, and the others are still ordered", func(s *inventory.Shop) {
			s.Offers = s.Offers[:3]
			s.Offers = append(s.Offers[:1:1], s.Offers[2:]...) // no oil
		}, func(p Plan) error {
			if i := p.item("wiper"); i.OrderQty == 0 || !strings.Contains(strings.Join(p.Warnings, "\n"), "oil is needed and no supplier offers it") {
				return fmt.Errorf("wipers %d, warnings %q", i.OrderQty, p.Warnings)
			}
			return nil
		}},
		{"a change of the bill of materials holds from its week on", func(s *inventory.Shop) {
			s.BOM[1].To = monday + 14
			s.BOM = append(s.BOM, inventory.BOMLine{Service: "lower", Model: "*", Item: "wiper", From: monday + 14, Qty: 4, Need: 1})
		}, func(p Plan) error {
			lowers := map[int]float64{}
			for _, a := range p.Arrivals {
				if a.Service == "lower" {
					lowers[a.Week] += a.Jobs()
				} else {
					lowers[a.Week] += a.Jobs() * 2 / map[bool]float64{true: 4, false: 2}[a.Week >= 2]
				}
			}
			for week, d := range p.item("wiper").Week {
				each := map[bool]float64{true: 4, false: 2}[week >= 2]
				if math.Abs(d.Mean-each*lowers[week]) > 1e-6 {
					return fmt.Errorf("week %d: %v wipers for %v jobs", week, d.Mean, lowers[week])
				}
			}
			return nil
		}},
		{"a supplier's minimum that is not met is told", func(s *inventory.Shop) {
			s.Suppliers[1].MinOrder = 9_999_00
		}, func(p Plan) error {
			if !strings.Contains(strings.Join(p.Warnings, "\n"), "below its minimum of EUR 9999.00") {
				return fmt.Errorf("warnings %q", p.Warnings)
			}
			if len(p.Limits) != 1 || !slices.Contains(p.Warnings, p.Limits[0].Warning) {
				return fmt.Errorf("limits %+v, expected one that names its warning among %q", p.Limits, p.Warnings)
			}
			return nil
		}},
		{"a horizon that ends before what is ordered must last is told, with one that does not", func(s *inventory.Shop) {
			s.Settings.HorizonWeeks = 2
		}, func(p Plan) error {
			return beyondHorizon(p, "until 2026-06-28, and what is ordered of kit must last until 2026-07-03; ", "set horizon_weeks to 3 or more")
		}},
		{"and that one is long enough", func(s *inventory.Shop) { s.Settings.HorizonWeeks = 3 }, func(p Plan) error {
			return beyondHorizon(p)
		}},
	}
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			shop := parkShop()
			test.change(&shop)
			if err := test.check(planOf(t, shop)); err != nil {
				t.Error(err)
			}
		})
	}
}

// beyondHorizon: the plan warns of its horizon with all of some texts; of none:
// it does not.
func beyondHorizon(p Plan, texts ...string) error {
	at := slices.IndexFunc(p.Warnings, func(w string) bool { return strings.HasPrefix(w, "horizon_weeks") })
	if (at < 0) != (len(texts) == 0) {
		return fmt.Errorf("warnings %q", p.Warnings)
	}
	for _, text := range texts {
		if !strings.Contains(p.Warnings[at], text) {
			return fmt.Errorf("found %q, expected %q in it", p.Warnings[at], text)
		}
	}
	return nil
}

func TestTheSameShopGivesTheSamePlan(t *testing.T) {
	shop := parkShop()
	before := fmt.Sprintf("%+v", shop)
	first, second := planOf(t, shop), planOf(t, shop)
	if !reflect.DeepEqual(first, second) {
		t.Error("two plans of one shop differ")
	}
	if fmt.Sprintf("%+v", shop) != before {
		t.Error("planning changed the shop")
	}
}
