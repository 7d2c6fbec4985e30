package learn

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"circlip/forecast"
)

// Gap is the season-weighted time from one job of a service on a unit to the
// next one, or, where it has not come back yet, to now.
type Gap struct {
	Weeks    float64
	Returned bool
}

// Renewal is the law of the time between two jobs of one service on one unit:
// the share Returns ever comes back, after a Weibull time with Scale and Shape.
type Renewal struct {
	Returns float64        // above 0, below 1
	Scale   forecast.Weeks // by then 63 % of those that return are back
	Shape   float64        // 1: as likely in any week; above: the likelier the longer ago
	Basis   Basis

	Gaps, Back int     // of this service: gaps seen, and those that ended in a return
	LeftOut    int     // gaps without a length, or longer than a hundred years
	Own        float64 // 0 to 1: how far the service's own gaps decided, and not its family's or common practice

	middle, sd []float64 // posterior of logit(Returns), log(Scale), log(Shape)
}

// What is believed of a family before looking, and how far the services of one
// family differ: centres and deviations of logit(Returns), log(Scale in weeks)
// and log(Shape). 70 % come back, around 40 weeks, somewhat regularly: common
// practice, no source; the deviations let a dozen gaps overrule them.
var (
	renewalCentre  = []float64{logit(0.7), math.Log(40), math.Log(1.5)}
	renewalDoubt   = []float64{1, 1, 0.5}
	renewalBetween = []float64{0.5, 0.7, 0.3}
)

// enoughBack is how many returns in a family make its law one that is learnt.
const enoughBack = 5

// FitRenewals fits the law of each service to its gaps, gaps[s] those of
// service s, by penalised maximum likelihood: a gap that has not ended yet
// counts by the probability of lasting as long. The services of a family
// (family[s], any number; families missing at the end are 0) lean on their
// family's centre as far as their own gaps leave it open, and the centre is
// drawn from them, each counting by what its own gaps say: a normal law on the
// scale of logarithms within families and one of families, whose widths are fixed.
func FitRenewals(gaps [][]Gap, family []int) []Renewal {
	laws := make([]Renewal, len(gaps))
	members := map[int][]int{}
	for s := range gaps {
		f := 0
		if s < len(family) {
			f = family[s]
		}
		members[f] = append(members[f], s)
	}
	for _, services := range members {
		fitFamily(laws, gaps, services)
	}
	return laws
}

// fitFamily fits the services of one family.
func fitFamily(laws []Renewal, gaps [][]Gap, services []int) {
	fits := make([]serviceFit, len(services))
	back := 0
	for i, s := range services {
		fits[i] = newServiceFit(gaps[s])
		back += fits[i].back
	}
	centre, spread := settle(fits)
	for i, s := range services {
		laws[s] = fits[i].renewal(centre, spread, back)
	}
}

// settle fits the services under their family's centre, which moves by Newton
// steps between the fits and settles in three or four. It returns the centre and
// its covariance.
func settle(fits []serviceFit) ([]float64, *mat.SymDense) {
	centre := append([]float64(nil), renewalCentre...)
	var spread *mat.SymDense
	for range 8 {
		for i := range fits {
			fits[i].fit(centre)
		}
		var moved float64
		if moved, spread = recentre(centre, fits); moved < 1e-4 {
			break
		}
	}
	for i := range fits {
		fits[i].fit(centre)
	}
	return centre, spread
}

// recentre moves a family's centre to where the services, seen through their
// own gaps alone, would have it, and returns how far it went and its covariance.
// A service whose gaps say nothing does not hold it back.
func recentre(centre []float64, fits []serviceFit) (float64, *mat.SymDense) {
	n := len(centre)
	bend, slope := mat.NewSymDense(n, nil), make([]float64, n)
	for i := range n {
		weight := 1 / (renewalDoubt[i] * renewalDoubt[i])
		bend.SetSym(i, i, weight)
		slope[i] = weight * (renewalCentre[i] - centre[i])
	}
	for _, f := range fits {
		cov := inverse(f.bend)
		for i := range n {
			between := precision(i)
			slope[i] += between * (f.at[i] - centre[i])
			for j := range i + 1 {
				told := -between * cov.At(i, j) * precision(j)
				if i == j {
					told = max(0, told+between)
				}
				bend.SetSym(i, j, bend.At(i, j)+told)
			}
		}
	}
	spread := inverse(bend)
	moved := 0.0
	for i := range n {
		step := 0.0
		for j := range n {
			step += spread.At(i, j) * slope[j]
		}
		step = max(-1, min(1, step))
		centre[i] += step
		moved = max(moved, math.Abs(step))
	}
	return moved, spread
}

// precision is one over the variance between the services of a family.
func precision(i int) float64 { return 1 / (renewalBetween[i] * renewalBetween[i]) }

// Within is the probability that a unit which has been away for age weeks,
// season-weighted as the gaps were, is back within the ahead weeks that follow.
func (r Renewal) Within(age, ahead forecast.Weeks) float64 {
	if !(r.Scale > 0 && r.Shape > 0 && ahead > 0) {
		return 0
	}
	from := math.Pow(max(0, finite(float64(age)))/float64(r.Scale), r.Shape)
	to := math.Pow((max(0, finite(float64(age)))+float64(ahead))/float64(r.Scale), r.Shape)
	if math.IsInf(from, 1) {
		return 0 // longer away than any number tells
	}
	lost := (1 - r.Returns) * math.Exp(min(from, 700)) // against one that is still to come
	return unit(r.Returns / (r.Returns + lost) * -math.Expm1(from-to))
}

// Weekly is the probability to come back in each of a row of periods, given by
// their ends: rising, season-weighted weeks from now.
func (r Renewal) Weekly(age forecast.Weeks, ends []forecast.Weeks) []float64 {
	probs := make([]float64, len(ends))
	before := 0.0
	for i, end := range ends {
		until := max(before, r.Within(age, end))
		probs[i], before = until-before, until
	}
	return probs
}

// Intervals are the equal-tailed intervals of the three figures, low and high,
// from normal laws with the posterior's means and deviations on the scale of
// logarithms.
// Returns and Scale of a service seen often are told a little too surely: over
// laws drawn from the prior, with 300 gaps and five years, the interval of 0.8
// holds 0.76 and that of 0.95 holds 0.92 of the truths. A scale as long as the
// past makes the two hard to tell apart, and their posterior is skew.
func (r Renewal) Intervals(level float64) (returns [2]float64, scale [2]forecast.Weeks, shape [2]float64) {
	if len(r.middle) == 0 {
		return [2]float64{0, 1}, [2]forecast.Weeks{r.Scale, r.Scale}, [2]float64{r.Shape, r.Shape}
	}
	z := math.Sqrt2 * math.Erfinv(min(unit(level), 1-1e-12))
	for side, sign := range []float64{-z, z} {
		returns[side] = logistic(r.middle[0] + sign*r.sd[0])
		scale[side] = forecast.Weeks(math.Exp(r.middle[1] + sign*r.sd[1]))
		shape[side] = math.Exp(r.middle[2] + sign*r.sd[2])
	}
	return returns, scale, shape
}
