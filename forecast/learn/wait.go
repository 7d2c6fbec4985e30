package learn

import (
	"maps"
	"math"
	"slices"

	"circlip/forecast"
)

// Wait is the whole weeks that a unit which was due took to come, of those of
// which no more than Most could have been seen: later, it might as well have
// been served elsewhere in between.
type Wait struct{ Weeks, Most int }

// Waited is what is learnt from waits alone.
type Waited struct {
	Lag   forecast.Weeks // mean of the geometric law of whole weeks
	Waits int            // that it rests on
	Mean  float64        // bare mean of the waits seen, shorter than the lag since the longest are not
	Basis Basis
}

// waitWeight is what the book's lag is worth, in waits; enoughWaits is how many
// must be seen before it is left.
const waitWeight, enoughWaits = 5, 15

// LagOf learns the mean lag from waits that are seen only up to a limit: the
// mode of the posterior of a truncated geometric law, with the book's lag as
// prior, over a grid of a hundredth part between neighbours.
func LagOf(waits []Wait, book forecast.Weeks) Waited {
	w := Waited{Lag: book}
	sum := 0.0
	upTo := map[int]int{} // waits by what could have been seen
	for _, wait := range waits {
		if wait.Weeks >= 0 && wait.Weeks <= wait.Most {
			upTo[wait.Most]++
			w.Waits++
			sum += float64(wait.Weeks)
		}
	}
	if w.Waits > 0 {
		w.Mean = sum / float64(w.Waits)
		w.Basis = TooFew
	}
	if w.Waits < enoughWaits {
		return w
	}
	w.Basis = Learnt
	limits := slices.Sorted(maps.Keys(upTo))
	most := math.Inf(-1)
	for lag := leastLag; lag < mostLag; lag *= 1.01 {
		if chance := waitLikelihood(upTo, limits, sum, lag, float64(book)); chance > most {
			w.Lag, most = forecast.Weeks(lag), chance
		}
	}
	return w
}

// The lags that are looked at, in weeks.
const leastLag, mostLag = 0.02, 60.0

// waitLikelihood is the logarithm of the posterior, but for a constant, of waits
// by their limits with so many weeks in all: each week passes with probability
// lag/(1+lag), and a wait is seen up to its limit.
func waitLikelihood(upTo map[int]int, limits []int, weeks, lag, book float64) float64 {
	again := lag / (1 + lag)
	stop, wait := math.Log(1-again), math.Log(again)
	sum := waitWeight*(stop+book*wait) + weeks*wait // as if so many had waited as long as the book says
	for _, most := range limits {
		sum += float64(upTo[most]) * (stop - math.Log(-math.Expm1(float64(most+1)*wait)))
	}
	return sum
}
