package learn

import (
	"math"
	"math/rand/v2"
	"testing"

	"circlip/forecast"

	"gonum.org/v1/gonum/stat/distuv"
)

// flat is time without a season.
func flat(from, to forecast.Day) forecast.Weeks { return forecast.Weeks(to-from) / 7 }

func gamma(rng *rand.Rand, mean, sd float64) float64 {
	shape := mean * mean / (sd * sd)
	return distuv.Gamma{Alpha: shape, Beta: shape / mean, Src: rng}.Rand()
}

// ride makes weekly readings of a gamma process from day 0 on.
func ride(rng *rand.Rand, rate, spread float64, weeks int, tau func(from, to forecast.Day) forecast.Weeks) []Reading {
	readings := []Reading{{}}
	for w := range weeks {
		from, to := forecast.Day(7*w), forecast.Day(7*w+7)
		shape := rate * float64(tau(from, to)) / spread
		gain := distuv.Gamma{Alpha: shape, Beta: 1 / spread, Src: rng}.Rand()
		readings = append(readings, Reading{Day: to, Hours: readings[w].Hours + forecast.Hours(gain)})
	}
	return readings
}

// cover counts how often intervals hold the truth.
type cover struct {
	name  string
	level float64
	hits  int
}

// add takes the truth, then the interval.
func (c *cover) add(truth float64) func(low, high float64) {
	return func(low, high float64) {
		if low <= truth && truth <= high {
			c.hits++
		}
	}
}

// check allows three standard errors of a binomial share.
func (c *cover) check(t *testing.T, n int) {
	t.Helper()
	share := float64(c.hits) / float64(n)
	allowed := 3 * math.Sqrt(c.level*(1-c.level)/float64(n))
	t.Logf("%s: %.0f %% intervals hold the truth in %.1f %% of %d pasts", c.name, 100*c.level, 100*share, n)
	if math.Abs(share-c.level) > allowed {
		t.Errorf("%s: found %.3f, expected %.2f ± %.3f", c.name, share, c.level, allowed)
	}
}

// Truths are drawn from the prior, pasts from the process, one unit in each is
// asked for (Cook, Gelman & Rubin 2006, "Validation of software for Bayesian
// models using posterior quantiles").
func TestIntervalsHoldTheTruthAsOftenAsTheySay(t *testing.T) {
	const pasts = 1500
	for _, row := range []struct {
		name               string
		units, least, most int // units of the group; weeks of readings
		groups             int
	}{
		{"a large group read for long", 40, 20, 104, 1},
		{"a dozen units read for months", 12, 8, 30, 1},
		{"a group of five read for weeks", 5, 4, 20, 1},
		{"eight units in each of three groups", 8, 4, 40, 3},
	} {
		t.Run(row.name, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(7, uint64(row.units)))
			checks := []*cover{
				{"unit", 0.8, 0}, {"unit", 0.95, 0}, {"group", 0.8, 0}, {"group", 0.95, 0}, {"spread", 0.8, 0}, {"spread", 0.95, 0},
			}
			for range pasts {
				var meters []Meter
				var mean, spread, last float64 // of group 0
				for group := row.groups - 1; group >= 0; group-- {
					mean = 2 + 8*rng.Float64()
					spread = 4 * 20 / distuv.ChiSquared{K: 20, Src: rng}.Rand()
					between := 0.5 * mean * math.Sqrt(4/distuv.ChiSquared{K: 4, Src: rng}.Rand())
					for range row.units {
						last = gamma(rng, mean, between)
						weeks := row.least + rng.IntN(row.most-row.least+1)
						meters = append(meters, Meter{Group: group, Readings: ride(rng, last, spread, weeks, flat)})
					}
				}
				usages, groups := Usages(meters, flat, Prior{})
				unit, group := usages[len(usages)-1], groups[0]
				for _, c := range checks {
					switch c.name {
					case "unit":
						c.add(last)(unit.Interval(c.level))
					case "group":
						c.add(mean)(group.Interval(c.level))
					case "spread":
						low, high := group.SpreadInterval(c.level)
						c.add(spread)(float64(low), float64(high))
					}
				}
			}
			for _, c := range checks {
				c.check(t, pasts)
			}
		})
	}
}
