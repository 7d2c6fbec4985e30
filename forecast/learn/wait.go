package learn

import (
	"math"

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
	var used []Wait
	for _, wait := range waits {
		if wait.Weeks >= 0 && wait.Weeks <= wait.Most {
			used = append(used, wait)
			sum += float64(wait.Weeks)
		}
	}
	w.Waits = len(used)
	if w.Waits > 0 {
		w.Mean = sum / float64(w.Waits)
		w.Basis = TooFew
	}
	if w.Waits < enoughWaits {
		return w
	}
	w.Basis = Learnt
	most := math.Inf(-1)
	for lag := leastLag; lag < mostLag; lag *= 1.01 {
		if chance := waitLikelihood(used, lag, float64(book)); chance > most {
			w.Lag, most = forecast.Weeks(lag), chance
		}
	}
	return w
}

// The lags that are looked at, in weeks.
const leastLag, mostLag = 0.02, 60.0

// waitLikelihood is the logarithm of the posterior, but for a constant: each
// week passes with probability q = lag/(1+lag), and a wait up to Most is seen.
func waitLikelihood(waits []Wait, lag, book float64) float64 {
	again := lag / (1 + lag)
	stop, wait := math.Log(1-again), math.Log(again)
	sum := waitWeight * (stop + book*wait) // as if so many had waited as long as the book says
	for _, w := range waits {
		sum += stop + float64(w.Weeks)*wait - math.Log(-math.Expm1(float64(w.Most+1)*wait))
	}
	return sum
}
