package forecast_test

import (
	"math"
	"testing"

	. "circlip/forecast"
)

func TestCountsInClosedForm(t *testing.T) {
	for _, mean := range []float64{.001, .3, 4, 90, 699, 701, 5000, 40_000} {
		for _, size := range []float64{0, .2, 1, 7, 300, math.Inf(1)} {
			if size > 0 && mean/size > 50_000 {
				continue // too wide: cut
			}
			law := NegativeBinomial(mean, size)
			variance := mean
			if size > 0 {
				variance += mean * mean / size
			}
			if math.Abs(law.Mean()/mean-1) > 1e-11 || math.Abs(law.Variance()/variance-1) > 1e-10 {
				t.Errorf("mean %v size %v: found mean %v, variance %v, expected variance %v", mean, size, law.Mean(), law.Variance(), variance)
			}
		}
	}
}
