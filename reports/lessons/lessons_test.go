package lessons

import (
	"fmt"
	"reflect"
	"testing"
	"time"

	"circlip/forecast"
	"circlip/inventory"
)

// today is a Monday on which the small shops below stand.
var today = inventory.NewDate(2026, time.June, 15)

// small is a shop of two services, one item a line, a supplier and no past.
func small() inventory.Shop {
	return inventory.Shop{
		AsOf: today,
		Settings: inventory.Settings{
			Readiness: 0.97, HorizonWeeks: 8, ShowRate: 0.9, FleetCapture: 0.95, FleetLagWeeks: 1,
			CustomerCapture: 0.6, CustomerLagWeeks: 3, UsageSpreadH: 4, FoldIn: 0.25, Learn: true,
		},
		Suppliers: []inventory.Supplier{{Code: "near", LeadDays: 3}},
		Items:     []inventory.Item{{Code: "kit"}, {Code: "oil"}, {Code: "seal"}, {Code: "wiper"}, {Code: "wiper-b"}},
		Offers:    []inventory.Offer{{Item: "wiper", Supplier: "near", FromPacks: 1, PackQty: 1, MinPacks: 1, Multiple: 1}},
		Kits:      []inventory.KitPart{{Kit: "kit", Item: "seal", Qty: 1}},
		Alternates: []inventory.Alternate{
			{Item: "wiper", Alternate: "wiper-b", Rank: 1},
		},
		Models:   []inventory.Model{{Code: "fell", Family: "fork"}, {Code: "tarn", Family: "fork"}},
		Services: []inventory.Service{{Code: "air", Family: "fork"}, {Code: "lower", Family: "fork", EveryHours: 50}},
		BOM: []inventory.BOMLine{
			{Service: "air", Model: "*", Item: "oil", Qty: 10, Need: 0.8},
			{Service: "lower", Model: "*", Item: "oil", Qty: 100, Need: 0.8},
			{Service: "lower", Model: "*", Item: "seal", Qty: 1, Need: 0.2},
			{Service: "lower", Model: "*", Item: "wiper", Qty: 2, Need: 0.9},
		},
	}
}

// job is one that was booked so many days ahead and ended so many days ago.
func job(code, unit string, state inventory.JobState, ago, ahead inventory.Date, services ...string) inventory.Job {
	if len(services) == 0 {
		services = []string{"lower"}
	}
	j := inventory.Job{Code: code, Unit: unit, Model: "fell", Services: services, BookedOn: today - ago - ahead, BenchDate: today - ago, State: state}
	if state == inventory.Done {
		j.DoneOn = j.BenchDate
	}
	return j
}

// readTwice is a meter read twice, so that hours a week can be told.
var readTwice = []inventory.Reading{{Date: today - 900, Hours: 3}, {Date: today - 1, Hours: 1200}}

func TestTheShowRateIsThatOfBookingsMadeADayAhead(t *testing.T) {
	for _, c := range []struct {
		name    string
		job     inventory.Job
		yes, no int
	}{
		{"done after a booking the day before counts", job("J", "", inventory.Done, 5, 1), 1, 0},
		{"booked on its day says nothing", job("J", "", inventory.Done, 5, 0), 0, 0},
		{"missed counts against", job("J", "", inventory.NoShow, 5, 3), 0, 1},
		{"cancelled counts against", job("J", "", inventory.Cancelled, 5, 3), 0, 1},
		{"open says nothing yet", job("J", "", inventory.Booked, -2, 9), 0, 0},
		{"overdue and open says nothing yet", job("J", "", inventory.Booked, 3, 9), 0, 0},
		{"cancelled before a day to come says nothing yet", job("J", "", inventory.Cancelled, -4, 9), 0, 0},
		{"entered afterwards says nothing", job("J", "", inventory.Done, 5, -2), 0, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			shop := small()
			shop.Jobs = []inventory.Job{c.job}
			l := Of(shop)
			if l.Show.Yes != c.yes || l.Show.No != c.no {
				t.Errorf("found %d that came and %d that did not, expected %d and %d", l.Show.Yes, l.Show.No, c.yes, c.no)
			}
		})
	}
	unkept := job("J", "", inventory.Done, 5, 3)
	unkept.BookedOn = 0
	shop := small()
	shop.Jobs = []inventory.Job{unkept}
	if l := Of(shop); l.Show.Yes+l.Show.No != 0 {
		t.Errorf("a job whose day of booking is not kept counted: %+v", l.Show)
	}
}

func TestNeedIsLearntFromJobsWithAnythingRecorded(t *testing.T) {
	both := job("J", "", inventory.Done, 5, 3, "air", "lower")
	for _, c := range []struct {
		name string
		job  inventory.Job
		used []string
		want map[string][2]int // by service and item: took it, did not
	}{
		{"what is recorded was taken, the rest was not", job("J", "", inventory.Done, 5, 3), []string{"oil"},
			map[string][2]int{"lower oil": {1, 0}, "lower seal": {0, 1}, "lower wiper": {0, 1}}},
		{"a job without a record says nothing", job("J", "", inventory.Done, 5, 3), nil, nil},
		{"an alternate stands in", job("J", "", inventory.Done, 5, 3), []string{"wiper-b"},
			map[string][2]int{"lower oil": {0, 1}, "lower seal": {0, 1}, "lower wiper": {1, 0}}},
		{"a kit stands in for its parts", job("J", "", inventory.Done, 5, 3), []string{"kit"},
			map[string][2]int{"lower oil": {0, 1}, "lower seal": {1, 0}, "lower wiper": {0, 1}}},
		{"what two services of a job take tells of neither", both, []string{"oil", "wiper"},
			map[string][2]int{"lower seal": {0, 1}, "lower wiper": {1, 0}}},
		{"a job missed says nothing", job("J", "", inventory.NoShow, 5, 3), []string{"oil"}, nil},
		{"an item off the bill says that lines were not taken", job("J", "", inventory.Done, 5, 3, "air"), []string{"seal"},
			map[string][2]int{"air oil": {0, 1}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			shop := small()
			shop.Jobs = []inventory.Job{c.job}
			for _, item := range c.used {
				shop.Uses = append(shop.Uses, inventory.JobUse{Job: "J", Item: item, Qty: 1})
			}
			for _, n := range Of(shop).Needs {
				want := c.want[n.Service+" "+n.Item]
				if n.Yes != want[0] || n.No != want[1] {
					t.Errorf("%s %s: found taken %d, not %d, expected %v", n.Service, n.Item, n.Yes, n.No, want)
				}
			}
		})
	}
}

// Units with a meter that were seen before are foreseen; the rest walk in.
func TestTheBookingCurveIsByHolderAndOfWalkIns(t *testing.T) {
	shop := small()
	shop.Units = []inventory.Unit{
		{Code: "f", Model: "fell", Holder: inventory.Fleet, InService: today - 900, Readings: readTwice},
		{Code: "c", Model: "fell", Holder: inventory.Customer, Readings: readTwice},
	}
	for n := range 30 {
		ago := inventory.Date(10 + 20*n)
		shop.Jobs = append(shop.Jobs, job(fmt.Sprint("F", n), "f", inventory.Done, ago, 2), job(fmt.Sprint("C", n), "c", inventory.Done, ago, 9))
		if n < 7 {
			shop.Jobs = append(shop.Jobs, job(fmt.Sprint("W", n), "", inventory.Done, ago, 0))
		}
	}
	l := Of(shop)
	fleet, customers := l.Ahead[inventory.Fleet], l.Ahead[inventory.Customer]
	if fleet.Jobs != 30 || customers.Jobs != 30 || l.WalkIn.Jobs != 7 {
		t.Errorf("found %d jobs of the fleet, %d of customers, %d walk-ins, expected 30, 30, 7", fleet.Jobs, customers.Jobs, l.WalkIn.Jobs)
	}
	for _, c := range []struct {
		who         string
		found, want float64
	}{ // with five more on their day
		{"fleet, a day ahead", fleet.Beyond(1), 30. / 35}, {"customers, a week ahead", customers.Beyond(8), 30. / 35}, {"walk-ins", l.WalkIn.Beyond(0), 0},
	} {
		if d := c.found - c.want; d > 1e-9 || d < -1e-9 {
			t.Errorf("%s: found %v booked longer ahead, expected %v", c.who, c.found, c.want)
		}
	}
	if fleet.Beyond(4) > 0.2 || fleet.Beyond(4) > customers.Beyond(4) {
		t.Errorf("found %v of the fleet booked longer than four days, expected hardly any", fleet.Beyond(4))
	}
}

func TestReturnsAreOfUnitsWithoutAMeter(t *testing.T) {
	for _, c := range []struct {
		name       string
		unit       inventory.Unit
		jobs       []inventory.Job
		gaps, back int
	}{
		{"two visits and one to come", inventory.Unit{}, []inventory.Job{job("1", "u", inventory.Done, 300, 2), job("2", "u", inventory.Done, 100, 2)}, 2, 1},
		{"one visit leaves it open", inventory.Unit{}, []inventory.Job{job("1", "u", inventory.Done, 300, 2)}, 1, 0},
		{"retired before it could come again", inventory.Unit{Retired: today - 300}, []inventory.Job{job("1", "u", inventory.Done, 300, 2)}, 0, 0},
		{"another service between does not count", inventory.Unit{}, []inventory.Job{job("1", "u", inventory.Done, 300, 2), job("2", "u", inventory.Done, 200, 2, "air")}, 1, 0},
		{"missed visits are none", inventory.Unit{}, []inventory.Job{job("1", "u", inventory.Done, 300, 2), job("2", "u", inventory.NoShow, 100, 2)}, 1, 0},
		{"a unit with a meter", inventory.Unit{Readings: readTwice}, []inventory.Job{job("1", "u", inventory.Done, 300, 2)}, 0, 0},
		{"a unit read once, of which nobody can tell the hours", inventory.Unit{Readings: readTwice[:1]}, []inventory.Job{job("1", "u", inventory.Done, 300, 2)}, 1, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			shop := small()
			c.unit.Code, c.unit.Model, c.unit.Holder = "u", "fell", inventory.Customer
			shop.Units, shop.Jobs = []inventory.Unit{c.unit}, c.jobs
			if r := Of(shop).Returns["lower"]; r.Gaps != c.gaps || r.Back != c.back {
				t.Errorf("found %d times, %d ended, expected %d and %d", r.Gaps, r.Back, c.gaps, c.back)
			}
		})
	}
}

func TestADeliveryTeachesItsDaysOnce(t *testing.T) {
	line := func(order, item string, placed, came inventory.Date) inventory.OrderLine {
		return inventory.OrderLine{Order: order, Item: item, Supplier: "near", Packs: 1, PackQty: 1, PlacedOn: placed, DueOn: placed + 3, ReceivedOn: came, ReceivedPacks: 1}
	}
	open := line("3", "wiper", today-9, 0)
	open.ReceivedPacks = 0
	for _, c := range []struct {
		name   string
		orders []inventory.OrderLine
		want   int
	}{
		{"two lines that came together", []inventory.OrderLine{line("1", "wiper", today-40, today-36), line("1", "oil", today-40, today-36)}, 1},
		{"two lines of one order that came apart", []inventory.OrderLine{line("1", "wiper", today-40, today-36), line("1", "oil", today-40, today-30)}, 2},
		{"two orders of one day", []inventory.OrderLine{line("1", "wiper", today-40, today-36), line("2", "wiper", today-40, today-36)}, 2},
		{"what has not come", []inventory.OrderLine{open}, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			shop := small()
			shop.Orders = c.orders
			lead, found := Of(shop).LeadOf("near", 3)
			if !found || lead.Receipts != c.want {
				t.Errorf("found %d deliveries (%v), expected %d", lead.Receipts, found, c.want)
			}
		})
	}
	if _, found := Of(small()).LeadOf("far", 3); found {
		t.Error("found a law of a supplier that offers nothing")
	}
}

func TestAWalkInIsAJobThatNothingForesaw(t *testing.T) {
	meter := inventory.Unit{Code: "u", Model: "fell", Holder: inventory.Customer, Readings: readTwice}
	bare := inventory.Unit{Code: "u", Model: "fell", Holder: inventory.Customer}
	retired := meter
	retired.Retired = today - 5
	earlier := job("0", "u", inventory.Done, 400, 2)
	for _, c := range []struct {
		name string
		unit inventory.Unit
		jobs []inventory.Job
		want map[string]int // by services and model
	}{
		{"a unit that the book does not know", meter, []inventory.Job{job("1", "", inventory.Done, 30, 2)}, map[string]int{"lower fell": 1}},
		{"a unit with hours that was seen before is none", meter, []inventory.Job{job("1", "u", inventory.Done, 30, 2)}, nil},
		{"nor is it one after the unit was retired", retired, []inventory.Job{job("1", "u", inventory.Done, 30, 2)}, nil},
		{"a service without a limit is one even so", meter, []inventory.Job{job("1", "u", inventory.Done, 30, 2, "air")}, map[string]int{"air fell": 1}},
		{"a unit without hours walks in the first time", bare, []inventory.Job{earlier}, map[string]int{"lower fell": 1}},
		{"and is foreseen from then on", bare, []inventory.Job{earlier, job("1", "u", inventory.Done, 30, 2)}, map[string]int{"lower fell": 1}},
		{"but for a service that it never had", bare, []inventory.Job{earlier, job("1", "u", inventory.Done, 30, 2, "air")}, map[string]int{"lower fell": 1, "air fell": 1}},
		{"a job of two services counts once", meter, []inventory.Job{job("1", "", inventory.Done, 30, 2, "air", "lower")}, map[string]int{"air;lower fell": 1}},
		{"who does not turn up is none", meter, []inventory.Job{job("1", "", inventory.NoShow, 30, 2), job("2", "", inventory.Done, 200, 2)}, map[string]int{"lower fell": 1}},
		{"two in a week", meter, []inventory.Job{job("1", "", inventory.Done, 30, 2), job("2", "", inventory.Done, 30, 2)}, map[string]int{"lower fell": 2}},
	} {
		t.Run(c.name, func(t *testing.T) {
			shop := small()
			shop.Units, shop.Jobs = []inventory.Unit{c.unit}, c.jobs
			p := newPast(shop)
			(&Lessons{}).learnRiding(p) // tells whose hours are known
			found := map[string]int{}
			for _, j := range p.jobs {
				if j.State == inventory.Done && !p.foreseen(j) {
					found[together(j.Services)+" "+j.Model]++
				}
			}
			if len(found) != len(c.want) {
				t.Errorf("found %v, expected %v", found, c.want)
			}
			laws := map[string]bool{}
			for _, w := range Of(shop).WalkIns {
				laws[together(w.Services)+" "+w.Model] = true
			}
			for kind, n := range c.want {
				if found[kind] != n || !laws[kind] {
					t.Errorf("%s: found %d and a law of it: %v, expected %d and one", kind, found[kind], laws[kind], n)
				}
			}
			if len(laws) != len(c.want) {
				t.Errorf("found laws of %v, expected those of %v", laws, c.want)
			}
		})
	}
}

// The time between two jobs of a unit, as loyalty is learnt from it.
func TestCycles(t *testing.T) {
	// Ten hours a week, read every week.
	read := func(u inventory.Unit, until inventory.Date) inventory.Unit {
		u.Code, u.Model = "u", "fell"
		for day := today - 700; day <= until; day += 7 {
			u.Readings = append(u.Readings, inventory.Reading{Date: day, Hours: float64(day-today+700) / 7 * 10})
		}
		return u
	}
	customer, fleet := inventory.Unit{Holder: inventory.Customer}, inventory.Unit{Holder: inventory.Fleet, InService: today - 700}
	retired := customer
	retired.Retired = today - 20
	booked := job("B", "u", inventory.Booked, -5, 20)
	type cycle struct {
		weeks  float64
		closed bool
	}
	for _, c := range []struct {
		name string
		unit inventory.Unit
		jobs []inventory.Job
		want []cycle
	}{
		{"a customer's first begins at its first job", read(customer, today), []inventory.Job{job("1", "u", inventory.Done, 140, 2), job("2", "u", inventory.Done, 70, 2)}, []cycle{{10, true}, {10, false}}},
		{"whatever that job did", read(customer, today), []inventory.Job{job("1", "u", inventory.Done, 140, 2, "air"), job("2", "u", inventory.Done, 70, 2)}, []cycle{{10, true}, {10, false}}},
		{"but later ones must have done the service", read(customer, today), []inventory.Job{job("1", "u", inventory.Done, 140, 2), job("2", "u", inventory.Done, 70, 2, "air")}, []cycle{{20, false}}},
		{"a fleet's begins when it goes into service", read(fleet, today), []inventory.Job{job("1", "u", inventory.Done, 630, 2)}, []cycle{{10, true}, {90, false}}},
		{"the open one is left out where a job is booked", read(customer, today), []inventory.Job{job("1", "u", inventory.Done, 140, 2), booked}, nil},
		{"and where the unit is retired", read(retired, today), []inventory.Job{job("1", "u", inventory.Done, 140, 2)}, nil},
		{"a stale meter is reckoned on", read(customer, today-140), []inventory.Job{job("1", "u", inventory.Done, 140, 2)}, []cycle{{20, false}}},
		{"no job, no cycle of a customer's", read(customer, today), nil, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			shop := small()
			shop.Units, shop.Jobs = []inventory.Unit{c.unit}, c.jobs
			p := newPast(shop)
			l := Of(shop)
			usage := l.Usage["u"]
			usage.HoursPerWeek = 10 // as ridden; the learnt rate leans on its group
			found := p.cycles(c.unit, shop.Services[1], ridden(c.unit, shop.Services[1], usage, func(from, to inventory.Date) float64 { return float64(to-from) / 7 }))
			if len(found) != len(c.want) {
				t.Fatalf("found %+v, expected %+v", found, c.want)
			}
			for i, w := range c.want {
				if hours := 10 * w.weeks; float64(found[i].Hours) < hours-1e-6 || float64(found[i].Hours) > hours+1e-6 || found[i].Closed != w.closed {
					t.Errorf("cycle %d: found %v h, closed %v, expected %v h, %v", i, found[i].Hours, found[i].Closed, hours, w.closed)
				}
			}
		})
	}
}

func TestWithoutLearningTheBookStands(t *testing.T) {
	shop := invitedPast()
	shop.Settings.Learn = false
	l := Of(shop)
	if l.On || l.Show.Yes+l.Show.No > 0 || len(l.Needs)+len(l.Usage)+len(l.Leads)+len(l.WalkIns)+len(l.Returns)+len(l.Loyalty) > 0 {
		t.Errorf("something was learnt: %+v", l)
	}
	if _, found := l.LeadOf("near", 3); found {
		t.Error("a lead time was learnt")
	}
	if taught := l.Teach(shop); !reflect.DeepEqual(taught, shop) {
		t.Error("the shop taught differs from the book's")
	}
	for holder, want := range map[inventory.Holder]Habit{
		inventory.Fleet:    {Capture: 0.95, Waited: l.Habits[inventory.Fleet].Waited},
		inventory.Customer: {Capture: 0.6, Waited: l.Habits[inventory.Customer].Waited},
	} {
		if !reflect.DeepEqual(l.Habits[holder], want) {
			t.Errorf("%s: found %+v, expected the book's", holder, l.Habits[holder])
		}
	}
	if l.Habits[inventory.Fleet].Lag != 1 || l.Habits[inventory.Customer].Lag != forecast.Weeks(3) {
		t.Errorf("found lags of %v and %v, expected the book's 1 and 3", l.Habits[inventory.Fleet].Lag, l.Habits[inventory.Customer].Lag)
	}
}

func TestTeachingChangesNothingOfTheShop(t *testing.T) {
	shop, twin := invitedPast(), invitedPast()
	l := Of(shop)
	taught := l.Teach(shop)
	if !reflect.DeepEqual(shop, twin) {
		t.Error("learning or teaching changed the shop")
	}
	if taught.Settings.ShowRate == shop.Settings.ShowRate || taught.BOM[1].Need == shop.BOM[1].Need {
		t.Error("what was learnt is not in the shop taught")
	}
	taught.Season[7], taught.BOM[0].Need = 99, 99
	if !reflect.DeepEqual(shop, twin) || l.Season[7] == 99 {
		t.Error("the shop taught shares its season or its bill with what it was made of")
	}
}

// invitedPast is a small shop with a season, jobs, cards and receipts.
func invitedPast() inventory.Shop {
	shop := small()
	shop.Season = map[int]float64{7: 0.5}
	shop.Units = []inventory.Unit{{Code: "f", Model: "fell", Holder: inventory.Fleet, InService: today - 700, Readings: []inventory.Reading{{Date: today - 600, Hours: 100}, {Date: today - 3, Hours: 900}}}}
	for n := range 12 {
		code := fmt.Sprintf("J%02d", n)
		shop.Jobs = append(shop.Jobs, job(code, "f", inventory.Done, inventory.Date(600-50*n), 2))
		shop.Uses = append(shop.Uses, inventory.JobUse{Job: code, Item: "oil", Qty: 90})
		shop.Orders = append(shop.Orders, inventory.OrderLine{Order: code, Item: "wiper", Supplier: "near", Packs: 1, PackQty: 1, PlacedOn: today - 90, DueOn: today - 87, ReceivedOn: today - 80 + inventory.Date(n), ReceivedPacks: 1})
	}
	return shop
}
