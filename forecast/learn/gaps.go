package learn

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"circlip/forecast"
)

// mostGroups is how many groups of neighbours the gaps of a service are taken
// in where they are more: within one the gaps differ by less than any week.
const mostGroups = 100

// serviceFit is one service's gaps and the fit to them.
type serviceFit struct {
	gone, waiting      []gapGroup // ended in a return, and not yet
	gaps, back, absurd int
	atOnce             int     // of those that ended, the ones within a day
	sumLog             float64 // of the gaps that ended
	at                 []float64
	bend               *mat.SymDense
}

// gapGroup is a number of gaps of nearly one length, by its logarithm.
type gapGroup struct{ log, count float64 }

func newServiceFit(gaps []Gap) serviceFit {
	var f serviceFit
	var gone, waiting []float64
	for _, g := range gaps {
		switch {
		case !(g.Weeks >= 0 && g.Weeks <= longest):
			f.absurd++
		case g.Returned && g.Weeks < shortest:
			f.atOnce++
		case g.Returned:
			gone = append(gone, math.Log(g.Weeks))
		default:
			waiting = append(waiting, math.Log(max(g.Weeks, 1e-3)))
		}
	}
	f.back = len(gone) + f.atOnce
	f.gaps = f.back + len(waiting)
	for _, x := range gone {
		f.sumLog += x
	}
	f.gone, f.waiting = grouped(gone), grouped(waiting)
	f.at = append([]float64(nil), renewalCentre...)
	return f
}

// shortest is the least time between two jobs in weeks that is told, a day: of
// less only that is known, where a density would have no bound. What is longer than longest, a
// hundred years, is a slip of the pen.
const shortest, longest = 1.0 / 7, 5200

func grouped(logs []float64) []gapGroup {
	slices.Sort(logs)
	size := (len(logs) + mostGroups - 1) / mostGroups
	var groups []gapGroup
	for len(logs) > 0 {
		n := min(size, len(logs))
		sum := 0.0
		for _, x := range logs[:n] {
			sum += x
		}
		groups = append(groups, gapGroup{sum / float64(n), float64(n)})
		logs = logs[n:]
	}
	return groups
}

// fit finds the mode under a family's centre, starting from the last one.
func (f *serviceFit) fit(centre []float64) {
	f.at, f.bend = climb(func(at []float64) float64 {
		sum := f.log(at)
		for i := range at {
			off := (at[i] - centre[i]) / renewalBetween[i]
			sum -= off * off / 2
		}
		return sum
	}, f.at)
}

// log is the log likelihood of the gaps. A gap that ended has the density
// π·k/t·(t/λ)^k·exp(−(t/λ)^k), one that has not the survival 1−π+π·exp(−(t/λ)^k).
func (f *serviceFit) log(at []float64) float64 {
	returns, shape := logistic(at[0]), math.Exp(at[2])
	n := float64(f.back - f.atOnce)
	sum := n*(math.Log(returns)+at[2]-shape*at[1]) + (shape-1)*f.sumLog
	if f.atOnce > 0 {
		day := -math.Expm1(-math.Exp(shape * (math.Log(shortest) - at[1])))
		sum += float64(f.atOnce) * (math.Log(returns) + math.Log(max(day, 1e-300)))
	}
	for _, g := range f.gone {
		sum -= g.count * math.Exp(shape*(g.log-at[1]))
	}
	for _, g := range f.waiting {
		sum += g.count * math.Log1p(returns*math.Expm1(-math.Exp(shape*(g.log-at[1]))))
	}
	past := max(0, at[2]-math.Log(mostRegular))
	return sum - 50*float64(f.gaps)*past*past
}

// mostRegular is the shape beyond which the fit runs into a wall: units do not
// come back to the day, though a few short rows of gaps may look so.
const mostRegular = 10

// renewal is the law fitted. Its deviations take in what is not known of the
// family's centre, whose covariance is spread.
func (f *serviceFit) renewal(centre []float64, spread *mat.SymDense, familyBack int) Renewal {
	cov := inverse(f.bend)
	n := len(f.at)
	r := Renewal{
		Returns: logistic(f.at[0]), Scale: forecast.Weeks(math.Exp(f.at[1])), Shape: math.Exp(f.at[2]),
		Gaps: f.gaps, Back: f.back, LeftOut: f.absurd,
	}
	for i := range n {
		r.Own += (1 - unit(cov.At(i, i)*precision(i))) / float64(n)
	}
	r.middle, r.sd = f.spreadOut(f.covariance(spread), spread, centre)
	r.Basis = f.basis(r.Own, familyBack)
	return r
}

// basis tells whether the service's own gaps, its family's, or neither decided.
func (f *serviceFit) basis(own float64, familyBack int) Basis {
	switch {
	case f.back >= enoughBack && own >= 0.5:
		return Learnt
	case familyBack >= enoughBack:
		return Borrowed
	case f.gaps > 0:
		return TooFew
	}
	return FromBook
}
