package plan_test

import (
	"math"
	"testing"

	"circlip/inventory"
	"circlip/reports/lessons"
	"circlip/reports/plan"
	"circlip/reports/rehearsal/invented"
)

// count is jobs by where they come from.
type count struct{ booked, fleet, returning, walkIn float64 }

func (c count) all() float64 { return c.booked + c.fleet + c.returning + c.walkIn }

const ahead = 8 // weeks

// foreseen is what a plan of a Monday expects in the weeks to come.
func foreseen(t *testing.T, shop inventory.Shop) (c count) {
	t.Helper()
	out, err := plan.Foresee(shop)
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range out.Arrivals() {
		c.booked += a.Booked
		c.fleet += a.Fleet
		c.returning += a.Returning
		c.walkIn += a.WalkIn
	}
	return c
}

// came is what really came, by what the Monday could know of it: open in the
// book; of a unit that it knew, for a service with a limit; or neither.
func came(whole, known inventory.Shop) (c count) {
	limited := map[string]bool{}
	for _, s := range known.Services {
		limited[s.Code] = s.EveryHours > 0 || s.EveryMonths > 0
	}
	open, holder := map[string]bool{}, map[string]inventory.Holder{}
	for _, j := range known.Jobs {
		open[j.Code] = j.State == inventory.Booked
	}
	for _, u := range known.Units {
		holder[u.Code] = u.Holder
	}
	for _, j := range whole.Jobs {
		if j.State != inventory.Done || j.EndedOn() < known.AsOf || j.EndedOn() >= known.AsOf+7*ahead {
			continue
		}
		switch of := holder[j.Unit]; {
		case open[j.Code]:
			c.booked++
		case of == inventory.Fleet && limited[j.Services[0]]:
			c.fleet++
		case of == inventory.Customer && limited[j.Services[0]]:
			c.returning++
		default:
			c.walkIn++
		}
	}
	return c
}

// Over many Mondays as many jobs come from each source as were expected: none
// is counted twice, none is lost. Mondays lie so far apart that their weeks do
// not meet, and bounds are four standard errors of the differences found; fleet
// and booked may be off by 5 % besides, customers' returns, of which it is never
// known whether they are gone for good, by 15 %.
func TestJobsCountOnceAndOnlyOnce(t *testing.T) {
	var diffs [5][]float64
	var sums [5]float64
	for seed := range uint64(6) {
		w := invented.Make(invented.Config{Seed: seed, Vary: true, Units: 30, Customers: 40, Weeks: 208, Meters: invented.MetersGood})
		for _, weeks := range []inventory.Date{48, 35, 22, 9} {
			known := w.Shop.Before(w.Shop.AsOf - 7*weeks)
			known.Settings.HorizonWeeks = ahead
			expected, found := foreseen(t, known), came(w.Shop, known)
			for i, pair := range [][2]float64{
				{expected.booked, found.booked}, {expected.fleet, found.fleet}, {expected.returning, found.returning},
				{expected.walkIn, found.walkIn}, {expected.all(), found.all()},
			} {
				diffs[i] = append(diffs[i], pair[0]-pair[1])
				sums[i] += pair[1]
			}
		}
	}
	for i, c := range []struct {
		source string
		share  float64
	}{{"booked", 0.05}, {"fleet", 0.05}, {"returning", 0.15}, {"walk-in", 0}, {"all", 0.05}} {
		sum, square, n := 0.0, 0.0, float64(len(diffs[i]))
		for _, d := range diffs[i] {
			sum += d
			square += d * d
		}
		bound := c.share*sums[i] + 4*math.Sqrt(max(0, square-sum*sum/n))
		t.Logf("%s: expected %.0f, came %.0f, bound %.0f", c.source, sums[i]+sum, sums[i], bound)
		if math.Abs(sum) > bound {
			t.Errorf("%s: expected %.0f jobs over %.0f Mondays, %.0f came, which is farther apart than %.0f", c.source, sums[i]+sum, n, sums[i], bound)
		}
	}
}

// BenchmarkLearnAndForesee learns from about 2,000 units, those gone
// for good among them, and five years, and foresees half a year.
func BenchmarkLearnAndForesee(b *testing.B) {
	shop := invented.Make(invented.Config{Seed: 1, Units: 550, Customers: 170, WalkInShare: 0.05, Weeks: 260}).Shop
	b.ReportAllocs()
	for b.Loop() {
		if _, err := plan.Foresee(shop); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(len(shop.Units)), "units")
}

// A unit of which no hours are known comes back by the calendar, once for what
// is booked or once for what is not, and never before it can be known.
func TestUnitsWithoutAMeterReturnByTheCalendar(t *testing.T) {
	w := invented.Make(invented.Config{Seed: 11, Units: 30, Customers: 40, Weeks: 156, Meters: invented.MetersNone})
	shop := w.Shop
	shop.Settings.HorizonWeeks = ahead
	with := foreseen(t, shop)
	if with.returning <= 0 {
		t.Fatal("found no return of a customer's unit, expected some")
	}
	l := lessons.Of(shop)
	var code, service string
	for _, j := range shop.Jobs {
		if j.State == inventory.Done && j.Unit != "" && !l.HasHours(j.Unit) && j.EndedOn() > shop.AsOf-200 && l.Returns[j.Services[0]].Gaps > 0 {
			code, service = j.Unit, j.Services[0]
		}
	}
	if code == "" {
		t.Fatal("found no unit without hours that was here of late")
	}
	var model string
	for _, u := range shop.Units {
		if u.Code == code {
			model = u.Model
		}
	}
	expected := func(s inventory.Shop) float64 {
		out, err := plan.Foresee(s)
		if err != nil {
			t.Fatal(err)
		}
		u, err := out.Unit(code)
		if err != nil {
			t.Fatal(err)
		}
		sum := 0.0
		for _, a := range u.Jobs {
			if a.Service == service {
				sum += a.Returning
			}
		}
		return sum
	}
	before := expected(shop)
	shop.Jobs = append([]inventory.Job{{
		Code: "open", Unit: code, Model: model, Services: []string{service}, State: inventory.Booked,
		BookedOn: shop.AsOf - 1, BenchDate: shop.AsOf + 3,
	}}, shop.Jobs...)
	if after := expected(shop); !(before > 0) || after > 0 {
		t.Errorf("%s of %s: expected to return %.3f times, and %.3f once it is booked; it must return somehow, and not twice", service, code, before, after)
	}
}
