package learn

import (
	"math"

	"circlip/forecast"

	"gonum.org/v1/gonum/mat"
)

// harmonic is a value for each of the season's sines and cosines.
type harmonic [harmonics]float64

// wave is the harmonics of the middle of an ISO week. Week 53 lies halfway
// between weeks 52 and 1.
func wave(week int) harmonic {
	turn := 2 * math.Pi * (float64(week) - 0.5) / seasonWeeks
	if week > seasonWeeks {
		turn = 0
	}
	return harmonic{math.Cos(turn), math.Sin(turn), math.Cos(2 * turn), math.Sin(2 * turn)}
}

func (h harmonic) dot(g harmonic) float64 {
	sum := 0.0
	for k := range h {
		sum += h[k] * g[k]
	}
	return sum
}

// tally is the season-weighted weeks of a time, with their slope in each
// harmonic.
type tally struct {
	weeks float64
	slope harmonic
}

func (t tally) less(u tally) tally {
	t.weeks -= u.weeks
	for k := range t.slope {
		t.slope[k] -= u.slope[k]
	}
	return t
}

// seasonFit is the season of many units while it is being found.
type seasonFit struct {
	units [][]increment
	base  forecast.Day
	week  []int   // ISO week of each day from base on
	sums  []tally // from base to each day, at the present height
	at    harmonic
	bend  *mat.SymDense // information of the readings on the height, times the spread
	pull  harmonic      // slope of the quasi-likelihood, times the spread
	seen  []record
}

func newSeasonFit(units [][]increment, clock clock) *seasonFit {
	days := len(clock.sums) - 1
	f := &seasonFit{
		units: units, base: clock.base,
		week: make([]int, days), sums: make([]tally, days+1),
		bend: mat.NewSymDense(harmonics, nil), seen: make([]record, len(units)),
	}
	for i := range f.week {
		f.week[i] = isoWeek(f.base + forecast.Day(i))
	}
	return f
}

// solve climbs to the most likely height by Fisher scoring, and returns the
// spread there.
func (f *seasonFit) solve(prior Prior) float64 {
	f.look()
	spread, _ := spreadOf(f.seen, prior)
	for range seasonSteps {
		cov := f.covariance(spread)
		var slope, step harmonic
		for k := range slope {
			slope[k] = f.pull[k]/spread - f.at[k]/(harmonicSD[k]*harmonicSD[k])
		}
		largest := 0.0
		for k := range step {
			for l := range slope {
				step[k] += cov.At(k, l) * slope[l]
			}
			largest = max(largest, math.Abs(step[k]))
		}
		short := min(1, 0.5/largest) // so that a first step cannot overshoot far
		for k := range step {
			f.at[k] += short * step[k]
		}
		f.look()
		spread, _ = spreadOf(f.seen, prior)
		if largest < 1e-7 {
			break
		}
	}
	return spread
}

// look takes slope, information and spread at the present height.
func (f *seasonFit) look() {
	f.sum()
	f.pull = harmonic{}
	var bend [harmonics][harmonics]float64
	for i, list := range f.units {
		f.seen[i] = f.lookAt(list, &bend)
	}
	for k := range bend {
		for l := k; l < harmonics; l++ {
			f.bend.SetSym(k, l, bend[k][l])
		}
	}
}

// sum fills the sums for the present height.
func (f *seasonFit) sum() {
	var weeks [54]tally
	for w := range weeks {
		x := wave(w)
		day := math.Exp(x.dot(f.at)) / 7
		weeks[w].weeks = day
		for k := range x {
			weeks[w].slope[k] = day * x[k]
		}
	}
	var sum tally
	for i, w := range f.week {
		sum.weeks += weeks[w].weeks
		for k := range sum.slope {
			sum.slope[k] += weeks[w].slope[k]
		}
		f.sums[i+1] = sum
	}
}

func (f *seasonFit) tally(i increment) tally {
	return f.sums[i.to-f.base].less(f.sums[i.from-f.base])
}

// lookAt adds what one unit says, at the rate that suits it best.
func (f *seasonFit) lookAt(list []increment, bend *[harmonics][harmonics]float64) record {
	var all tally
	unit := record{increments: len(list)}
	var own [harmonics][harmonics]float64
	for _, i := range list {
		t := f.tally(i)
		all.weeks += t.weeks
		unit.hours += i.gain
		unit.squares += i.gain * i.gain / t.weeks
		for k := range t.slope {
			part := t.slope[k] / t.weeks
			all.slope[k] += t.slope[k]
			f.pull[k] += i.gain * part
			for l := k; l < harmonics; l++ {
				own[k][l] += part * t.slope[l]
			}
		}
	}
	unit.weeks = all.weeks
	rate := unit.rate()
	unit.squares -= rate * unit.hours
	for k := range own {
		part := all.slope[k] / all.weeks
		f.pull[k] -= unit.hours * part
		for l := k; l < harmonics; l++ {
			bend[k][l] += rate * (own[k][l] - part*all.slope[l])
		}
	}
	return unit
}

// covariance is that of the height, by the readings and the prior together.
func (f *seasonFit) covariance(spread float64) *mat.SymDense {
	precision := mat.NewSymDense(harmonics, nil)
	precision.ScaleSym(1/spread, f.bend)
	for k := range harmonicSD {
		precision.SetSym(k, k, precision.At(k, k)+1/(harmonicSD[k]*harmonicSD[k]))
	}
	var chol mat.Cholesky
	inverse := mat.NewSymDense(harmonics, nil)
	if chol.Factorize(precision) { // always: the prior is positive definite
		_ = chol.InverseTo(inverse)
	}
	return inverse
}

// factors is the season at the present height, with standard deviations by the
// delta method.
func (f *seasonFit) factors(spread float64) (forecast.Season, map[int]float64) {
	cov := f.covariance(spread)
	mean, middle := 0.0, harmonic{}
	for w := 1; w <= seasonWeeks; w++ {
		x := wave(w)
		height := math.Exp(x.dot(f.at)) / seasonWeeks
		mean += height
		for k := range x {
			middle[k] += height * x[k]
		}
	}
	season, sd := forecast.Season{}, map[int]float64{}
	for w := 1; w <= seasonWeeks+1; w++ {
		x := wave(w)
		season[w] = math.Exp(x.dot(f.at)) / mean
		for k := range x {
			x[k] -= middle[k] / mean
		}
		v := mat.NewVecDense(harmonics, x[:])
		sd[w] = season[w] * math.Sqrt(max(mat.Inner(v, cov, v), 0))
	}
	return season, sd
}
