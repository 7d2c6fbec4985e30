package plan

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"circlip/forecast"
	"circlip/inventory"

	"pgregory.net/rapid"
)

// learning is the small park that learns, with a past of three jobs.
func learning() inventory.Shop {
	shop := parkShop()
	shop.Settings.Learn = true
	for n, days := range []inventory.Date{30, 25, 12} {
		shop.Jobs = append(shop.Jobs, inventory.Job{
			Code: fmt.Sprintf("D%d", n), Unit: fmt.Sprintf("f%d", n+1), Model: "fell", Services: []string{"lower"},
			BookedOn: monday - days - 4, BenchDate: monday - days, DoneOn: monday - days, State: inventory.Done,
		})
		shop.Uses = append(shop.Uses, inventory.JobUse{Job: fmt.Sprintf("D%d", n), Item: "wiper", Qty: 2})
	}
	return shop
}

// notNumbers are the places of a value where a float is no finite number. The
// shape of a law of walk-ins may be infinite: it then is Poisson's.
func notNumbers(path string, v reflect.Value) (bad []string) {
	switch v.Kind() {
	case reflect.Float64, reflect.Float32:
		if f := v.Float(); math.IsNaN(f) || math.IsInf(f, 0) && !strings.HasSuffix(path, ".Law.Shape") {
			bad = append(bad, fmt.Sprintf("%s = %v", path, f))
		}
	case reflect.Struct:
		for i := range v.NumField() {
			bad = append(bad, notNumbers(path+"."+v.Type().Field(i).Name, v.Field(i))...)
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			bad = append(bad, notNumbers(fmt.Sprintf("%s[%d]", path, i), v.Index(i))...)
		}
	case reflect.Map:
		for _, key := range v.MapKeys() {
			bad = append(bad, notNumbers(fmt.Sprintf("%s[%v]", path, key), v.MapIndex(key))...)
		}
	case reflect.Pointer, reflect.Interface:
		if !v.IsNil() {
			bad = append(bad, notNumbers(path, v.Elem())...)
		}
	}
	return bad
}

// numbersOnly plans a shop and looks at every figure of the plan and of what
// was learnt for it.
func numbersOnly(t interface {
	Helper()
	Fatalf(string, ...any)
}, shop inventory.Shop) Plan {
	t.Helper()
	out, err := Foresee(shop)
	if err != nil {
		t.Fatalf("foresee: %v", err)
	}
	p, err := Make(shop, Options{EveryWeek: true})
	if err != nil {
		t.Fatalf("make: %v", err)
	}
	bad := append(notNumbers("plan", reflect.ValueOf(p)), notNumbers("lessons", reflect.ValueOf(out.Lessons()))...)
	if len(bad) > 0 {
		t.Fatalf("found %d figures that are no numbers, the first of them %v", len(bad), bad[:min(len(bad), 5)])
	}
	return p
}

// What a book may hold that no workshop should. Each gives a plan, and where
// something cannot be planned a warning or the basis of a figure says so.
func TestDegeneratePastsGiveAPlanOfNumbers(t *testing.T) {
	for _, c := range []struct {
		name  string
		spoil func(*inventory.Shop)
		check func(*testing.T, Plan)
	}{
		{"no history at all", func(s *inventory.Shop) {
			s.Jobs, s.Uses = nil, nil
			for i := range s.Units {
				s.Units[i].Readings, s.Units[i].HoursPerWeek = nil, nil
			}
		}, warns("units without hours_per_week")},
		{"nothing in the book", func(s *inventory.Shop) {
			*s = inventory.Shop{AsOf: s.AsOf, Settings: s.Settings}
		}, nothingComes},
		{"one job", func(s *inventory.Shop) {
			s.Units, s.Uses = nil, nil
			s.Jobs = s.Jobs[2:3]
		}, nil},
		{"all zeros in the meters", func(s *inventory.Shop) {
			for i := range s.Units {
				s.Units[i].HoursPerWeek = nil
				for k := range s.Units[i].Readings {
					s.Units[i].Readings[k].Hours = 0
				}
			}
		}, nil},
		{"a meter that jumps tenfold", jump(500), warns("gained more hours than passed")},
		{"a meter that jumps by a life", jump(50_000), warns("gained more hours than passed")},
		{"a meter that jumps beyond any number of weeks", jump(1e12), warns("gained more hours than passed")},
		{"a meter that falls", func(s *inventory.Shop) {
			u := &s.Units[0]
			u.Readings = []inventory.Reading{{Date: monday - 40, Hours: 90}, {Date: monday - 20, Hours: 10}, {Date: monday - 1, Hours: 12}}
		}, warns("units whose meter fell")},
		{"a unit with a thousand readings of different days", func(s *inventory.Shop) {
			u := &s.Units[0]
			u.HoursPerWeek, u.Readings = nil, nil
			for n := range 1000 {
				u.Readings = append(u.Readings, inventory.Reading{Date: monday - 1000 + inventory.Date(n), Hours: 0.8 * float64(n)})
			}
		}, nil},
		{"a unit with a thousand readings a day", func(s *inventory.Shop) {
			u := &s.Units[0]
			u.HoursPerWeek, u.Readings = nil, nil
			for n := range 3000 {
				u.Readings = append(u.Readings, inventory.Reading{Date: monday - 3 + inventory.Date(n/1000), Hours: 30 + 0.001*float64(n)})
			}
		}, nil},
		{"a service never done", func(s *inventory.Shop) {
			s.Services = append(s.Services, inventory.Service{Code: "polish", Family: "fork"})
			s.BOM = append(s.BOM, inventory.BOMLine{Service: "polish", Model: "*", Item: "wipes", Qty: 1, Need: 1})
		}, noneOf("polish")},
		{"a service never done with limits of a day and of a moment", func(s *inventory.Shop) {
			s.Services = append(s.Services, inventory.Service{Code: "rinse", Family: "fork", EveryHours: 0.5}, inventory.Service{Code: "wipe", Family: "fork", EveryMonths: 1})
		}, nil},
		{"jobs without units", func(s *inventory.Shop) {
			for i := range s.Jobs {
				s.Jobs[i].Unit = ""
			}
		}, nil},
		{"units that the book does not hold", func(s *inventory.Shop) { s.Units = nil }, nil},
		{"open jobs on unknown models", func(s *inventory.Shop) {
			s.Jobs[1].Model = "ghost"
		}, warns(`job J2 is on model "ghost"`)},
		{"everything on unknown models", func(s *inventory.Shop) { s.Models = nil }, warns("which the book does not know")},
		{"everything booked on one day for that day", func(s *inventory.Shop) {
			s.Jobs = nil
			for n := range 60 {
				s.Jobs = append(s.Jobs, inventory.Job{Code: fmt.Sprintf("S%02d", n), Model: "fell", Services: []string{"lower"}, BookedOn: monday, BenchDate: monday, State: inventory.Booked})
			}
		}, nil},
		{"everything done on one day", func(s *inventory.Shop) {
			s.Jobs = nil
			for n := range 60 {
				s.Jobs = append(s.Jobs, inventory.Job{Code: fmt.Sprintf("S%02d", n), Unit: "f1", Model: "fell", Services: []string{"lower"}, BookedOn: monday - 30, BenchDate: monday - 30, DoneOn: monday - 30, State: inventory.Done})
			}
		}, nil},
		{"nobody turned up", func(s *inventory.Shop) {
			for i := range s.Jobs {
				if s.Jobs[i].State == inventory.Done {
					s.Jobs[i].State, s.Jobs[i].DoneOn = inventory.NoShow, 0
				}
			}
		}, nil},
		{"all that is due comes at once, and long is due", func(s *inventory.Shop) {
			s.Settings.FleetLagWeeks = 0
			s.Jobs, s.Uses = nil, nil
			for i := range s.Units {
				s.Units[i].Readings[1].Hours = 400
			}
		}, nil},
		{"the same, not read for half a year", func(s *inventory.Shop) {
			s.Settings.FleetLagWeeks = 0
			s.Jobs, s.Uses = nil, nil
			for i := range s.Units {
				s.Units[i].Readings = []inventory.Reading{{Date: monday - 400, Hours: 0}, {Date: monday - 180, Hours: 40}}
			}
		}, nil},
		{"nobody comes when due", func(s *inventory.Shop) { s.Settings.FleetCapture, s.Settings.ShowRate = 0, 0 }, nil},
		{"suppliers that deliver before the order", func(s *inventory.Shop) {
			for n := range 20 {
				s.Orders = append(s.Orders, inventory.OrderLine{Order: fmt.Sprint(n), Item: "wiper", Supplier: "near", Packs: 1, PackQty: 2, PlacedOn: monday - 20, DueOn: monday - 17, ReceivedOn: monday - 40, ReceivedPacks: 1})
			}
		}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			shop := learning()
			c.spoil(&shop)
			began := time.Now()
			p := numbersOnly(t, shop)
			if took := time.Since(began); took > 20*time.Second {
				t.Errorf("took %s, expected no longer than any small shop", took)
			}
			if c.check != nil {
				c.check(t, p)
			}
		})
	}
}

func jump(hours float64) func(*inventory.Shop) {
	return func(s *inventory.Shop) {
		u := &s.Units[4] // done on before the jump, and with nothing booked
		u.HoursPerWeek = nil
		u.Readings = []inventory.Reading{{Date: monday - 60, Hours: 0}, {Date: monday - 31, Hours: 20}, {Date: monday - 20, Hours: hours}, {Date: monday - 1, Hours: hours + 3}}
		s.Jobs = append(s.Jobs, inventory.Job{
			Code: "D9", Unit: "f5", Model: "fell", Services: []string{"lower"},
			BookedOn: monday - 42, BenchDate: monday - 40, DoneOn: monday - 40, State: inventory.Done,
		})
	}
}

func warns(text string) func(*testing.T, Plan) {
	return func(t *testing.T, p Plan) {
		t.Helper()
		for _, w := range p.Warnings {
			if strings.Contains(w, text) {
				return
			}
		}
		t.Errorf("found warnings %q, expected one that says %q", p.Warnings, text)
	}
}

func nothingComes(t *testing.T, p Plan) {
	t.Helper()
	if len(p.Arrivals)+len(p.Orders)+len(p.Items) > 0 {
		t.Errorf("found %d arrivals, %d orders and %d items, expected none", len(p.Arrivals), len(p.Orders), len(p.Items))
	}
}

func noneOf(service string) func(*testing.T, Plan) {
	return func(t *testing.T, p Plan) {
		t.Helper()
		for _, a := range p.Arrivals {
			if a.Service == service && a.Jobs() > 0 {
				t.Errorf("found %v of %s in week %d, expected none", a.Jobs(), service, a.Week)
			}
		}
	}
}

// One wild meter must not tell of the others: a fleet's unit that jumped says
// nothing of how surely the rest comes.
func TestOneWildMeterTeachesNothingOfTheOthers(t *testing.T) {
	fleet := func(wild bool) inventory.Shop {
		shop := learning()
		shop.Jobs, shop.Uses = nil, nil
		for n := range shop.Units {
			u := &shop.Units[n]
			u.HoursPerWeek, u.Readings, u.InService = nil, nil, monday-700
			for day := monday - 693; day < monday; day += 7 {
				u.Readings = append(u.Readings, inventory.Reading{Date: day, Hours: float64(day-(monday-700)) / 7 * 6})
			}
			for k := range 10 {
				on := monday - 690 + inventory.Date(63*(k+1)) + 3
				if on < monday {
					shop.Jobs = append(shop.Jobs, inventory.Job{Code: fmt.Sprintf("D%d-%d", n, k), Unit: u.Code, Model: "fell", Services: []string{"lower"}, BookedOn: on - 5, BenchDate: on, DoneOn: on, State: inventory.Done})
				}
			}
		}
		if wild {
			u := &shop.Units[0]
			for i := range u.Readings[50:] {
				u.Readings[50+i].Hours += 1e6
			}
		}
		return shop
	}
	tame, err := Foresee(fleet(false))
	if err != nil {
		t.Fatal(err)
	}
	wild, err := Foresee(fleet(true))
	if err != nil {
		t.Fatal(err)
	}
	for _, unit := range []string{"f2", "f6"} {
		a, b := tame.Lessons().Loyalty[unit].Mean(), wild.Lessons().Loyalty[unit].Mean()
		if a < 0.8 || math.Abs(a-b) > 0.05 {
			t.Errorf("%s comes with %.3f beside tame meters and with %.3f beside a wild one, expected the same", unit, a, b)
		}
	}
}

// Small shops of any sort give numbers: so many drawn ones, each with its seed.
func TestNoSmallShopGivesWhatIsNoNumber(t *testing.T) {
	shops := rapid.Custom(drawnShop)
	for seed := range 16 {
		t.Run(fmt.Sprint("seed ", seed), func(t *testing.T) { numbersOnly(t, shops.Example(seed)) })
	}
}

// drawnShop is a small shop in which every table may be empty.
func drawnShop(t *rapid.T) inventory.Shop {
	shop := parkShop()
	set := &shop.Settings
	share := rapid.SampledFrom([]float64{0, 0.3, 0.9, 1})
	set.Learn, set.HorizonWeeks = true, rapid.IntRange(1, 6).Draw(t, "weeks")
	set.ShowRate, set.FleetCapture, set.CustomerCapture = share.Draw(t, "show"), share.Draw(t, "fleet"), share.Draw(t, "customers")
	lag := rapid.SampledFrom([]float64{0, 0.5, 3, 20})
	set.FleetLagWeeks, set.CustomerLagWeeks = lag.Draw(t, "fleet lag"), lag.Draw(t, "customer lag")
	shop.Jobs, shop.Units = nil, nil
	for n := range rapid.IntRange(0, 4).Draw(t, "units") {
		u := inventory.Unit{Code: fmt.Sprintf("u%d", n), Model: "fell", Holder: inventory.Fleet}
		if rapid.Bool().Draw(t, "customer") {
			u.Holder = inventory.Customer
		}
		day, hours := monday-800, 0.0
		for range rapid.IntRange(0, 5).Draw(t, "readings") {
			day += inventory.Date(rapid.IntRange(0, 160).Draw(t, "days"))
			hours += rapid.SampledFrom([]float64{-3, 0, 1, 30, 200, 1e5}).Draw(t, "hours")
			hours = max(hours, 0)
			u.Readings = append(u.Readings, inventory.Reading{Date: day, Hours: hours})
		}
		shop.Units = append(shop.Units, u)
	}
	states := []inventory.JobState{inventory.Done, inventory.Done, inventory.Done, inventory.Booked, inventory.NoShow, inventory.Cancelled}
	for n := range rapid.IntRange(0, 25).Draw(t, "jobs") {
		j := inventory.Job{Code: fmt.Sprintf("J%02d", n), Model: "fell", State: rapid.SampledFrom(states).Draw(t, "state")}
		if unit := rapid.IntRange(-1, len(shop.Units)-1).Draw(t, "unit"); unit >= 0 {
			j.Unit = shop.Units[unit].Code
		}
		j.Services = rapid.SampledFrom([][]string{{"lower"}, {"spring"}, {"lower", "spring"}}).Draw(t, "services")
		j.BenchDate = monday - inventory.Date(rapid.IntRange(1, 900).Draw(t, "ago"))
		j.BookedOn = j.BenchDate - inventory.Date(rapid.IntRange(0, 30).Draw(t, "ahead"))
		if j.State == inventory.Done {
			j.DoneOn = j.BenchDate
		}
		shop.Jobs = append(shop.Jobs, j)
	}
	return shop
}

// A past that lies in the future cannot be planned from, or is planned around:
// either way somebody is told.
func TestAPastInTheFutureIsPlannedAroundOrRefused(t *testing.T) {
	for _, c := range []struct {
		name  string
		spoil func(*inventory.Shop)
	}{
		{"jobs done on days to come", func(s *inventory.Shop) {
			for i := range s.Jobs {
				if s.Jobs[i].State == inventory.Done {
					s.Jobs[i].BookedOn, s.Jobs[i].BenchDate, s.Jobs[i].DoneOn = monday+100, monday+110, monday+110
				}
			}
		}},
		{"meters read on days to come", func(s *inventory.Shop) { s.Units[3].Readings[1].Date = monday + 40 }},
		{"units that go into service on days to come", func(s *inventory.Shop) {
			for i := range s.Units {
				s.Units[i].InService = monday + 50
			}
		}},
		{"orders placed on days to come", func(s *inventory.Shop) {
			s.Orders = []inventory.OrderLine{{Order: "1", Item: "wiper", Supplier: "near", Packs: 1, PackQty: 2, PlacedOn: monday + 9, DueOn: monday + 12, ReceivedOn: monday + 13, ReceivedPacks: 1}}
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			shop := learning()
			c.spoil(&shop)
			p, err := Make(shop, Options{EveryWeek: true})
			if err != nil {
				if !errors.Is(err, forecast.ErrLadder) {
					t.Errorf("found %v, expected what was found of which unit", err)
				}
				t.Logf("refused: %v", err)
				return
			}
			if bad := notNumbers("plan", reflect.ValueOf(p)); len(bad) > 0 {
				t.Errorf("found what is no number: %v", bad)
			}
		})
	}
}
