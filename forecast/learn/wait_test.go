package learn

import (
	"math"
	"math/rand/v2"
	"testing"

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
