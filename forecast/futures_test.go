package forecast

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"
)

const wednesday = Day(20579) // 2026-05-06

// Ladders of our own; intervals are common practice, no source.
var (
	lowers = &Ladder{Services: []Service{{ID: 1, Every: 50}}, FoldIn: .25}
	fork   = &Ladder{Services: []Service{{ID: 1, Every: 50}, {ID: 2, Every: 200, Covers: []int{1}}}, FoldIn: .25}
	three  = &Ladder{Services: []Service{{ID: 1, Every: 50}, {ID: 2, Every: 100, Covers: []int{1}}, {ID: 3, Every: 200, Covers: []int{2}}}, FoldIn: .25}
	yearly = &Ladder{Services: []Service{{ID: 1, Every: 50, Months: 6}, {ID: 2, Every: 200, Months: 12, Covers: []int{1}}}, FoldIn: .25}
)

// fleetUnit reads hours since each service was last done, so many days ago.
func fleetUnit(l *Ladder, hoursPerWeek float64, lag Weeks, readAgo Day, hours ...Hours) Unit {
	u := Unit{
		Ladder: l, Source: Fleet, HoursPerWeek: hoursPerWeek, Spread: 4, ReadOn: wednesday - readAgo,
		Capture: 1, LagWeeks: lag, ShowRate: .8,
	}
	for _, h := range hours {
		u.Clocks = append(u.Clocks, Clock{Hours: h, DoneOn: wednesday - 100})
	}
	return u
}

// customer is a unit of somebody else: it comes back late, and not always.
func customer(u Unit) Unit {
	u.Source, u.Capture, u.LagWeeks = Returning, .6, 3
	return u
}

func booking(u Unit, bookings ...Booking) Unit {
	u.Bookings = bookings
	return u
}

func clocks(u Unit, clocks ...Clock) Unit {
	u.Clocks = clocks
	return u
}

// simulatedUnits have covers, lag, bookings kept and missed, calendar limits,
// chains of three, jobs after the latest reading, customers, a season.
var simulatedUnits = []struct {
	name   string
	unit   Unit
	season Season
}{
	{"one service, read a month ago", fleetUnit(lowers, 8, 1, 30, 20), nil},
	{"covers and lag", fleetUnit(fork, 8, 1, 10, 20, 70), nil},
	{"covers and a long lag", fleetUnit(fork, 5, 3, 20, 10, 110), nil},
	{"the smaller service booked", booking(fleetUnit(fork, 8, 1, 10, 35, 150), Booking{[]int{1}, wednesday + 17}), nil},
	{"both booked in turn", booking(fleetUnit(fork, 9, 1, 20, 30, 150), Booking{[]int{1}, wednesday + 4}, Booking{[]int{2}, wednesday + 40}), nil},
	{"three in a chain", fleetUnit(three, 9, 1, 10, 20, 70, 110), nil},
	{"calendar limits first", clocks(fleetUnit(yearly, 3, 1, 10), Clock{10, wednesday - 60}, Clock{100, wednesday - 300}), nil},
	{"done after the reading", clocks(fleetUnit(fork, 9, 1, 40), Clock{0, wednesday - 20}, Clock{90, wednesday - 320}), nil},
	{"a customer's", customer(fleetUnit(fork, 8, 0, 10, 20, 70)), nil},
	{"a customer's, with a season", customer(fleetUnit(fork, 8, 0, 30, 35, 120)), summer()},
	{"a chain with a season", fleetUnit(three, 9, 1, 10, 20, 70, 110), summer()},
	{"a customer's, booked, with a season", customer(booking(fleetUnit(fork, 7, 0, 10, 35, 140), Booking{[]int{1}, wednesday + 17})), summer()},
	{"a customer's chain, booked in the middle", customer(booking(fleetUnit(three, 9, 0, 20, 20, 70, 140), Booking{[]int{2}, wednesday + 24})), summer()},
	{"a customer's, calendar limits with a season", customer(clocks(fleetUnit(yearly, 4, 0, 10), Clock{10, wednesday - 60}, Clock{100, wednesday - 300})), summer()},
}

// simulationFloor: in weeks with fewer jobs expected than this the distance
// is compared with 3 % of it. A hundred such weeks of such units together
// bring one job: no order depends on them, and their share of replicates is
// too small to tell 3 % from chance.
const simulationFloor, simulationShare = 0.03, 0.03

func TestFuturesAgreeWithTheSimulation(t *testing.T) {
	if testing.Short() {
		t.Skip("a simulation of some seconds")
	}
	const replicates = 40_000
	for i, c := range simulatedUnits {
		cal := calendar(t, wednesday, 26, c.season)
		own, booked := simulate(cal, &c.unit, replicates, uint64(i))
		futures, err := Futures(cal, []Unit{c.unit})
		if err != nil {
			t.Fatal(err)
		}
		for s, service := range c.unit.Ladder.Services {
			for w := range cal.Weeks {
				for source, want := range map[Source]float64{c.unit.Source: own[s][w], Booked: booked[s][w]} {
					got := Arrivals(futures, service.ID, w, source)
					// Chance is allowed for on top, by three standard errors: it
					// differs from week to week, the law's error may not. Fleets
					// are compared without it.
					chance := 3 * math.Sqrt(want/replicates)
					if d := math.Abs(got - want); d > simulationShare*max(want, simulationFloor)+chance {
						t.Errorf("%s: service %d, week %d: found %.5f, the simulation has %.5f", c.name, service.ID, w, got, want)
					}
				}
			}
		}
	}
}

// The resolution that is chosen against days and an eighth of the spread: by
// itself within the 3 % that the simulation is held to.
func TestResolutionsAreFineEnough(t *testing.T) {
	cal := calendar(t, wednesday, 26, nil)
	r := rand.New(rand.NewPCG(5, 4))
	for i := range 25 {
		u := randomUnit(r)
		p, err := newPlanner(cal, []Unit{u})
		if err != nil {
			t.Fatal(err)
		}
		fine := p.futures(&u, func(*Unit, *strand) resolution { return resolution{7, 0.125} }, new(arena))
		chosen := p.futures(&u, p.resolution, new(arena))
		for _, service := range u.Ladder.Services {
			for w := range cal.Weeks {
				want, got := Arrivals(fine, service.ID, w), Arrivals(chosen, service.ID, w)
				if d := math.Abs(got - want); d > 0.03*max(want, 0.02) {
					t.Errorf("unit %d, service %d, week %d: found %.5f, expected %.5f (%+v)", i, service.ID, w, got, want, u)
				}
			}
		}
	}
}

func randomUnit(r *rand.Rand) Unit {
	every := math.Round(20 + 80*r.Float64())
	l := &Ladder{FoldIn: .5 * r.Float64(), Services: []Service{
		{ID: 1, Every: Hours(every)}, {ID: 2, Every: Hours(math.Round(every * (1.3 + 4*r.Float64()))), Covers: []int{1}},
	}}
	u := Unit{
		Ladder: l, Source: Fleet, HoursPerWeek: 1 + 24*r.Float64()*r.Float64(), Spread: Hours(2 + 6*r.Float64()),
		ReadOn: wednesday - Day(r.IntN(50)), ShowRate: .9, Capture: 1, LagWeeks: Weeks(math.Floor(8*r.Float64()*r.Float64()) / 2),
	}
	for _, s := range l.Services {
		u.Clocks = append(u.Clocks, Clock{Hours: s.Every * Hours(1.05*r.Float64()), DoneOn: u.ReadOn - Day(r.IntN(300))})
	}
	return u
}

// With next to no spread and no lag a unit's way is one line: which service
// in which week. 7 hours a week, one a day, from a Monday on.
func TestLaddersStepByStep(t *testing.T) {
	monday := wednesday - 2
	ladder := func(foldIn float64, services ...Service) *Ladder { return &Ladder{services, foldIn} }
	a, f := Service{ID: 1, Every: 52}, Service{ID: 2, Every: 160, Covers: []int{1}}
	for _, c := range []struct {
		name   string
		ladder *Ladder
		clocks []Clock
		want   string
	}{
		{"each service comes after its hours", ladder(0, a), []Clock{{30, 0}}, "1@3 1@10 1@18 1@25"},
		{"one long overdue comes once, at once", ladder(0, a), []Clock{{500, 0}}, "1@0 1@7 1@15 1@22"},
		{"what covers it and is near takes its place", ladder(.25, a, f), []Clock{{30, 0}, {130, 0}}, "2@3 1@10 1@18 2@25"},
		{"what covers it and is far does not", ladder(.25, a, f), []Clock{{30, 0}, {110, 0}}, "1@3 2@7 1@14 1@22"},
		{"without fold-in only what is due does", ladder(0, a, f), []Clock{{30, 0}, {130, 0}}, "1@3 2@4 1@11 1@19"},
		{"the wider one alone restarts the smaller", ladder(0, a, f), []Clock{{30, 0}, {146, 0}}, "2@2 1@9 1@17 1@24 2@24"},
		{"what covers is taken in turn", ladder(.25, a, f, Service{ID: 3, Every: 400, Covers: []int{2}}), []Clock{{30, 0}, {130, 0}, {395, 0}}, "3@0 1@8 1@15 2@23"},
		{"of two that cover it the wider goes first", ladder(.25, a, f, Service{ID: 3, Every: 400, Covers: []int{2}}), []Clock{{30, 0}, {130, 0}, {370, 0}}, "3@3 1@10 1@18 2@25"},
		{"months that run out first", ladder(0, Service{ID: 1, Every: 500, Months: 2}), []Clock{{0, monday - 40}}, "1@3 1@11 1@20"},
		{"hours that run out first", ladder(0, Service{ID: 1, Every: 28, Months: 2}), []Clock{{0, monday - 5}}, "1@4 1@8 1@12 1@16 1@20 1@24"},
	} {
		u := Unit{Ladder: c.ladder, Source: Fleet, HoursPerWeek: 7, Spread: 0.002, ReadOn: monday, Clocks: c.clocks, Capture: 1}
		for i := range u.Clocks {
			if u.Clocks[i].DoneOn == 0 {
				u.Clocks[i].DoneOn = monday - 50
			}
		}
		if got := likeliest(t, calendar(t, monday, 26, nil), u); got != c.want {
			t.Errorf("%s: found %s, expected %s", c.name, got, c.want)
		}
	}
}

// likeliest lists the rungs that are more likely than not, each in the week
// in which it is most likely done.
func likeliest(t *testing.T, cal *Calendar, u Unit) string {
	futures, err := Futures(cal, []Unit{u})
	if err != nil {
		t.Fatal(err)
	}
	type entry struct{ week, service int }
	var all []entry
	for _, f := range futures {
		for _, r := range f.Rungs {
			if total(r.Done) > 0.5 && len(r.Services) > 0 {
				all = append(all, entry{slices.Index(r.Done, slices.Max(r.Done)), r.Services[0]})
			}
		}
	}
	slices.SortStableFunc(all, func(a, b entry) int { return a.week - b.week })
	text := ""
	for _, e := range all {
		text += fmt.Sprintf(" %d@%d", e.service, e.week)
	}
	return text[min(1, len(text)):]
}

func TestAMeterThatStandsStillHeedsTheCalendarAlone(t *testing.T) {
	u := clocks(fleetUnit(yearly, 0, 0, 10), Clock{10, wednesday - 120}, Clock{40, wednesday - 120})
	if got := likeliest(t, calendar(t, wednesday, 26, nil), u); got != "1@9" {
		t.Errorf("found %s, expected the six months' service in week 9 alone", got)
	}
}

func TestBookings(t *testing.T) {
	cal := calendar(t, wednesday, 26, nil)
	for _, c := range []struct {
		name string
		at   Day
		week int
	}{
		{"a booking counts in its week", wednesday + 12, 2},
		{"one of the past counts today", wednesday - 30, 0},
	} {
		futures, err := Futures(cal, []Unit{booking(fleetUnit(fork, 8, 1, 10, 45, 70), Booking{[]int{1}, c.at})})
		if err != nil {
			t.Fatal(err)
		}
		if got := Arrivals(futures, 1, c.week, Booked); math.Abs(got-0.8) > 1e-12 {
			t.Errorf("%s: found %v in week %d, expected the show rate", c.name, got, c.week)
		}
		for w := range c.week {
			if got := Arrivals(futures, 1, w); got != 0 {
				t.Errorf("%s: found %v in week %d, expected nothing before it", c.name, got, w)
			}
		}
	}
}

// What holds for any unit: probabilities are such, a way is taken at most as
// often as it is come to, nothing depends on the order of units, and
// arguments stay as they are.
func TestFuturesOfAnyUnits(t *testing.T) {
	cal := calendar(t, wednesday, 26, Season{20: 0, 21: 2, 30: 1.5})
	r := rand.New(rand.NewPCG(7, 7))
	var units []Unit
	for range 60 {
		u := randomUnit(r)
		if r.IntN(3) == 0 {
			u.Bookings = []Booking{{[]int{1 + r.IntN(2)}, wednesday + Day(r.IntN(80)-10)}}
		}
		if r.IntN(6) == 0 {
			u.HoursPerWeek = 0
		}
		units = append(units, u)
	}
	before := fmt.Sprintf("%+v", units)
	all, err := Futures(cal, units)
	if err != nil {
		t.Fatal(err)
	}
	if fmt.Sprintf("%+v", units) != before {
		t.Error("units were changed")
	}
	var apart []Future
	for i := len(units) - 1; i >= 0; i-- {
		one, err := Futures(cal, units[i:i+1])
		if err != nil {
			t.Fatal(err)
		}
		for k := range one {
			one[k].Unit = i // its place among all
		}
		one = slices.Clone(one)
		for k := range one {
			one[k].Unit = i
		}
		apart = append(one, apart...)
	}
	if !reflect.DeepEqual(all, apart) {
		t.Error("units together differ from units one by one")
	}
	for _, f := range all {
		in, out := map[int]float64{Start: 1}, map[int]float64{}
		for _, rung := range f.Rungs {
			for _, p := range rung.Done {
				if !(p >= 0 && p <= 1) {
					t.Fatalf("found probability %v in %+v", p, rung)
				}
			}
			in[rung.Stage] += total(rung.Done)
			out[rung.After] += total(rung.Done)
		}
		for stage, p := range out {
			if p > in[stage]+2e-3 {
				t.Errorf("stage %d is left with %v, but come to with %v", stage, p, in[stage])
			}
		}
	}
}

func BenchmarkArrivals2000(b *testing.B) {
	season := Season{}
	for week := 1; week <= 52; week++ {
		season[week] = 1 + .5*float64(week%13-6)/6
	}
	cal, err := NewCalendar(wednesday, 26, season)
	if err != nil {
		b.Fatal(err)
	}
	units := mixedFleet(2000)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Futures(cal, units); err != nil {
			b.Fatal(err)
		}
	}
}

// mixedFleet is half a rental fleet, half customers, on three ladders.
func mixedFleet(n int) []Unit {
	r := rand.New(rand.NewPCG(1, 2))
	ladders := []*Ladder{
		{FoldIn: .25, Services: []Service{{ID: 1, Every: 50}, {ID: 2, Every: 200, Months: 24, Covers: []int{1}}}},
		{FoldIn: .25, Services: []Service{{ID: 3, Every: 50}, {ID: 4, Every: 125, Months: 12, Covers: []int{3}}}},
		{FoldIn: .25, Services: []Service{{ID: 5, Every: 150, Months: 12}}},
	}
	var units []Unit
	for i := range n {
		l := ladders[i%len(ladders)]
		u := Unit{Ladder: l, Spread: 4, ReadOn: wednesday - Day(r.IntN(40)), ShowRate: .95}
		u.Source, u.HoursPerWeek, u.Capture, u.LagWeeks = Fleet, 5+10*r.Float64(), 1, 1
		if i%2 == 1 {
			u.Source, u.HoursPerWeek, u.Capture, u.LagWeeks = Returning, 1+5*r.Float64(), .6, 3
		}
		for _, s := range l.Services {
			u.Clocks = append(u.Clocks, Clock{Hours: s.Every * Hours(r.Float64()), DoneOn: u.ReadOn - Day(r.IntN(300))})
		}
		if r.IntN(10) == 0 {
			u.Bookings = []Booking{{[]int{l.Services[r.IntN(len(l.Services))].ID}, wednesday + Day(r.IntN(40))}}
		}
		units = append(units, u)
	}
	return units
}
