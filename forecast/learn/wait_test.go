package learn

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"circlip/forecast"
)

func TestALagIsRecoveredFromWaitsThatAreSeenUpToALimit(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for _, lag := range []float64{0.5, 1.5, 4, 8} {
		var waits []Wait
		for len(waits) < 4000 {
			most := 3 + rng.IntN(20)
			weeks := 0
			for rng.Float64() < lag/(1+lag) {
				weeks++
			}
			if weeks <= most {
				waits = append(waits, Wait{weeks, most})
			}
		}
		// The variance of a geometric mean is lag·(1+lag)/n; what the limit hides
		// makes it about twice as large at most here.
		tolerance := 4 * math.Sqrt(2*lag*(1+lag)/4000)
		if lag == 8 {
			tolerance *= 2 // most of these waits are longer than can be seen
		}
		if found := LagOf(waits, 3); math.Abs(float64(found.Lag)-lag) > tolerance || found.Basis != Learnt {
			t.Errorf("lag %.2f by %d waits with mean %.2f, expected %v ± %.2f", found.Lag, found.Waits, found.Mean, lag, tolerance)
		}
	}
}

func TestLagsOfFewWaits(t *testing.T) {
	for _, c := range []struct {
		name  string
		waits []Wait
		lag   forecast.Weeks
		basis Basis
	}{
		{"none seen: the book's", nil, 3, FromBook},
		{"a few: the book's, and so it says", []Wait{{0, 9}, {1, 9}}, 3, TooFew},
		{"what could not be seen is left out", make([]Wait, 0), 3, FromBook},
		{"negative and too long ones are left out", []Wait{{-1, 4}, {9, 4}}, 3, FromBook},
	} {
		t.Run(c.name, func(t *testing.T) {
			if found := LagOf(c.waits, 3); found.Lag != c.lag || found.Basis != c.basis {
				t.Errorf("found %+v, expected lag %v by %v", found, c.lag, c.basis)
			}
		})
	}
	atOnce := make([]Wait, 40)
	for i := range atOnce {
		atOnce[i].Most = 9
	}
	if found := LagOf(atOnce, 1); math.IsNaN(float64(found.Lag)) || found.Lag > 0.2 {
		t.Errorf("units that come at once: lag %v, expected next to none", found.Lag)
	}
}

// Simulation-based calibration: lags drawn from the prior, waits from the lags,
// and of the intervals as many hold the lag as they say.
func TestLagIntervalsHoldTheLagAsOftenAsTheySay(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	const rounds, book = 2000, 2
	prior := distuv.Beta{Alpha: waitWeight*book + 1, Beta: waitWeight + 1, Src: rng}
	held := map[float64]int{0.8: 0, 0.95: 0}
	for range rounds {
		again := prior.Rand()
		waits := make([]Wait, 0, 40)
		for len(waits) < 40 {
			most, weeks := 2+rng.IntN(10), 0
			for rng.Float64() < again {
				weeks++
			}
			if weeks <= most {
				waits = append(waits, Wait{weeks, most})
			}
		}
		found := LagOf(waits, book)
		for level := range held {
			if low, high := found.Interval(level); low <= forecast.Weeks(again/(1-again)) && forecast.Weeks(again/(1-again)) <= high {
				held[level]++
			}
		}
	}
	for level, n := range held {
		if share, sd := float64(n)/rounds, math.Sqrt(level*(1-level)/rounds); math.Abs(share-level) > 3*sd {
			t.Errorf("intervals of %.0f %% hold the lag in %.1f %% of %d rounds, expected that ± %.1f", 100*level, 100*share, rounds, 300*sd)
		}
	}
}
