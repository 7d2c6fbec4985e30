package score

import (
	"math"

	"circlip/forecast"
)

// Percents are the quantiles that Scores keeps the pinball loss of.
var Percents = [3]int{50, 90, 98}

// Scores adds up what forecasts were worth, one after another, in memory that
// does not grow. The zero value has none yet.
type Scores struct {
	count         int
	rps           float64
	pinball       [len(Percents)]float64
	over          float64 // forecast means less what came
	variance      float64 // of the laws
	impossible    int     // outcomes that their law held impossible
	bins          [Bins]float64
	binCovariance [Bins][Bins]float64 // of bins, where what comes is drawn from the laws
}

// Add scores one more law where x came.
func (s *Scores) Add(law forecast.PMF, x int) {
	s.count++
	s.rps += RPS(law, x)
	for i, percent := range Percents {
		prob := float64(percent) / 100
		s.pinball[i] += Pinball(float64(law.Quantile(prob)), prob, float64(x))
	}
	s.over += law.Mean() - float64(x)
	s.variance += law.Variance()
	if law.At(x) == 0 {
		s.impossible++
	}
	s.bin(law, x)
}

// bin notes in which bins the transform lies, and how they vary together
// under the law itself.
func (s *Scores) bin(law forecast.PMF, x int) {
	low := law.CDF(x - 1)
	first, parts := spread(low, low+law.At(x))
	for i, part := range parts {
		s.bins[(first+i)%Bins] += part
	}
	upTo := 0.0
	for _, prob := range law.Each {
		s.covary(min(upTo, leastBelowOne), min(upTo+prob, 1)) // sums of many run a little over
		upTo += prob
	}
	for i := range Bins {
		for k := range Bins {
			s.binCovariance[i][k] -= 1. / (Bins * Bins)
		}
	}
}

// leastBelowOne lies in the last bin, as what a law has beyond rounding does.
var leastBelowOne = math.Nextafter(1, 0)

// covary adds one outcome to the bins' expected products.
func (s *Scores) covary(low, high float64) {
	if bin := int(low * Bins); high*Bins < float64(bin+1) { // as most are
		s.binCovariance[bin][bin] += high - low
		return
	}
	first, parts := spread(low, high)
	for i, one := range parts {
		if one == 0 {
			continue
		}
		for k, other := range parts {
			s.binCovariance[first+i][(first+k)%Bins] += (high - low) * one * other
		}
	}
}

// Merge adds what other forecasts were worth.
func (s *Scores) Merge(others Scores) {
	s.count += others.count
	s.rps += others.rps
	s.over += others.over
	s.variance += others.variance
	s.impossible += others.impossible
	for i, loss := range others.pinball {
		s.pinball[i] += loss
	}
	for i := range Bins {
		s.bins[i] += others.bins[i]
		for k := range Bins {
			s.binCovariance[i][k] += others.binCovariance[i][k]
		}
	}
}

// mean is the part of a sum that falls on each forecast, 0 where there is none.
func (s *Scores) mean(sum float64) float64 { return sum / float64(max(s.count, 1)) }

// Count is how many forecasts were scored.
func (s *Scores) Count() int { return s.count }

// RPS is the mean ranked probability score.
func (s *Scores) RPS() float64 { return s.mean(s.rps) }

// Pinball is the mean pinball loss of the quantiles of Percents.
func (s *Scores) Pinball() [len(Percents)]float64 {
	var means [len(Percents)]float64
	for i, loss := range s.pinball {
		means[i] = s.mean(loss)
	}
	return means
}

// Bias is the mean of forecast less what came, and its standard error where
// what came was drawn from the laws, one independently of the other.
func (s *Scores) Bias() (bias, standardError float64) {
	return s.mean(s.over), s.mean(sqrt(s.variance))
}

// Histogram is the non-randomised histogram of the probability integral
// transforms, as heights: 1 all over where the laws are right on average.
// Czado, Gneiting & Held, Predictive model assessment for count data,
// Biometrics 65 (2009).
func (s *Scores) Histogram() [Bins]float64 {
	var heights [Bins]float64
	for i, sum := range s.bins {
		heights[i] = s.mean(sum) * Bins
	}
	return heights
}
