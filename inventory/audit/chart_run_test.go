package audit

import (
	"math"
	"math/rand/v2"
	"testing"

	"circlip/inventory"
)

// told makes periods of a week each whose excess is so many of the expected
// standard deviations; shareOfCounts of the variance expected is the counts'.
func told(z []float64, shareOfCounts float64) []Period {
	const sigma = 1000 // ml
	periods := make([]Period, len(z))
	for i, x := range z {
		periods[i] = Period{
			From: firstOfMarch + inventory.Date(7*i), To: firstOfMarch + inventory.Date(7*i+7),
			Opening:   inventory.Quantity(math.Round(x * sigma * 10)),
			JobSpread: sigma * math.Sqrt(1-shareOfCounts), CountSpread: sigma * math.Sqrt(shareOfCounts),
		}
	}
	return periods
}

// noise is n periods in which nothing is wrong, spread as much as expected: what
// one count has too much of, the period before it has drawn too little and the
// one after it too much.
func noise(rng *rand.Rand, n int, shareOfCounts float64) []float64 {
	z := make([]float64, n)
	before := rng.NormFloat64()
	for i := range z {
		count := rng.NormFloat64()
		z[i] = math.Sqrt(1-shareOfCounts)*rng.NormFloat64() + math.Sqrt(shareOfCounts/2)*(before-count)
		before = count
	}
	return z
}

// add shifts the values from one on.
func add(z []float64, from int, shift float64) []float64 {
	for i := from; i < len(z); i++ {
		z[i] += shift
	}
	return z
}

// ofScores is a fluid at a cent the millilitre with such periods.
func ofScores(z []float64) ItemAudit {
	a := ItemAudit{Item: inventory.Item{Code: "oil", Measure: inventory.Millilitre}, Cost: 10_000, Periods: told(z, 0)}
	a.Marks = marks(a.Periods, a.Item.Measure)
	return a
}

// firstSignal is how many scores of a shift the charts take to signal.
func firstSignal(rng *rand.Rand, shift float64) int {
	c := begun()
	for {
		score := rng.NormFloat64() + shift
		if c = c.after(score); c.signal(score) != "" {
			return c.periods
		}
	}
}

func TestTheRunLengthIsTheOneStated(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 2))
	mean, err := simulated(12_000, func() int { return firstSignal(rng, 0) })
	stated := ChartLimits().RunLength
	t.Logf("%.1f ± %.1f periods to a false signal", mean, err)
	if err > stated/100 || math.Abs(mean-stated) > 0.01*stated+2*err {
		t.Errorf("simulated %.1f ± %.1f periods, stated %g", mean, err, stated)
	}
	if bound := ChartLimits().Delay(0); stated > bound {
		t.Errorf("stated %g, but one chart alone has %.1f", stated, bound)
	}
}

func TestTheDelayIsAnUpperBoundAndNotFarOff(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 3))
	for _, shift := range []float64{1, 1.5, 2, 3, -1.5} {
		mean, err := simulated(20_000, func() int { return firstSignal(rng, shift) })
		bound := ChartLimits().Delay(shift)
		t.Logf("a shift of %g shows within %.2f ± %.2f periods, bound %.2f", shift, mean, err, bound)
		if mean-3*err > bound || mean < 0.6*bound {
			t.Errorf("shift %g: simulated %.2f ± %.2f periods, bound %.2f", shift, mean, err, bound)
		}
	}
}

// A workshop's first guess of the spread is off, and its counts err. What then
// becomes of the run length is measured through all that marks does.
func TestFalseSignalsWhereTheSpreadIsNotTheOneExpected(t *testing.T) {
	tests := []struct {
		rule            string
		times, counts   float64 // true spread in expected ones, the counts' share of its variance
		atLeast, atMost float64 // periods a signal over five years, in run lengths stated
	}{
		{"as expected: the run length stated, within three standard errors", 1, 0, 0.8, 1.2},
		{"smaller: longer", 0.6, 0, 2, math.Inf(1)},
		{"a quarter larger: shorter until it is learnt", 1.25, 0, 0.5, 0.85},
		{"far larger: shorter still", 1.6, 0, 0.3, 0.6},
		{"half of it the counts': they take back what they gave", 1, 0.5, 3, math.Inf(1)},
		{"far larger, half of it the counts'", 1.6, 0.5, 0.9, math.Inf(1)},
	}
	const items, periods = 500, 260
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(6, 4))
			var first, all float64
			for range items {
				z := noise(rng, periods, test.counts)
				for i := range z {
					z[i] *= test.times
				}
				for i, m := range marks(told(z, test.counts), inventory.Millilitre) {
					if m.Signal != "" {
						all++
						if i < 50 {
							first++
						}
					}
				}
			}
			t.Logf("one signal in %.0f periods, %.3f in the first 50", items*periods/all, first/items)
			stated := ChartLimits().RunLength
			if got := items * periods / all / stated; got < test.atLeast || got > test.atMost {
				t.Errorf("found %.2f of the run length stated, expected %g to %g", got, test.atLeast, test.atMost)
			}
		})
	}
}

// Scores are standard normal at any time if the true spread is drawn from what
// is known of it beforehand. A squared spread that is 10/χ²₁₀ is.
func TestScoresAreStandardNormal(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 5))
	const items, periods = 6000, 40
	beyond := map[float64][]float64{1: {0, 0, 0}, 2: {0, 0, 0}, 3: {0, 0, 0}} // by when: at first, by 10, by 39
	for range items {
		var chi float64
		for range int(supposed.worth) {
			x := rng.NormFloat64()
			chi += x * x
		}
		z := noise(rng, periods, 0)
		for i := range z {
			z[i] *= math.Sqrt(supposed.worth / chi)
		}
		of := marks(told(z, 0), inventory.Millilitre)
		for when, i := range []int{0, 10, 39} {
			for limit := range beyond {
				if math.Abs(of[i].Score) > limit {
					beyond[limit][when]++
				}
			}
		}
	}
	for limit, counted := range beyond {
		p := math.Erfc(limit / math.Sqrt2)
		for when, n := range counted {
			if err := math.Sqrt(p * (1 - p) / items); math.Abs(n/items-p) > 4*err {
				t.Errorf("beyond %g: found %.4f of the scores (time %d), expected %.4f ± %.4f", limit, n/items, when, p, err)
			}
		}
	}
}

// Successive differences show the error of a count twice over what a period
// does; a spread learnt from them without knowing that would be too large by up
// to a quarter, and the scores too small.
func TestTheErrorOfACountIsNotLearntTwice(t *testing.T) {
	for _, share := range []float64{0, 0.5, 1} {
		rng := rand.New(rand.NewPCG(6, 6))
		const items, periods, learnt = 300, 200, 100
		var squares float64
		for range items {
			for _, m := range marks(told(noise(rng, periods, share), share), inventory.Millilitre)[learnt:] {
				squares += m.Score * m.Score
			}
		}
		sd := math.Sqrt(squares / (items * (periods - learnt)))
		t.Logf("where counts make %g of the variance the scores have the standard deviation %.3f", share, sd)
		if math.Abs(sd-1) > 0.02 {
			t.Errorf("where counts make %g of the variance the scores have the standard deviation %.3f, expected 1", share, sd)
		}
	}
}

// Forty quiet weeks, then a lasting shift: how long until it is told, and where
// it is said to have begun.
func TestAShiftIsFoundAndItsBeginning(t *testing.T) {
	tests := []struct {
		shift          float64
		within1, near3 float64 // share whose beginning is said within a period, within three, at least
	}{
		{1, 0.45, 0.65},
		{1.5, 0.66, 0.84},
		{2, 0.78, 0.90},
		{3, 0.89, 0.94},
	}
	const items, quiet = 1500, 40
	for _, test := range tests {
		rng := rand.New(rand.NewPCG(6, 7))
		var found, delay, six, one, three float64
		for range items {
			for _, e := range episodes(ofScores(add(noise(rng, quiet+60, 0), quiet, test.shift))) {
				if e.First < quiet || e.Direction != High {
					continue
				}
				found++
				delay += float64(e.First - quiet + 1)
				if e.First < quiet+6 {
					six++
				}
				switch off := math.Abs(float64(e.Start - quiet)); {
				case off <= 1:
					one++
					fallthrough
				case off <= 3:
					three++
				}
				break
			}
		}
		delay /= found
		t.Logf("shift %g: found in %.3f, after %.2f periods, within six %.3f; begun within ±1 %.3f, ±3 %.3f",
			test.shift, found/items, delay, six/items, one/found, three/found)
		if found < 0.93*items { // a false signal before takes in the others
			t.Errorf("shift %g: found in %.3f", test.shift, found/items)
		}
		if bound := ChartLimits().Delay(test.shift); math.Abs(delay/bound-1) > 0.1 {
			t.Errorf("shift %g: found after %.2f periods, expected some %.2f", test.shift, delay, bound)
		}
		if one/found < test.within1 || three/found < test.near3 {
			t.Errorf("shift %g: begun within ±1 %.3f, ±3 %.3f, expected at least %g and %g", test.shift, one/found, three/found, test.within1, test.near3)
		}
	}
}
