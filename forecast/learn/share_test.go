package learn

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"
)

func TestShare(t *testing.T) {
	tests := map[string]struct {
		share          Share
		mean, low, top float64 // of the interval of 0.9
		basis          Basis
	}{
		// Uniform and power laws have quantiles in closed form.
		"uniform prior, nothing seen":   {Share{0.5, 2, 0, 0}, 0.5, 0.05, 0.95, FromBook},
		"a square law":                  {Share{0.5, 2, 1, 0}, 2.0 / 3, math.Sqrt(0.05), math.Sqrt(0.95), Learnt},
		"twenty for the book":           {Share{1, 20, 0, 0}, 1, 1, 1, FromBook},
		"certain until contradicted":    {Share{1, 20, 100, 0}, 1, 1, 1, Learnt},
		"one observation contradicts":   {Share{1, 20, 9, 1}, 29.0 / 30, math.Pow(0.05, 1.0/29), math.Pow(0.95, 1.0/29), Learnt},
		"never until contradicted":      {Share{0, 20, 0, 7}, 0, 0, 0, Learnt},
		"no weight, nothing seen":       {Share{0.3, 0, 0, 0}, 0.3, 0, 1, FromBook},
		"no weight, all data":           {Share{0.3, 0, 1, 1}, 0.5, 0.05, 0.95, Learnt},
		"a prior that is no number":     {Share{math.NaN(), math.NaN(), 1, 1}, 0.5, 0.05, 0.95, Learnt},
		"counts below none are as none": {Share{0.5, 2, -3, -4}, 0.5, 0.05, 0.95, FromBook},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			low, high := tt.share.Interval(0.9)
			if !near(tt.share.Mean(), tt.mean, 1e-12) || !near(low, tt.low, 1e-9) || !near(high, tt.top, 1e-9) {
				t.Errorf("mean %v in %v to %v, want %v in %v to %v", tt.share.Mean(), low, high, tt.mean, tt.low, tt.top)
			}
			if got := tt.share.Basis(); got != tt.basis {
				t.Errorf("basis %v, want %v", got, tt.basis)
			}
		})
	}
}

func TestShareIntervalHoldsItsLevel(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := Share{
			PriorMean: rapid.Float64Range(0.01, 0.99).Draw(t, "mean"), PriorWeight: rapid.Float64Range(0.5, 200).Draw(t, "weight"),
			Yes: rapid.IntRange(0, 5000).Draw(t, "yes"), No: rapid.IntRange(0, 5000).Draw(t, "no"),
		}
		level := rapid.Float64Range(0.01, 0.99).Draw(t, "level")
		low, high := s.Interval(level)
		yes, no := s.counts()
		if min(yes, no) < 0.5 {
			t.Skip("so much of the law lies nearer to its end than numbers can tell apart")
		}
		if held := mathext.RegIncBeta(yes, no, high) - mathext.RegIncBeta(yes, no, low); !near(held, level, 1e-6) {
			t.Fatalf("%+v: %v to %v holds %v, want %v", s, low, high, held, level)
		}
	})
}

// Shares drawn from the prior lie in the interval as often as it says
// (simulation-based calibration, Talts et al. 2018).
func TestShareCoversTheTruth(t *testing.T) {
	src := rand.New(rand.NewPCG(1, 1))
	cover := newCoverage(0.8, 0.95)
	for range 4000 {
		p := distuv.Beta{Alpha: 19, Beta: 1, Src: src}.Rand()
		s := Share{PriorMean: 0.95, PriorWeight: 20}
		for range 40 {
			if src.Float64() < p {
				s.Yes++
			} else {
				s.No++
			}
		}
		cover.add(p, s.Interval)
	}
	cover.check(t, "share")
}

func near(got, want, within float64) bool { return math.Abs(got-want) <= within }

// coverage counts how often intervals of some levels hold the truth.
type coverage struct {
	levels []float64
	held   []int
	runs   int
}

func newCoverage(levels ...float64) *coverage {
	return &coverage{levels: levels, held: make([]int, len(levels))}
}

func (c *coverage) add(truth float64, interval func(level float64) (low, high float64)) {
	c.runs++
	for i, level := range c.levels {
		if low, high := interval(level); low <= truth && truth <= high {
			c.held[i]++
		}
	}
}

// check allows three standard errors of a binomial share.
func (c *coverage) check(t *testing.T, what string) {
	t.Helper()
	for i, level := range c.levels {
		got, bound := float64(c.held[i])/float64(c.runs), 3*math.Sqrt(level*(1-level)/float64(c.runs))
		t.Logf("%s: the interval of %v holds %.3f of %d truths", what, level, got, c.runs)
		if !near(got, level, bound) {
			t.Errorf("%s: the interval of %v holds %.3f of %d truths, want within %.3f", what, level, got, c.runs, bound)
		}
	}
}
