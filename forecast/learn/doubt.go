package learn

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/mathext"
)

// covariance is that of the mode, of which a part follows the family's centre,
// whose own covariance is spread.
func (f *serviceFit) covariance(spread *mat.SymDense) *mat.SymDense {
	n := len(f.at)
	cov := inverse(f.bend)
	pull := mat.NewDense(n, n, nil) // how far the mode follows the centre
	for i := range n {
		for j := range n {
			pull.Set(i, j, cov.At(i, j)*precision(j))
		}
	}
	var half, whole mat.Dense
	half.Mul(pull, spread)
	whole.Mul(&half, pull.T())
	wide := mat.NewSymDense(n, nil)
	for i := range n {
		for j := range i + 1 {
			wide.SetSym(i, j, cov.At(i, j)+(whole.At(i, j)+whole.At(j, i))/2)
		}
	}
	return wide
}

// spreadOut is the mean and the deviation of the posterior, whose tails the
// curvature at the mode does not tell: sums over points laid around the mode by
// its covariance, weighted by the density over that of the points (importance
// sampling with a Halton sequence, from a t law with 4 degrees of freedom).
func (f *serviceFit) spreadOut(wide, spread *mat.SymDense, centre []float64) (middle, sd []float64) {
	n := len(f.at)
	around := mat.NewSymDense(n, nil)
	around.CopySym(spread)
	for i := range n {
		around.SetSym(i, i, around.At(i, i)+1/precision(i))
	}
	lean := inverse(around)
	var chol mat.Cholesky
	if !chol.Factorize(wide) {
		return f.at, []float64{math.Sqrt(wide.At(0, 0)), math.Sqrt(wide.At(1, 1)), math.Sqrt(wide.At(2, 2))}
	}
	var root mat.TriDense
	chol.LTo(&root)
	top := f.log(f.at) - leaning(lean, f.at, centre)
	middle, sd = make([]float64, n), make([]float64, n)
	mass := 0.0
	x := make([]float64, n)
	for _, z := range tPoints() {
		square := z[0]*z[0] + z[1]*z[1] + z[2]*z[2]
		for i := range n {
			x[i] = f.at[i]
			for j := range i + 1 {
				x[i] += root.At(i, j) * z[j]
			}
		}
		w := math.Exp(f.log(x)-leaning(lean, x, centre)-top) * math.Pow(1+square/4, 3.5)
		mass += w
		for i := range n {
			middle[i] += w * (x[i] - f.at[i])
			sd[i] += w * (x[i] - f.at[i]) * (x[i] - f.at[i])
		}
	}
	for i := range n {
		off := middle[i] / mass
		middle[i], sd[i] = f.at[i]+off, math.Sqrt(max(0, sd[i]/mass-off*off))
	}
	return middle, sd
}

// leaning is minus the log density of the prior, given the family's centre.
func leaning(lean *mat.SymDense, x, centre []float64) float64 {
	sum := 0.0
	for i := range x {
		for j := range x {
			sum += (x[i] - centre[i]) * lean.At(i, j) * (x[j] - centre[j]) / 2
		}
	}
	return sum
}

const posteriorPoints = 400

// tPoints are points of the t law with 4 degrees of freedom in three dimensions:
// normal points over the root of a gamma number.
var tPoints = sync.OnceValue(func() [][3]float64 {
	points := make([][3]float64, posteriorPoints)
	for k := range points {
		scale := math.Sqrt(mathext.GammaIncRegInv(2, halton(k+1, 7)) / 2)
		for i, base := range [3]int{2, 3, 5} {
			points[k][i] = math.Sqrt2 * math.Erfinv(2*halton(k+1, base)-1) / scale
		}
	}
	return points
})

// halton is the k-th number of the sequence of van der Corput in a base.
func halton(k, base int) float64 {
	x, digit := 0.0, 1.0
	for ; k > 0; k /= base {
		digit /= float64(base)
		x += digit * float64(k%base)
	}
	return x
}
