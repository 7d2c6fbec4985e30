package learn

import (
	"math"
	"math/rand/v2"
	"testing"

	"circlip/forecast"
)

// yearly is a season of the model's own form, and time measured by it.
func yearly(t testing.TB, at harmonic) (forecast.Season, func(from, to forecast.Day) forecast.Weeks) {
	t.Helper()
	season, sum := forecast.Season{}, 0.0
	for w := 1; w <= 53; w++ {
		season[w] = math.Exp(wave(w).dot(at))
		if w <= 52 {
			sum += season[w] / 52
		}
	}
	for w := range season {
		season[w] /= sum
	}
	cal, err := forecast.NewCalendar(800, 200, season)
	if err != nil {
		t.Fatal(err)
	}
	return season, cal.Tau
}

func fleet(rng *rand.Rand, units, weeks int, spread float64, tau func(from, to forecast.Day) forecast.Weeks) []Meter {
	meters := make([]Meter, units)
	for i := range meters {
		meters[i] = Meter{Group: i % 5, Readings: ride(rng, gamma(rng, 6, 3), spread, weeks, tau)}
	}
	return meters
}

// A season made by the process is found as nearly as is said: 80 % and 95 %
// intervals of three weeks' factors hold the truth that often.
func TestASeasonIsFoundWithinItsError(t *testing.T) {
	const pasts = 400
	rng := rand.New(rand.NewPCG(11, 12))
	var checks []*cover
	weeks := []int{3, 20, 40}
	for range weeks {
		checks = append(checks, &cover{"factor", 0.8, 0}, &cover{"factor", 0.95, 0})
	}
	for range pasts {
		var at harmonic
		for k := range at {
			at[k] = harmonicSD[k] * rng.NormFloat64()
		}
		truth, tau := yearly(t, at)
		season, evidence := SeasonOf(fleet(rng, 8, 80, 4, tau), Prior{})
		for k, w := range weeks {
			for i, z := range []float64{1.2816, 1.96} {
				rel := z * evidence.SD[w] / season[w] // factors are logarithmic
				checks[2*k+i].add(truth[w])(season[w]*math.Exp(-rel), season[w]*math.Exp(rel))
			}
		}
	}
	for _, c := range checks {
		c.check(t, pasts)
	}
}

func TestFactorsMeanOneAndWeek53LiesBetweenItsNeighbours(t *testing.T) {
	_, tau := yearly(t, harmonic{-0.8, 0.3, 0.1, -0.2})
	season, evidence := SeasonOf(fleet(rand.New(rand.NewPCG(1, 1)), 10, 110, 4, tau), Prior{})
	sum := 0.0
	for w := 1; w <= 52; w++ {
		sum += season[w]
	}
	alike(t, "sum", sum, 52, 1e-12)
	low, high := min(season[52], season[1]), max(season[52], season[1])
	if len(season) != 53 || season[53] < 0.98*low || season[53] > 1.02*high {
		t.Errorf("week 53: found %.4f, expected between %.4f and %.4f", season[53], low, high)
	}
	if evidence.Days != 770 || evidence.Weeks != 52 || evidence.Units != 10 || evidence.Increments != 1100 {
		t.Errorf("found %+v", evidence)
	}
	alike(t, "spread", float64(evidence.Spread), 4, 0.25)
}

func TestASeasonNeedsAYear(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 2))
	for _, row := range []struct {
		name   string
		meters []Meter
		found  bool
		days   int
	}{
		{"no meter", nil, false, 0},
		{"one week short of a year", []Meter{{Readings: ride(rng, 6, 4, 51, flat)}}, false, 357},
		{"a year", []Meter{{Readings: ride(rng, 6, 4, 53, flat)}}, true, 371},
		{"never ridden", []Meter{{Readings: steady(0, 700, 7, 0)}}, false, 0},
		{"two years in one time", []Meter{{Readings: steady(0, 700, 700, 6)}}, false, 0},
		{"half a year and the other half", []Meter{{Readings: steady(0, 182, 7, 6)}, {Readings: steady(182, 371, 7, 6)}}, true, 371},
		{"the same half year twice", []Meter{{Readings: steady(90, 272, 7, 6)}, {Readings: steady(455, 637, 7, 6)}}, false, 364},
		{"a reading a century ago", []Meter{{Readings: append([]Reading{{-99999, 0}}, steady(0, 700, 7, 6)...)}}, false, 700},
	} {
		t.Run(row.name, func(t *testing.T) {
			season, evidence := SeasonOf(row.meters, Prior{})
			if (season != nil) != row.found || evidence.Days != row.days || (evidence.SD != nil) != row.found {
				t.Errorf("found %d factors of %+v", len(season), evidence)
			}
		})
	}
}

func TestUnitsRiddenEvenlyHaveNoSeason(t *testing.T) {
	season, _ := SeasonOf([]Meter{{Readings: steady(0, 1092, 7, 6)}, {Readings: steady(0, 1092, 28, 2)}}, Prior{})
	for w := 1; w <= 53; w++ {
		if math.Abs(season[w]-1) > 1e-6 {
			t.Errorf("week %d: found %v", w, season[w])
		}
	}
}

// Readings six weeks apart tell of the same season, only less surely.
func TestCoarseReadingsTellOfTheSeasonToo(t *testing.T) {
	truth, tau := yearly(t, harmonic{-0.6, 0.2, 0.1, 0})
	meters := fleet(rand.New(rand.NewPCG(3, 9)), 60, 156, 4, tau)
	_, fine := SeasonOf(meters, Prior{})
	for i, m := range meters {
		var kept []Reading
		for k := 0; k < len(m.Readings); k += 6 {
			kept = append(kept, m.Readings[k])
		}
		meters[i].Readings = kept
	}
	season, coarse := SeasonOf(meters, Prior{})
	for w := 1; w <= 52; w++ {
		if gap := math.Abs(season[w] - truth[w]); gap > 4*coarse.SD[w] || coarse.SD[w] < 0.95*fine.SD[w] {
			t.Errorf("week %d: found %.3f ± %.3f (fine ± %.3f), expected %.3f", w, season[w], coarse.SD[w], fine.SD[w], truth[w])
		}
	}
}

func big(b *testing.B) []Meter {
	b.Helper()
	_, tau := yearly(b, harmonic{-0.6, 0.2, 0.1, 0})
	return fleet(rand.New(rand.NewPCG(1, 2)), 2000, 260, 4, tau)
}

func BenchmarkUsages(b *testing.B) {
	meters := big(b)
	cal, err := forecast.NewCalendar(260*7, 26, forecast.Season{1: 0.9})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		Usages(meters, cal.Tau, Prior{})
	}
}

func BenchmarkSeasonOf(b *testing.B) {
	meters := big(b)
	for b.Loop() {
		SeasonOf(meters, Prior{})
	}
}
