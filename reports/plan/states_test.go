package plan

import (
	"math"
	"math/rand/v2"
	"testing"

	"circlip/forecast"
	"circlip/forecast/learn"
)

// outOfSight is a unit ridden five hours a week, due every ten weeks, not seen
// for so many weeks. Its clock shows what was ridden since.
func outOfSight(v *view, weeks, capture float64, lag forecast.Weeks) forecast.Unit {
	return forecast.Unit{
		Ladder:       &forecast.Ladder{Services: []forecast.Service{{ID: 0, Every: 50}}},
		HoursPerWeek: 5, Spread: 4, ReadOn: v.cal.AsOf, Capture: capture, LagWeeks: lag, ShowRate: 1,
		Clocks: []forecast.Clock{{Hours: forecast.Hours(5 * weeks), DoneOn: v.cal.AsOf - forecast.Day(7*weeks)}},
	}
}

// simulated plays the process for a unit that was seen so many weeks ago: due
// after ten weeks, then a geometric wait of whole weeks, then here, and so seen,
// or elsewhere. It tells how long the clock has run, or that it was seen.
func simulated(r *rand.Rand, weeks, capture, lag float64) (ran float64, elsewhere int, seen bool) {
	started := 0.0
	for {
		at := started + 10
		for r.Float64() < lag/(1+lag) {
			at++
		}
		switch {
		case at > weeks:
			return weeks - started, elsewhere, false
		case r.Float64() < capture:
			return 0, 0, true
		}
		started = at
		elsewhere++
	}
}

// Where a unit may stand that was not seen for long, against the process played
// week by week, of the units that were not seen in it: four standard errors.
func TestWhereAUnitMayStandIsAsThePlayedProcessHasIt(t *testing.T) {
	v, err := newView(parkShop())
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name                string
		weeks, capture, lag float64
	}{
		{"just due", 10.5, 0.6, 2},
		{"long due", 16.5, 0.6, 2},
		{"twice due", 27.5, 0.4, 3},
		{"many times due, seldom here", 45.5, 0.1, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			u := outOfSight(v, c.weeks, c.capture, forecast.Weeks(c.lag))
			all := v.missing(u, u)
			sum := 0.0
			for _, s := range all {
				sum += s.prob
			}
			waits, due, ran := all[0].prob/sum, 0.0, 0.0
			for _, s := range all {
				weeks := float64(s.unit.Clocks[0].Hours) / 5
				ran += s.prob / sum * weeks
				if weeks > 10 {
					due += s.prob / sum
				}
			}
			const runs = 200_000
			r := rand.New(rand.NewPCG(1, 2))
			n, nWaits, nDue, sumRan, squares := 0.0, 0.0, 0.0, 0.0, 0.0
			for range runs {
				weeks, elsewhere, seen := simulated(r, c.weeks, c.capture, c.lag)
				if seen {
					continue
				}
				n++
				sumRan += weeks
				squares += weeks * weeks
				if elsewhere == 0 {
					nWaits++
				}
				if weeks > 10 {
					nDue++
				}
			}
			if d := math.Abs(sum - n/runs); d > 4*math.Sqrt(sum*(1-sum)/runs) {
				t.Errorf("not seen until now: found %.4f, played %.4f", sum, n/runs)
			}
			for _, x := range []struct {
				what           string
				found, p, some float64
			}{{"never served elsewhere", waits, nWaits / n, waits * (1 - waits)}, {"due now", due, nDue / n, due * (1 - due)}, {"weeks since served", ran, sumRan / n, squares/n - sumRan/n*sumRan/n}} {
				if math.Abs(x.found-x.p) > 4*math.Sqrt(x.some/n)+1e-9 {
					t.Errorf("%s: found %.4f, played %.4f", x.what, x.found, x.p)
				}
			}
		})
	}
}

func TestStatesAddUpToOne(t *testing.T) {
	v, err := newView(parkShop())
	if err != nil {
		t.Fatal(err)
	}
	for _, weeks := range []float64{0, 5, 10.5, 40, 400, 1e6} {
		for _, capture := range []float64{0, 0.5, 1} {
			for _, lag := range []forecast.Weeks{0, 1, 20} {
				sum := 0.0
				for _, s := range v.states(outOfSight(v, weeks, capture, lag), 0.5) {
					sum += s.prob
				}
				if !(math.Abs(sum-1) < 1e-9) {
					t.Errorf("%v weeks, capture %v, lag %v: found states that add up to %v", weeks, capture, lag, sum)
				}
			}
		}
	}
}

// A supplier that needs four days, and nine one time in five, protects the days
// that only the late delivery reaches one time in five.
func TestALateDeliveryOneTimeInFiveCountsOneTimeInFive(t *testing.T) {
	shop := parkShop()
	law := learn.Lead{Days: []int{4, 9}, Prob: []float64{0.8, 0.2}, Quoted: 4}
	r := newOrderDays(shop).rhythm(shop.Offers[0], shop.Suppliers[0], monday, monday+week, law)
	if r.expectedOn != monday+4 || r.protectUntil != monday+7+4-1 || r.latest() != monday+7+9-1 {
		t.Errorf("found expected on %s, protected until %s, at the latest %s", r.expectedOn, r.protectUntil, r.latest())
	}
	for _, c := range []struct {
		day  int
		want float64
	}{{0, 1}, {10, 1}, {11, 0.2}, {15, 0.2}, {16, 0}} {
		if found := r.lasts(forecast.Day(monday) + forecast.Day(c.day)); math.Abs(found-c.want) > 1e-12 {
			t.Errorf("day %d: found %v in the protection time, expected %v", c.day, found, c.want)
		}
	}
	before := 1.0
	for day := range 30 {
		now := r.sees(forecast.Day(monday) + forecast.Day(day))
		if now > before+1e-12 || now < 0 {
			t.Errorf("day %d: found %v of the jobs come on it or later, after %v the day before", day, now, before)
		}
		before = now
	}
}
