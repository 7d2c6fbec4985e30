package learn

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/mathext"

	"circlip/forecast"
)

// Cycle is the time from one job of a service on a unit with a meter to the
// next one here, or to the latest reading where none came yet.
type Cycle struct {
	Hours  forecast.Hours // ridden between the two
	Every  forecast.Hours // after which the service is due
	Rate   float64        // hours ridden a week
	Spread forecast.Hours // variance of hours ridden over their mean
	Closed bool           // the next job came
	// WeeksLate is the number of whole weeks from the day on which the meter
	// passed Every to the next job, or to the latest reading; below 0: not known,
	// taken from Hours and Rate.
	WeeksLate int
}

// Habit is what customers do when a service is due: the share of due services
// that is done here, and the mean of the whole weeks until then. With fewer than
// 30 due services seen both are the book's.
type Habit struct {
	Capture   float64
	Lag       forecast.Weeks
	CaptureSD float64 // of the posterior, as LagSD; 0 where not learnt
	LagSD     forecast.Weeks
	Basis     Basis

	Captured int     // cycles that ended here after the service was due
	Missed   float64 // expected number of services done elsewhere within the cycles
	Open     int     // cycles over the limit without a job yet
	NotDue   int     // cycles below the limit, which say nothing
	LeftOut  int     // cycles without hours, limit or rate, or far beyond any limit
}

// habitWeight is what the book's figures are worth, in due services;
// enoughDue is how many must be seen before they are left. leastDoubt is the
// part of a due service that speaks against a book that says always or never:
// what is done elsewhere is not seen, so certainty could never be unlearnt.
const (
	habitWeight = 10
	enoughDue   = 30
	leastDoubt  = 0.25
)

// HabitOf learns capture, from 0 to 1, and the mean lag in weeks, both with the
// book's figure as prior, from the cycles of units with a meter.
//
// A due service is done after a geometric number of whole weeks and then here
// with probability capture, else elsewhere; the hours restart all the same. So a
// cycle of many hours holds an unknown number of services done elsewhere, which
// is summed over: given that number, the weeks waited are a negative binomial
// number. The prior is a Beta law of capture and of the weekly chance to come.
func HabitOf(cycles []Cycle, capture float64, lag forecast.Weeks) Habit {
	capture, lag = unit(capture), forecast.Weeks(max(0, finite(float64(lag))))
	book := Habit{Capture: capture, Lag: lag}
	waits := newWaits(cycles, &book)
	if book.Captured+book.Open == 0 {
		return book
	}
	prior := habitPrior(capture, float64(lag))
	density := func(at []float64) float64 { return prior.log(at) + waits.log(at) }
	top, bend := climb(density, []float64{logit(prior.yes / (prior.yes + prior.no)), math.Log(prior.weeks / prior.times)})
	learnt := book
	learnt.Basis = Learnt
	learnt.Missed = waits.missed(top)
	if learnt.Events() < enoughDue {
		book.Basis, book.Missed = TooFew, learnt.Missed
		return book
	}
	learnt.moments(density, top, bend)
	return learnt
}

// Events is the expected number of due services that were done, here or
// elsewhere, in the cycles.
func (h Habit) Events() float64 { return float64(h.Captured) + h.Missed }

// CaptureInterval is the equal-tailed interval of the capture: that of the Beta
// law with the posterior's mean and deviation. It is one point where the capture
// is the book's.
func (h Habit) CaptureInterval(level float64) (low, high float64) {
	if h.CaptureSD <= 0 {
		return h.Capture, h.Capture
	}
	size := max(h.Capture*(1-h.Capture)/(h.CaptureSD*h.CaptureSD)-1, 1e-3)
	return betaInterval(h.Capture*size, (1-h.Capture)*size, level)
}

// LagInterval is the equal-tailed interval of the mean lag: that of the gamma
// law with the posterior's mean and deviation.
func (h Habit) LagInterval(level float64) (low, high forecast.Weeks) {
	if h.LagSD <= 0 || h.Lag <= 0 {
		return h.Lag, h.Lag
	}
	shape := float64(h.Lag*h.Lag) / float64(h.LagSD*h.LagSD)
	tail := (1 - unit(level)) / 2
	scale := float64(h.Lag) / shape
	low = forecast.Weeks(mathext.GammaIncRegInv(shape, tail) * scale)
	high = forecast.Weeks(mathext.GammaIncRegInv(shape, 1-tail) * scale)
	return low, high
}

// moments fills in mean and deviation of the posterior: sums over a square
// grid of 9 by 9 points, a deviation apart, around the top.
func (h *Habit) moments(density func([]float64) float64, top []float64, bend *mat.SymDense) {
	cov := inverse(bend)
	first := math.Sqrt(cov.At(0, 0))
	tilt := cov.At(1, 0) / first
	second := math.Sqrt(max(cov.At(1, 1)-tilt*tilt, 1e-12))
	peak := density(top)
	var mass, p, pp, l, ll float64
	for i := -4; i <= 4; i++ {
		for j := -4; j <= 4; j++ {
			z, y := float64(i), float64(j)
			at := []float64{top[0] + first*z, top[1] + tilt*z + second*y}
			w := math.Exp(density(at) - peak)
			share, mean := logistic(at[0]), math.Exp(at[1])
			mass, p, pp, l, ll = mass+w, p+w*share, pp+w*share*share, l+w*mean, ll+w*mean*mean
		}
	}
	h.Capture, h.Lag = p/mass, forecast.Weeks(l/mass)
	h.CaptureSD = math.Sqrt(max(0, pp/mass-p/mass*p/mass))
	h.LagSD = forecast.Weeks(math.Sqrt(max(0, ll/mass-l/mass*l/mass)))
}
