package audit

import (
	"math"
	"math/rand/v2"
)

// gram is the matrix aᵀ·a of some least squares, symmetric and positive
// definite, with its diagonal near one; it solves for many right hands aᵀ·b.
type gram struct {
	n      int
	at     []float64 // by row
	chol   []float64 // lower triangle, of the rows passive
	rows   []int     // which are passive
	free   []bool
	slope  []float64
	z      []float64 // of solve
	right  []float64 // of resample
	factor []bool    // of which rows chol is
}

func newGram(n int) *gram {
	return &gram{n: n, at: make([]float64, n*n), chol: make([]float64, n*n), free: make([]bool, n), slope: make([]float64, n), z: make([]float64, n), right: make([]float64, n), factor: make([]bool, n)}
}

// add takes one more row of a.
func (g *gram) add(row []float64, weight float64) {
	for i, v := range row {
		if v == 0 {
			continue
		}
		for j, u := range row {
			g.at[i*g.n+j] += v * u * weight
		}
	}
}

// bring divides the columns by their sizes and adds the lean.
func (g *gram) bring(size, right []float64) {
	for i := range g.n {
		for j := range g.n {
			g.at[i*g.n+j] /= size[i] * size[j]
		}
		g.at[i*g.n+i] += lean
		right[i] = right[i]/size[i] + lean*size[i]
	}
}

// factorize makes the Cholesky factor of the free rows, unless it is there.
func (g *gram) factorize() {
	same := len(g.rows) > 0
	for i := range g.free {
		same = same && g.free[i] == g.factor[i]
	}
	if same {
		return
	}
	g.rows = g.rows[:0]
	for i, free := range g.free {
		if g.factor[i] = free; free {
			g.rows = append(g.rows, i)
		}
	}
	for r, i := range g.rows {
		for c := range r + 1 {
			sum := g.at[i*g.n+g.rows[c]]
			for k := range c {
				sum -= g.chol[r*g.n+k] * g.chol[c*g.n+k]
			}
			if c < r {
				g.chol[r*g.n+c] = sum / g.chol[c*g.n+c]
			} else {
				g.chol[r*g.n+r] = math.Sqrt(math.Max(sum, 1e-15))
			}
		}
	}
}

// back solves cholᵀ·x = z, in place and over the free rows.
func (g *gram) back(z []float64) {
	for r := len(g.rows) - 1; r >= 0; r-- {
		for k := r + 1; k < len(g.rows); k++ {
			z[r] -= g.chol[k*g.n+r] * z[k]
		}
		z[r] /= g.chol[r*g.n+r]
	}
}

// forth solves chol·z = b, in place and over the free rows.
func (g *gram) forth(b []float64) {
	for r := range g.rows {
		for k := range r {
			b[r] -= g.chol[r*g.n+k] * b[k]
		}
		b[r] /= g.chol[r*g.n+r]
	}
}

// times is the matrix times x, into to.
func (g *gram) times(x, to []float64) {
	for i := range g.n {
		sum := 0.0
		for j, v := range x {
			sum += g.at[i*g.n+j] * v
		}
		to[i] = sum
	}
}

// allFree makes every row free.
func (g *gram) allFree() {
	for i := range g.free {
		g.free[i] = true
	}
	g.factorize()
}

// solve is the x, zero where it is not free, that solves for a right hand.
func (g *gram) solve(right, x []float64) {
	g.factorize()
	z := g.z[:len(g.rows)]
	for r, i := range g.rows {
		z[r] = right[i]
	}
	g.forth(z)
	g.back(z)
	clear(x)
	for r, i := range g.rows {
		x[i] = z[r]
	}
}

// nonNegative is the x ≥ 0 that is best for a right hand, by block principal
// pivoting, and Murty's exchange of one at a time where that makes no headway
// (Portugal, Júdice & Vicente, Mathematics of Computation 63, 1994). For the
// same a and b it is what nnls returns.
func (g *gram) nonNegative(right, x []float64) {
	g.allFree()
	tolerance := 0.0
	for _, r := range right {
		tolerance = math.Max(tolerance, 1e-12*math.Abs(r))
	}
	fewest, patience := g.n+1, 3
	for range 20 * (g.n + 1) {
		g.solve(right, x)
		g.times(x, g.slope)
		wrong, last := 0, 0
		for i := range x {
			if g.isWrong(i, right, x, tolerance) {
				wrong, last = wrong+1, i
			}
		}
		switch {
		case wrong == 0:
			clampAll(x)
			return
		case wrong < fewest:
			fewest, patience = wrong, 3
		default:
			patience--
		}
		if patience < 0 {
			g.free[last] = !g.free[last]
			continue
		}
		g.swapWrong(right, x, tolerance)
	}
	g.descend(right, x)
}

// descend lowers the error from zero, one row at a time: slow, but it never
// fails where rounding has pivots go round in circles.
func (g *gram) descend(right, x []float64) {
	clear(x)
	for range 200 {
		for i := range x {
			slope := -right[i]
			for j, v := range x {
				slope += g.at[i*g.n+j] * v
			}
			x[i] = math.Max(0, x[i]-slope/g.at[i*g.n+i])
		}
	}
}

// isWrong reports whether a free row went below zero, or a row held at zero
// would better not be.
func (g *gram) isWrong(i int, right, x []float64, tolerance float64) bool {
	if g.free[i] {
		return x[i] < -tolerance
	}
	return g.slope[i]-right[i] < -tolerance
}

func (g *gram) swapWrong(right, x []float64, tolerance float64) {
	for i := range x {
		if g.isWrong(i, right, x, tolerance) {
			g.free[i] = !g.free[i]
		}
	}
}

func clampAll(x []float64) {
	for i := range x {
		x[i] = math.Max(0, x[i])
	}
}

// resample finds the best non-negative ratios for a right hand drawn anew about
// the one that fits ratios exactly; size is what columns were divided by. The
// right hand's law is normal, with the matrix times spread² for its covariance.
func (g *gram) resample(random *rand.Rand, ratio, size []float64, spread float64, x []float64) {
	g.allFree()
	for i := range x {
		x[i] = spread * random.NormFloat64()
	}
	g.back(x)
	inside := true
	for i := range x {
		x[i] += ratio[i] * size[i]
		inside = inside && x[i] >= 0
	}
	if !inside {
		g.times(x, g.right)
		g.nonNegative(g.right, x)
	}
	for i := range x {
		x[i] /= size[i]
	}
}

// resampleWith is resample where the right hand's covariance is not that of the
// matrix, but given.
func (g *gram) resampleWith(covariance *gram, random *rand.Rand, ratio, size, x []float64) {
	covariance.allFree()
	for i := range x {
		x[i] = ratio[i] * size[i]
	}
	g.times(x, g.right)
	for i := range x {
		x[i] = random.NormFloat64()
	}
	for i := range x {
		for k, z := range x[:i+1] {
			g.right[i] += covariance.chol[i*g.n+k] * z
		}
	}
	g.nonNegative(g.right, x)
	for i := range x {
		x[i] /= size[i]
	}
}

// covariance is the inverse of the matrix.
func (g *gram) covariance() []float64 {
	g.allFree()
	inverse, unit := make([]float64, g.n*g.n), make([]float64, g.n)
	for i := range g.n {
		clear(unit)
		unit[i] = 1
		g.solve(unit, inverse[i*g.n:(i+1)*g.n])
	}
	return inverse
}
