package lessons_test

import (
	"math"
	"reflect"
	"testing"

	"circlip/inventory"
	"circlip/reports/lessons"
	"circlip/reports/rehearsal/invented"
)

// seeds is how many invented workshops the truth is held against.
const seeds = 20

// covered counts how often an interval of nine in ten holds the truth.
type covered struct{ in, of int }

func (c *covered) add(low, truth, high float64) {
	c.of++
	if low <= truth && truth <= high {
		c.in++
	}
}

// check wants the stated rate less four standard errors; slack is a bias that
// is known.
func (c covered) check(t *testing.T, what string, slack float64) {
	t.Helper()
	rate, least := float64(c.in)/float64(c.of), 0.9-slack-4*math.Sqrt(0.9*0.1/float64(c.of))
	t.Logf("%s: %d of %d (%.3f) in the interval of 0.9", what, c.in, c.of, rate)
	if rate < least {
		t.Errorf("%s: found the truth in %.3f of %d intervals of 0.9, expected at least %.3f", what, rate, c.of, least)
	}
}

// gaps are learnt figures less their truths, one a workshop.
type gaps []float64

func (g gaps) meanSD() (mean, sd float64) {
	for _, x := range g {
		mean += x / float64(len(g))
	}
	for _, x := range g {
		sd += (x - mean) * (x - mean) / float64(len(g)-1)
	}
	return mean, math.Sqrt(sd)
}

func TestTheTruthOfInventedWorkshopsIsRecovered(t *testing.T) {
	var show, need covered
	var fleetCapture, fleetLag, customerLag gaps
	for seed := range uint64(seeds) {
		w := invented.Make(invented.Config{Seed: seed, Vary: true, Units: 80, Customers: 80, Weeks: 130, Meters: invented.MetersGood})
		l := lessons.Of(w.Shop)
		low, high := l.Show.Interval(0.9)
		show.add(low, w.Truth.ShowRate, high)
		for _, n := range l.Needs {
			truth := w.Truth.Need[invented.Line{Service: n.Service, Model: n.Model, Item: n.Item}]
			if truth == 1 && n.PriorMean == 1 || n.Yes+n.No < 20 {
				continue // nothing to learn, or too little seen to leave the book
			}
			low, high := n.Interval(0.9)
			need.add(low, truth, high)
		}
		fleet, customer := l.Habits[inventory.Fleet], l.Habits[inventory.Customer]
		fleetCapture = append(fleetCapture, fleet.Capture-w.Truth.Fleet.Capture)
		fleetLag = append(fleetLag, float64(fleet.Lag)-w.Truth.Fleet.LagWeeks)
		customerLag = append(customerLag, float64(customer.Lag)-w.Truth.Customer.LagWeeks)
	}
	show.check(t, "show rate", 0)
	need.check(t, "need", 0)
	for _, c := range []struct {
		what string
		gaps gaps
		bias float64 // that the rounding of days to weeks, and of hours to services, may leave
	}{
		{"capture of the fleet", fleetCapture, 0.05},
		{"lag of the fleet, weeks", fleetLag, 0.5},
		{"lag of customers, weeks", customerLag, 1},
	} {
		mean, sd := c.gaps.meanSD()
		t.Logf("%s: %+.3f, standard deviation %.3f", c.what, mean, sd)
		if bound := c.bias + 4*sd/math.Sqrt(seeds); math.Abs(mean) > bound {
			t.Errorf("%s: found off by %+.3f on average, expected within %.3f", c.what, mean, bound)
		}
	}
}

// BenchmarkLearn learns from about 2,000 units, those gone
// for good among them, and five years.
func BenchmarkLearn(b *testing.B) {
	shop := invented.Make(invented.Config{Seed: 1, Units: 550, Customers: 170, WalkInShare: 0.05, Weeks: 260}).Shop
	b.ReportAllocs()
	for b.Loop() {
		lessons.Of(shop)
	}
	b.ReportMetric(float64(len(shop.Units)), "units")
}

// The same past teaches the same, to the last bit: nothing is added up in the
// order of a map.
func TestTheSamePastTeachesTheSame(t *testing.T) {
	shop := invented.Make(invented.Config{Seed: 3, Units: 10, Customers: 10, Weeks: 60}).Shop
	first := lessons.Of(shop)
	for range 8 {
		if again := lessons.Of(shop); !reflect.DeepEqual(first, again) {
			t.Fatal("learnt something else from the same past")
		}
	}
}
