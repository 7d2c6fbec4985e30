package learn

import (
	"math"

	"circlip/forecast"

	"gonum.org/v1/gonum/stat/distuv"
)

// Prior is what is held to be true before any reading is seen. A figure that
// is not above 0 stands for the usual one.
type Prior struct {
	Spread        forecast.Hours // the book's spread of hours ridden; usually 4
	SpreadWeight  float64        // what that counts for, in degrees of freedom; usually 20
	Between       float64        // units' differences in a group, sd over mean; usually 0.5 (common practice, no source)
	BetweenWeight float64        // what that counts for, in units; usually 4
}

func (p Prior) orUsual() Prior {
	usual := func(v, otherwise float64) float64 {
		if v > 0 && !math.IsInf(v, 0) {
			return v
		}
		return otherwise
	}
	return Prior{
		Spread:        forecast.Hours(usual(float64(p.Spread), 4)),
		SpreadWeight:  usual(p.SpreadWeight, 20),
		Between:       usual(p.Between, 0.5),
		BetweenWeight: usual(p.BetweenWeight, 4),
	}
}

// record is what one unit's increments come to.
type record struct {
	hours, weeks float64
	increments   int
	squares      float64 // Σ (gain − rate·weeks)² / weeks around the unit's own rate
	leftOut      LeftOut
}

func recordOf(list []increment) record {
	r := record{increments: len(list)}
	for _, i := range list {
		r.hours += i.gain
		r.weeks += i.weeks
	}
	if r.weeks <= 0 {
		return record{}
	}
	for _, i := range list {
		gap := i.gain - r.rate()*i.weeks
		r.squares += gap * gap / i.weeks
	}
	return r
}

func (r record) rate() float64 { return r.hours / r.weeks }

// spreadOf is the variance of hours ridden over their mean, with the degrees
// of freedom that it counts for, prior included.
//
// Around a unit's own rate, Σ (gain − rate·weeks)²/weeks has the mean
// spread·rate·(n − 1), so the ratio of the sums over units is a moment
// estimate (Çinlar, Bažant & Osman 1977, in van Noortwijk 2009). For n gamma
// increments of shape a, the relative variance of s²/mean is (2 + 3/a)/n by the
// delta method (6/a for s², 1/a for the mean, −4/a for both going together);
// the degrees of freedom are those of a chi-square of the same relative
// variance. The prior is a scaled inverse chi-square.
func spreadOf(records []record, prior Prior) (spread, freedom float64) {
	squares, expected := moments(records)
	spread, freedom = float64(prior.Spread), prior.SpreadWeight
	if expected <= 0 {
		return spread, freedom
	}
	for range 2 { // the shape of an increment rests on the spread itself
		own := freedomOf(records, spread)
		freedom = prior.SpreadWeight + own
		spread = (prior.SpreadWeight*float64(prior.Spread) + own*squares/expected) / freedom
	}
	return spread, freedom
}

// moments is the sum of squares of units and what it is for a spread of 1.
func moments(records []record) (squares, expected float64) {
	for _, r := range records {
		if r.increments > 1 {
			squares += r.squares
			expected += r.rate() * float64(r.increments-1)
		}
	}
	return squares, expected
}

func freedomOf(records []record, spread float64) float64 {
	mean, variance := 0.0, 0.0
	for _, r := range records {
		if r.increments > 1 && r.hours > 0 {
			n := float64(r.increments - 1)
			step := r.weeks / float64(r.increments)
			mean += n * r.rate()
			variance += n * r.rate() * (2*r.rate() + 3*spread/step)
		}
	}
	if !(variance > 0) {
		return 0
	}
	return 2 * mean * mean / variance
}

// chiSquare is the quantile of a chi-square.
func chiSquare(freedom, p float64) float64 {
	return distuv.Gamma{Alpha: freedom / 2, Beta: 0.5}.Quantile(p)
}

// gammaInterval is the middle part p of the gamma law with a mean and a
// standard deviation.
func gammaInterval(mean, sd, p float64) (low, high float64) {
	if !(p > 0) || !(mean > 0) || !(sd > 1e-9*mean) {
		return mean, mean
	}
	shape := mean * mean / (sd * sd)
	law := distuv.Gamma{Alpha: shape, Beta: shape / mean}
	tail := (1 - min(p, 1)) / 2
	return law.Quantile(tail), law.Quantile(1 - tail)
}
