package score

import (
	"math"

	"circlip/forecast"
)

// RPS is the ranked probability score of a law where x came, in the law's
// units: the sum over all whole numbers k of (F(k) - 1{x ≤ k})². It is the
// distance of x from the law less half the distance of the law from itself,
// E|X-x| - E|X-X'|/2, and |forecast - x| where the law is one value.
func RPS(law forecast.PMF, x int) float64 {
	low, high := law.Range()
	sum := float64(max(0, low-x) + max(0, x-high))
	upTo, from := 0.0, low
	for value, prob := range law.Each {
		// From the value before up to this one F stands still.
		under := min(max(x-from, 0), value-from)
		sum += float64(under)*upTo*upTo + float64(value-from-under)*(1-upTo)*(1-upTo)
		upTo, from = upTo+prob, value
	}
	return sum
}

// Pinball is the pinball loss of a quantile for a probability where x came:
// the shortfall costs prob each, the surplus 1 - prob each. It is least on
// average at the true quantile.
func Pinball(quantile, prob, x float64) float64 {
	if x >= quantile {
		return (x - quantile) * prob
	}
	return (quantile - x) * (1 - prob)
}

// least is the probability that a law's cut tails may have: nothing is held
// less likely.
const least = 1e-15

// Log is the logarithmic score -log P(x) of a law where x came. What lies in
// the law's cut tails, or was held impossible, scores as probability 1e-15.
func Log(law forecast.PMF, x int) float64 { return -math.Log(max(law.At(x), least)) }

// PIT is the randomised probability integral transform: between the
// probabilities of less than x and of x or less, at the share u drawn
// uniformly from 0 to 1. It is uniform where x is drawn from the law.
func PIT(law forecast.PMF, x int, u float64) float64 {
	return min(law.CDF(x-1)+u*law.At(x), 1)
}

// Bins is how many bins the histogram of the transforms has.
const Bins = 10

// spread is the first of the bins that the transforms from low to high fall
// in, and the part of them that is in it and each after it.
func spread(low, high float64) (first int, parts [Bins]float64) {
	low, high = min(low, 1), min(high, 1)
	first = min(int(low*Bins), Bins-1)
	if !(high > low) || high*Bins <= float64(first+1) {
		parts[0] = 1
		return first, parts
	}
	for bin := first; bin < Bins && float64(bin)/Bins < high; bin++ {
		parts[bin-first] = max(0, min(high, float64(bin+1)/Bins)-max(low, float64(bin)/Bins)) / (high - low)
	}
	return first, parts
}
