package learn

import (
	"maps"
	"math"
	"slices"

	"circlip/forecast"
)

// Cycle is the time from one job of a service on a unit to the next one here, or
// to today where none came yet.
type Cycle struct {
	Hours  forecast.Hours // ridden between the two
	Every  forecast.Hours // after which the service is due
	Rate   float64        // hours ridden a week
	Closed bool           // the next job came
	// WeeksLate is the number of weeks from the day on which the meter passed
	// Every to the next job, or to today; below 0: not known. MostLate is what
	// could have been seen with no other service in between.
	WeeksLate, MostLate int
}

// Wait is the whole weeks that a unit which was due took to come, of those of
// which no more than Most could have been seen: later, it might as well have
// been served elsewhere in between.
type Wait struct{ Weeks, Most int }

// Waited is what is learnt from waits alone.
type Waited struct {
	Lag       forecast.Weeks // posterior mean of the geometric law of whole weeks
	Waits     int            // that it rests on
	Mean      float64        // bare mean of the waits seen, shorter than the lag since the longest are not
	Basis     Basis
	posterior []lagWeight // rising; none where the book's lag stands
}

// lagWeight is a lag with its posterior probability.
type lagWeight struct{ lag, prob float64 }

// Interval is the equal-tailed interval that holds the lag with probability
// level; the lag itself where nothing is learnt.
func (w Waited) Interval(level float64) (low, high forecast.Weeks) {
	if len(w.posterior) == 0 {
		return w.Lag, w.Lag
	}
	edge := (1 - min(max(level, 0), 1)) / 2
	return w.quantile(edge), w.quantile(1 - edge)
}

func (w Waited) quantile(prob float64) forecast.Weeks {
	sum := 0.0
	for _, p := range w.posterior {
		if sum += p.prob; sum >= prob {
			return forecast.Weeks(p.lag)
		}
	}
	return forecast.Weeks(w.posterior[len(w.posterior)-1].lag)
}

// waitWeight is what the book's lag is worth, in waits; enoughWaits is how many
// must be seen before it is left.
const waitWeight, enoughWaits = 5, 15

// LagOf learns the mean lag from waits that are seen only up to a limit: the
// posterior of a truncated geometric law. The probability of another week has a
// Beta prior, as if waitWeight waits had been as long as the book says.
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
	w.posterior = lagPosterior(upTo, sum, max(0, float64(book)))
	w.Lag = 0
	for _, p := range w.posterior {
		w.Lag += forecast.Weeks(p.lag * p.prob)
	}
	return w
}

// The lags that are looked at, in weeks, each so much longer than the one before.
const leastLag, mostLag, lagStep = 0.005, 120.0, 1.01

// lagPosterior is the posterior on a grid of lags, of waits by their limits with
// so many weeks in all.
func lagPosterior(upTo map[int]int, weeks, book float64) []lagWeight {
	limits := slices.Sorted(maps.Keys(upTo))
	var all []lagWeight
	most := math.Inf(-1)
	for lag := leastLag; lag < mostLag; lag *= lagStep {
		again := lag / (1 + lag)
		stop, wait := math.Log(1-again), math.Log(again)
		sum := waitWeight*stop + (waitWeight*book+weeks)*wait
		for _, limit := range limits {
			sum += float64(upTo[limit]) * (stop - math.Log(-math.Expm1(float64(limit+1)*wait)))
		}
		// Steps are even in the logarithm of the lag: dq = q(1 − q) d log(lag).
		sum += stop + wait
		all = append(all, lagWeight{lag, sum})
		most = max(most, sum)
	}
	whole := 0.0
	for i := range all {
		all[i].prob = math.Exp(all[i].prob - most)
		whole += all[i].prob
	}
	for i := range all {
		all[i].prob /= whole
	}
	return all
}
