package audit

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// leastSquares is the x that makes |a·x − b| least, by Householder's QR of a
// with its columns scaled, and two steps in which x and what is left are
// refined together (Björck, Numerical Methods for Least Squares Problems, 1996,
// section 2.9.2). Columns that depend on each other give values that are not
// finite, or huge.
func leastSquares(a mat.Matrix, b []float64) []float64 {
	rows, cols := a.Dims()
	scaled, scale := mat.NewDense(rows, cols, nil), make([]float64, cols)
	for j := range cols {
		column := mat.Col(nil, j, a)
		scale[j] = math.Exp2(float64(math.Ilogb(norm(column)))) // which rounds nothing
		for i, v := range column {
			scaled.Set(i, j, v/scale[j])
		}
	}
	f := factored{a: scaled}
	f.qr.Factorize(scaled)
	x := f.solve(b, false)
	left := residuals(scaled, b, x, nil)
	for range 2 {
		f.refine(b, x, left)
	}
	for j := range x {
		x[j] /= scale[j]
	}
	return x
}

// factored is a matrix with its factors.
type factored struct {
	a  *mat.Dense
	qr mat.QR
}

// refine brings left + a·x = b and aᵀ·left = 0 nearer to being true.
func (f *factored) refine(b, x, left []float64) {
	off := residuals(f.a, b, x, left)
	slope := residuals(f.a.T(), make([]float64, len(x)), left, nil)
	along := f.solve(slope, true)
	direct, back := f.solve(off, false), f.solve(along, false)
	for i, v := range residuals(f.a, off, direct, nil) {
		left[i] += along[i] + v
	}
	for j := range x {
		x[j] += direct[j] - back[j]
	}
}

// solve returns NaN for what has no solution; transposed it is the shortest y
// of aᵀ·y = b.
func (f *factored) solve(b []float64, transposed bool) []float64 {
	rows, cols := f.qr.Dims()
	length := cols
	if transposed {
		length = rows
	}
	x := mat.NewVecDense(length, nil)
	if err := f.qr.SolveVecTo(x, transposed, mat.NewVecDense(len(b), b)); err != nil {
		if condition, is := err.(mat.Condition); !is || math.IsInf(float64(condition), 1) {
			x.SetVec(0, math.NaN())
		}
	}
	return x.RawVector().Data
}

// residuals are b − less − a·x, reckoned in twice the digits; less may be nil.
func residuals(a mat.Matrix, b, x, less []float64) []float64 {
	left := make([]float64, len(b))
	for i := range left {
		sum, lost := b[i], 0.0
		if less != nil {
			sum = b[i] - less[i]
			lost = twoSumError(b[i], -less[i], sum)
		}
		for j, v := range x {
			term := -a.At(i, j) * v
			lost += math.FMA(-a.At(i, j), v, -term)
			next := sum + term
			lost += twoSumError(sum, term, next)
			sum = next
		}
		left[i] = sum + lost
	}
	return left
}

// twoSumError is what was lost in sum = a + b (Knuth, The Art of Computer
// Programming, volume 2, section 4.2.2).
func twoSumError(a, b, sum float64) float64 {
	of := sum - a
	return (a - (sum - of)) + (b - of)
}

// nnls is the x ≥ 0 that makes |a·x − b| least: active sets as in Lawson &
// Hanson, Solving Least Squares Problems, 1974, chapter 23.
func nnls(a *mat.Dense, b []float64) []float64 {
	rows, cols := a.Dims()
	if rows >= cols {
		if free := leastSquares(a, b); positive(free) {
			return free // no bound is met: the free solution is the one
		}
	}
	s := activeSet{a: a, b: b, x: make([]float64, cols), passive: make([]bool, cols)}
	for round := 0; round < 3*cols+10 && s.enter(); round++ {
	}
	return s.x
}

func positive(x []float64) bool {
	for _, v := range x {
		if !(v > 0) || math.IsInf(v, 1) {
			return false
		}
	}
	return true
}

// activeSet is the state of the search: x is zero where it is not passive.
type activeSet struct {
	a       *mat.Dense
	b       []float64
	x       []float64
	passive []bool
}

// enter frees the variable that lowers the error most, if there is one.
func (s *activeSet) enter() bool {
	gradient := s.gradient()
	for {
		best := -1
		for j, w := range gradient {
			if !s.passive[j] && w > 1e-13 && (best < 0 || w > gradient[best]) {
				best = j
			}
		}
		if best < 0 {
			return false
		}
		s.passive[best] = true
		z := s.solve()
		if z[best] > 0 && !math.IsInf(z[best], 1) {
			s.moveTo(z)
			return true
		}
		s.passive[best], gradient[best] = false, 0 // rounding alone let it in
	}
}

// gradient is aᵀ(b − a·x), each column over its length and the length of b.
func (s *activeSet) gradient() []float64 {
	left := residuals(s.a, s.b, s.x, nil)
	gradient := make([]float64, len(s.x))
	for j := range gradient {
		dot, square := 0.0, 0.0
		for i, r := range left {
			dot += s.a.At(i, j) * r
			square += s.a.At(i, j) * s.a.At(i, j)
		}
		if dot != 0 {
			gradient[j] = dot / math.Sqrt(square) / norm(s.b)
		}
	}
	return gradient
}

// moveTo goes towards z, the best for the passive ones, and fixes at zero what
// would go below on the way.
func (s *activeSet) moveTo(z []float64) {
	for {
		step, first := 1.0, -1
		for j, in := range s.passive {
			if in && z[j] <= 0 && s.x[j]/(s.x[j]-z[j]) <= step {
				step, first = s.x[j]/(s.x[j]-z[j]), j
			}
		}
		for j, in := range s.passive {
			s.x[j] += step * (z[j] - s.x[j])
			if in && (j == first || s.x[j] <= 0) {
				s.passive[j], s.x[j] = false, 0
			}
		}
		if first < 0 {
			return
		}
		z = s.solve()
	}
}

// solve is least squares over the passive columns, zero elsewhere.
func (s *activeSet) solve() []float64 {
	rows, _ := s.a.Dims()
	var columns []int
	for j, in := range s.passive {
		if in {
			columns = append(columns, j)
		}
	}
	z := make([]float64, len(s.x))
	if len(columns) == 0 || len(columns) > rows {
		return z
	}
	part := mat.NewDense(rows, len(columns), nil)
	for k, j := range columns {
		part.SetCol(k, mat.Col(nil, j, s.a))
	}
	for k, v := range leastSquares(part, s.b) {
		z[columns[k]] = v
	}
	return z
}

func norm(x []float64) float64 { return mat.Norm(mat.NewVecDense(len(x), x), 2) }
