package learn

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Share is the posterior of a share from 0 to 1 under a Beta prior: how often
// a job turns up, or takes a part. PriorWeight is the number of observations
// that the prior is worth. A prior mean of 0 or 1 leaves no doubt until the
// first observation against it, and counts as so many observations from then on.
type Share struct {
	PriorMean, PriorWeight float64
	Yes, No                int
}

// counts are the two parameters of the Beta posterior.
func (s Share) counts() (yes, no float64) {
	mean, weight := unit(s.PriorMean), s.PriorWeight
	if !(weight > 0) || math.IsInf(weight, 1) {
		weight = 0
	}
	return mean*weight + float64(max(0, s.Yes)), (1-mean)*weight + float64(max(0, s.No))
}

// Mean is the posterior mean, the prior's where nothing is known at all.
func (s Share) Mean() float64 {
	yes, no := s.counts()
	if yes+no == 0 {
		return unit(s.PriorMean)
	}
	return yes / (yes + no)
}

// Interval is the equal-tailed interval that holds the share with probability
// level, from 0 to 1. Without prior weight and observations it is 0 to 1.
func (s Share) Interval(level float64) (low, high float64) {
	yes, no := s.counts()
	return betaInterval(yes, no, level)
}

// Basis is FromBook before the first observation, Learnt after it.
func (s Share) Basis() Basis {
	if s.Yes <= 0 && s.No <= 0 {
		return FromBook
	}
	return Learnt
}

// betaInterval is the equal-tailed interval of a Beta law. A parameter of 0 is
// the limit in which all mass lies at one end.
func betaInterval(a, b, level float64) (low, high float64) {
	switch {
	case a <= 0 && b <= 0:
		return 0, 1
	case a <= 0:
		return 0, 0
	case b <= 0:
		return 1, 1
	}
	tail := (1 - unit(level)) / 2
	return mathext.InvRegIncBeta(a, b, tail), mathext.InvRegIncBeta(a, b, 1-tail)
}

// unit is the nearest number from 0 to 1; what is no number is 0.
func unit(x float64) float64 {
	if !(x > 0) {
		return 0
	}
	return min(x, 1)
}
