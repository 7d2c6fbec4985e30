package forecast

import (
	"math"
	"math/rand/v2"
	"testing"
)

// simulatedFleet is many units of one kind that differ in what they are ridden
// and where they stand, so that every service comes in every week.
type simulatedFleet struct {
	name          string
	ladder        *Ladder
	season        Season
	source        Source
	capture       float64
	lag           Weeks
	slowest, span float64 // hours a week: from the slowest to so many more
	booked        int     // of a hundred units, how many have an open job
	units         int
	replicates    int // of each unit
}

// Ladders of our own; intervals are common practice, no source. They are short,
// so that the widest service is not too rare to be counted.
var (
	busyFork  = &Ladder{FoldIn: .25, Services: []Service{{ID: 1, Every: 50}, {ID: 2, Every: 125, Covers: []int{1}}}}
	busyThree = &Ladder{FoldIn: .25, Services: []Service{{ID: 1, Every: 30}, {ID: 2, Every: 75, Covers: []int{1}}, {ID: 3, Every: 150, Covers: []int{2}}}}
	busyYear  = &Ladder{FoldIn: .25, Services: []Service{{ID: 1, Every: 40, Months: 4}, {ID: 2, Every: 90, Months: 8, Covers: []int{1}}}}
)

var simulatedFleets = []simulatedFleet{
	{"a rental fleet without a season", busyFork, nil, Fleet, 1, 1, 7, 8, 0, 80, 4000},
	{"a rental fleet with a season, a third of it booked", busyThree, summer(), Fleet, 1, 1, 7, 8, 33, 80, 5000},
	{"customers with a season, a quarter of them booked", busyThree, summer(), Returning, .6, 3, 6, 8, 25, 120, 4600},
	{"customers with limits in months too", busyYear, summer(), Returning, .6, 3, 3, 6, 10, 80, 6400},
}

// summer is a season that rises and falls like a sine, with mean 1 over the
// 52 weeks: least at the turn of the year, most in the middle.
func summer() Season {
	season := Season{}
	for week := 1; week <= 52; week++ {
		season[week] = 1 - .5*math.Cos(2*math.Pi*(float64(week)-.5)/52)
	}
	return season
}

func (f *simulatedFleet) all(r *rand.Rand) []Unit {
	var units []Unit
	for i := range f.units {
		u := Unit{
			Ladder: f.ladder, Source: f.source, HoursPerWeek: f.slowest + f.span*r.Float64(), Spread: Hours(3 + 3*r.Float64()),
			ReadOn: wednesday - Day(r.IntN(40)), Capture: f.capture, LagWeeks: f.lag, ShowRate: .8,
		}
		for _, s := range f.ladder.Services {
			u.Clocks = append(u.Clocks, Clock{Hours: s.Every * Hours(r.Float64()), DoneOn: u.ReadOn - Day(r.IntN(1+28*s.Months))})
		}
		if 100*i < f.booked*f.units {
			service := f.ladder.Services[i%len(f.ladder.Services)].ID
			u.Bookings = []Booking{{[]int{service}, wednesday + Day(r.IntN(70))}}
		}
		units = append(units, u)
	}
	return units
}

// Where so many jobs a week are expected, what a fleet brings is held to 3 %
// of the simulation with nothing allowed for chance; chance must therefore be
// small by itself.
const (
	fleetFloor  = 0.24
	fleetChance = 0.007 // standard error of the simulation over its mean
)

// fleetCells is how many of the weeks and services below must be held: every
// service of every fleet in every week.
const fleetCells = (2 + 3 + 3 + 2) * 26

func TestFleetsAgreeWithTheSimulation(t *testing.T) {
	if testing.Short() {
		t.Skip("a simulation of some seconds")
	}
	held := 0
	for i, f := range simulatedFleets {
		t.Run(f.name, func(t *testing.T) { held += f.compare(t, uint64(i)) })
	}
	if held < fleetCells {
		t.Errorf("%d services and weeks were held to 3 %%, expected all %d", held, fleetCells)
	}
	t.Logf("%d services and weeks held to 3 %%", held)
}

// compare returns how many of its services and weeks it held to 3 %.
func (f *simulatedFleet) compare(t *testing.T, seed uint64) (held int) {
	cal := calendar(t, wednesday, 26, f.season)
	units := f.all(rand.New(rand.NewPCG(11, seed)))
	futures, err := Futures(cal, units)
	if err != nil {
		t.Fatal(err)
	}
	var own, booked [3][26]float64
	for i := range units {
		ownOfUnit, bookedOfUnit := simulate(cal, &units[i], f.replicates, seed<<32+uint64(i))
		for s := range ownOfUnit {
			addTo(own[s][:], ownOfUnit[s])
			addTo(booked[s][:], bookedOfUnit[s])
		}
	}
	worst, noisiest, fewest := 0.0, 0.0, math.Inf(1)
	for s, service := range f.ladder.Services {
		for week := range cal.Weeks {
			want := own[s][week]
			fewest = min(fewest, want)
			if want <= fleetFloor {
				continue
			}
			held++
			// A unit hardly ever comes twice a week for one service, so that the
			// variance of its jobs, done here or elsewhere, is at most their mean.
			chance := math.Sqrt(f.capture / want / float64(f.replicates))
			off := Arrivals(futures, service.ID, week, f.source)/want - 1
			noisiest, worst = max(noisiest, chance), max(worst, math.Abs(off))
			if math.Abs(off) > simulationShare {
				t.Errorf("service %d, week %d: found %+.2f %% off the simulation's %.4f, whose standard error is %.2f %%", service.ID, week, 100*off, want, 100*chance)
			}
			if chance > fleetChance {
				t.Errorf("service %d, week %d: the simulation's %.4f has a standard error of %.2f %%, expected at most %.1f %%", service.ID, week, want, 100*chance, 100*fleetChance)
			}
			if b := booked[s][week]; b > fleetFloor && math.Abs(Arrivals(futures, service.ID, week, Booked)-b) > simulationShare*b {
				t.Errorf("service %d, week %d: found %.4f booked jobs, the simulation has %.4f", service.ID, week, Arrivals(futures, service.ID, week, Booked), b)
			}
		}
	}
	t.Logf("%d services and weeks held; fewest jobs a week %.2f; worst %.2f %% off, largest standard error %.2f %%", held, fewest, 100*worst, 100*noisiest)
	return held
}
