package audit

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Delay is within how many periods, on average, a lasting shift of so many
// standard deviations shows if the charts begin with it: no later than the
// quicker chart alone, whose limits are nowhere wider than they are reckoned
// with here. A shift that begins amid charts which still learn the spread takes
// about as long, within a tenth as simulated. At 0 it bounds RunLength.
func (l Limits) Delay(shift float64) float64 {
	h, size := l.H, shift
	if shift < 0 {
		h, size = l.HLow, -shift
	}
	return math.Min(cusumOneSided(l.K, h, size).from(0), ewmaRun(l.Lambda, l.Width, size))
}

// cusumOneSided is the run of an upper tabular CUSUM: from u it falls back to 0,
// lands somewhere below h, or signals (Page 1954; Brook & Evans 1972 cut the
// same into a Markov chain; e-Handbook 6.3.2.3 on its run lengths).
func cusumOneSided(k, h, shift float64) run {
	return newRun(0, h,
		func(u float64) float64 { return distuv.UnitNormal.CDF(k - shift - u) },
		func(u, x float64) float64 { return distuv.UnitNormal.Prob(x - u + k - shift) })
}

// ewmaRun is the average run length of an EWMA begun at 0 with the limits it has
// in the long run (Crowder 1987).
func ewmaRun(lambda, width, shift float64) float64 {
	limit := width * math.Sqrt(lambda/(2-lambda))
	return newRun(-limit, limit,
		func(float64) float64 { return 0 },
		func(u, x float64) float64 { return distuv.UnitNormal.Prob((x-(1-lambda)*u)/lambda-shift) / lambda }).from(0)
}

// run is the average run length L of a chart by where it stands,
//
//	L(u) = 1 + toZero(u)·L(0) + ∫ to(u, x)·L(x) dx,
//
// over the places x from which it goes on; solved at the nodes of Gauss and
// Legendre.
type run struct {
	toZero         func(u float64) float64
	to             func(u, x float64) float64
	nodes, weights []float64
	length         []float64 // at the nodes, and last at 0
}

// nodesOfRun bring run lengths to ten digits for limits up to a dozen steps wide.
const nodesOfRun = 80

func newRun(low, high float64, toZero func(u float64) float64, to func(u, x float64) float64) run {
	r := run{toZero: toZero, to: to, nodes: make([]float64, nodesOfRun), weights: make([]float64, nodesOfRun)}
	quad.Legendre{}.FixedLocations(r.nodes, r.weights, low, high)
	size := nodesOfRun + 1
	system, ones := mat.NewDense(size, size, nil), mat.NewVecDense(size, nil)
	for i, u := range append(append([]float64{}, r.nodes...), 0) {
		for j, x := range r.nodes {
			system.Set(i, j, -r.weights[j]*to(u, x))
		}
		system.Set(i, nodesOfRun, -toZero(u))
		system.Set(i, i, system.At(i, i)+1)
		ones.SetVec(i, 1)
	}
	// A warning that the system is ill-conditioned tells of very long runs; it is
	// solved all the same.
	var length mat.VecDense
	_ = length.SolveVec(system, ones)
	r.length = length.RawVector().Data
	return r
}

// from is the average run length of a chart that stands at u.
func (r run) from(u float64) float64 {
	sum := 1 + r.toZero(u)*r.length[nodesOfRun]
	for j, x := range r.nodes {
		sum += r.weights[j] * r.to(u, x) * r.length[j]
	}
	return sum
}
