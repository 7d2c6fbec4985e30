// Package big invents a workshop as large as the program is meant for: what
// benchmarks measure and what whole plans are checked on. A seed settles all of
// it. The workshop, its makers, suppliers and riders are invented; intervals
// and quantities are common practice, no source. Nothing but tests may import
// it.
//
//	w := big.New(big.Goal)
//	p, err := plan.Make(w.Shop, plan.Options{})
//	err = w.Write(dir) // the same workshop as a book
package big

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"circlip/inventory"
)

// AsOf is the day the workshop is seen on, a Monday, and opened the day of its
// first count, 78 weeks before.
var (
	AsOf   = inventory.NewDate(2026, time.June, 15)
	opened = AsOf - 78*7
)

// Size is how large a workshop is. Open jobs are among Jobs.
type Size struct {
	Units, Items int
	Models       int // of each of the five families
	Jobs, Open   int // at least
}

// Goal is the size that the program is measured at, Small one for checks that
// must be quick.
var (
	Goal  = Size{Units: 2000, Items: 1000, Models: 17, Jobs: 20_500, Open: 500}
	Small = Size{Units: 60, Items: 78, Models: 1, Jobs: 400, Open: 20}
)

// Workshop is an invented shop as it stands on AsOf, and what its book says of
// the shelf's beginning.
type Workshop struct {
	Shop     inventory.Shop
	Opening  []inventory.Lot // by item
	measures map[string]inventory.Measure
}

// New invents a workshop. The same size gives the same one.
func New(size Size) Workshop {
	m := &maker{size: size, rnd: rand.New(rand.NewPCG(2000, 1000))}
	m.Shop.AsOf = AsOf
	m.settings()
	m.suppliers()
	m.catalogue()
	m.offers()
	m.units()
	m.live()
	m.shelve()
	m.measures = map[string]inventory.Measure{}
	for _, i := range m.Shop.Items {
		m.measures[i.Code] = i.Measure
	}
	return m.Workshop
}

// maker is a workshop on its way.
type maker struct {
	Workshop
	size    Size
	rnd     *rand.Rand
	item    map[string]inventory.Item
	bill    *inventory.Bill
	walkIns int
}

func (m *maker) settings() {
	m.Shop.Settings = inventory.Settings{
		Workshop: "Tarn Valley workshops (invented)", Currency: inventory.Currency{Code: "EUR", Decimals: 2}, TimeZone: "Europe/Vienna",
		Readiness: 0.97, HorizonWeeks: 26, OrderWeekday: time.Monday, HoldingRate: 0.20, ShowRate: 0.95,
		FleetCapture: 1, FleetLagWeeks: 1, CustomerCapture: 0.6, CustomerLagWeeks: 3,
		UsageSpreadH: 4, FoldIn: 0.25, ShelfLifeStandard: inventory.ISO2230,
		CountClasses: inventory.CountClasses{AShare: 0.8, BShare: 0.95, ATimes: 4, BTimes: 2, CTimes: 1},
		ScaleStepG:   1, MarkStepML: 10,
	}
	m.Shop.Season = map[int]float64{}
	for week := 1; week <= 53; week++ {
		m.Shop.Season[week] = season(week)
	}
}

// season is a summer resort's: lifts run from April to October.
func season(week int) float64 {
	return math.Round(100*(1+.85*math.Sin(2*math.Pi*(float64(week)-16)/52))) / 100
}

func (m *maker) suppliers() {
	for n, name := range []string{"aldermoor", "brindle", "cobbet", "dunmere", "eskdale", "farrow", "gorse", "heddle"} {
		m.Shop.Suppliers = append(m.Shop.Suppliers, inventory.Supplier{
			Code: name, Name: name + " (invented)", OrderWeekday: time.Weekday(1 + n%5), LeadDays: 2 + 3*n/2,
			MinOrder: 50_00, Carriage: 9_50, CarriageFreeFrom: 150_00, HasFreeCarriage: true,
		})
	}
}

// service is a service type; it covers those before it in its family of which
// the numbers are told.
type service struct {
	code          string
	hours, months int
	covers        []int
}

// families are what each takes by the hour; every one but the second is a chain
// of services in which each covers the one before.
var families = []struct {
	name     string
	services []service
}{
	{"fork-air", []service{{"lower", 50, 6, nil}, {"spring", 100, 12, []int{0}}, {"full", 200, 24, []int{1}}}},
	{"fork-coil", []service{{"lower", 50, 6, nil}, {"bleed", 120, 0, nil}, {"full", 200, 24, []int{0, 1}}}},
	{"post", []service{{"clean", 60, 6, nil}, {"full", 200, 18, []int{0}}}},
	{"shock-air", []service{{"can", 50, 6, nil}, {"full", 125, 12, []int{0}}}},
	{"shock-coil", []service{{"eyelet", 60, 12, nil}, {"full", 150, 12, []int{0}}}},
}

func (m *maker) units() {
	holders := []inventory.Holder{inventory.Fleet, inventory.Customer, inventory.Customer}
	for n := range m.size.Units {
		model := m.Shop.Models[m.rnd.IntN(len(m.Shop.Models))]
		u := inventory.Unit{
			Code: fmt.Sprintf("U%05d", n+1), Model: model.Code, Holder: holders[n%len(holders)],
			Group: fmt.Sprintf("group-%02d", n%40), InService: opened - inventory.Date(30+m.rnd.IntN(300)),
		}
		rate := math.Round(10*(2+8*m.rnd.Float64())) / 10
		if u.Holder == inventory.Fleet {
			rate = math.Round(10*(6+6*m.rnd.Float64())) / 10
		}
		u.HoursPerWeek = &rate
		m.Shop.Units = append(m.Shop.Units, u)
	}
}
