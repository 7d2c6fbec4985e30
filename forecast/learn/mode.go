package learn

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// reach is the step of the central differences: their error is of its square,
// far below any doubt that the data leave.
const reach = 1e-3

// climb finds the top of a log density that has one, by Newton's method with
// damping where the density is not concave, and its curvature there (minus the
// second derivatives). It stops after so many steps that only a density with
// no top is left unfinished.
func climb(density func([]float64) float64, start []float64) ([]float64, *mat.SymDense) {
	at := append([]float64(nil), start...)
	height := density(at)
	slope, bend := derivatives(density, at, height)
	damping := 0.0
	for range 60 {
		next, ok := step(at, slope, bend, damping)
		if !ok {
			damping = max(4*damping, 1e-2*mat.Max(bend), 1e-2)
			continue
		}
		there := density(next)
		if !(there >= height) {
			damping = max(4*damping, 1e-2)
			if damping > 1e9 {
				break
			}
			continue
		}
		moved := distance(at, next)
		at, height, damping = next, there, damping/8
		slope, bend = derivatives(density, at, height)
		if moved < 1e-7 {
			break
		}
	}
	return at, bend
}

// step is one damped Newton step, no coordinate by more than 1: in logarithms
// that is far. It is not ok where the damped curvature is not positive.
func step(at, slope []float64, bend *mat.SymDense, damping float64) ([]float64, bool) {
	damped := mat.NewSymDense(len(at), nil)
	damped.CopySym(bend)
	for i := range at {
		damped.SetSym(i, i, damped.At(i, i)+damping)
	}
	var chol mat.Cholesky
	if !chol.Factorize(damped) {
		return nil, false
	}
	var move mat.VecDense
	if err := chol.SolveVecTo(&move, mat.NewVecDense(len(at), slope)); err != nil {
		return nil, false
	}
	scale := 1.0
	for i := range at {
		scale = min(scale, 1/math.Abs(move.AtVec(i)))
	}
	next := make([]float64, len(at))
	for i := range at {
		next[i] = at[i] + scale*move.AtVec(i)
	}
	return next, true
}

// derivatives are the slope and the curvature by central differences.
func derivatives(density func([]float64) float64, at []float64, height float64) ([]float64, *mat.SymDense) {
	x := append([]float64(nil), at...)
	shifted := func(i, j int, byI, byJ float64) float64 {
		x[i] += byI
		x[j] += byJ
		value := density(x)
		copy(x, at)
		return value
	}
	slope, bend := make([]float64, len(at)), mat.NewSymDense(len(at), nil)
	for i := range at {
		up, down := shifted(i, i, reach, 0), shifted(i, i, -reach, 0)
		slope[i] = (up - down) / (2 * reach)
		bend.SetSym(i, i, (2*height-up-down)/(reach*reach))
		for j := range i {
			cross := shifted(i, j, reach, reach) - shifted(i, j, reach, -reach) -
				shifted(i, j, -reach, reach) + shifted(i, j, -reach, -reach)
			bend.SetSym(i, j, -cross/(4*reach*reach))
		}
	}
	return slope, bend
}

func distance(a, b []float64) float64 {
	far := 0.0
	for i := range a {
		far = max(far, math.Abs(a[i]-b[i]))
	}
	return far
}

// inverse is the inverse of a curvature: the covariance. Where it has none the
// curvature is raised until it has, which errs on the side of being sure of
// what the prior says.
func inverse(bend *mat.SymDense) *mat.SymDense {
	n := bend.SymmetricDim()
	raised := mat.NewSymDense(n, nil)
	raised.CopySym(bend)
	var chol mat.Cholesky
	for lift := 1e-6; lift < 1e12 && !chol.Factorize(raised); lift *= 10 {
		for i := range n {
			raised.SetSym(i, i, max(0, finite(bend.At(i, i)))+lift)
			for j := range i {
				raised.SetSym(i, j, finite(bend.At(i, j)))
			}
		}
	}
	out := mat.NewSymDense(n, nil)
	if err := chol.InverseTo(out); err != nil {
		for i := range n {
			out.SetSym(i, i, 1/raised.At(i, i))
		}
	}
	return out
}

func logit(p float64) float64    { return math.Log(p) - math.Log1p(-p) }
func logistic(x float64) float64 { return 1 / (1 + math.Exp(-x)) }

// finite is x, or 0 where x is no number or without bound.
func finite(x float64) float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return 0
	}
	return x
}
