package forecast

import (
	"math"
	"sync"
	"sync/atomic"
)

// jump is the law of the hours a meter gains: between two instants, or beyond
// a limit by the end of the day on which it passes the limit.
type jump struct {
	mean     float64
	variance float64
	survival func(hours float64) float64 // probability of more than hours
	excess   func(hours float64) float64 // mean of what exceeds hours, 0 below
	square   func(hours float64) float64 // mean square of gains above hours, 0 below
}

// gain is the law of a gamma number of a shape and scale (the spread).
func gain(shape, spread float64) jump {
	mean, logGamma := shape*spread, logGammaOf(shape+1)
	return jump{
		mean:     mean,
		variance: mean * spread,
		survival: func(h float64) float64 { return upperGamma(shape, h/spread) },
		excess: func(h float64) float64 {
			if h <= 0 {
				return mean - h
			}
			if math.IsInf(h, 1) {
				return 0
			}
			z := h / spread
			q := upperGamma(shape, z)
			next := q + gammaTerm(shape, z, logGamma)
			return max(0, spread*(shape*next-z*q))
		},
		square: func(h float64) float64 {
			whole := mean * (mean + spread)
			if h <= 0 || math.IsInf(h, 1) {
				return whole * upperGamma(1, h)
			}
			z := h / spread
			return whole * (upperGamma(shape, z) + gammaTerm(shape, z, logGamma)*(1+z/(shape+1)))
		},
	}
}

// gammaTerm is what Q(a+1, z) exceeds Q(a, z) by (DLMF 8.8.6), given ln Γ(a+1).
func gammaTerm(a, z, logGamma float64) float64 { return math.Exp(a*math.Log(z) - z - logGamma) }

func logGammaOf(a float64) float64 {
	l, _ := math.Lgamma(a)
	return l
}

// overshoot is the law of the hours by which the meter stands beyond a far
// limit at the end of the day on which it passed it, the day's hours being
// gamma of the given shape: the stationary excess of that law, with mean
// (1+shape)/2 times the spread (Cox 1962, "Renewal theory", chapter 5). As
// the shape goes to 0 the mean becomes the spread/2 of a gamma process.
func overshoot(shape, spread float64) jump {
	shape = max(shape, 1e-6) // a meter that hardly runs: the limit law
	mean, logGamma := spread*(1+shape)/2, logGammaOf(shape+1)
	return jump{
		mean:     mean,
		variance: spread*spread*(shape+1)*(shape+2)/3 - mean*mean,
		survival: func(h float64) float64 {
			if h <= 0 {
				return 1
			}
			if math.IsInf(h, 1) {
				return 0
			}
			z := h / spread
			q := upperGamma(shape, z)
			return max(0, q+gammaTerm(shape, z, logGamma)-z/shape*q)
		},
		excess: func(h float64) float64 {
			if h <= 0 {
				return mean - h
			}
			if math.IsInf(h, 1) {
				return 0
			}
			z := h / spread
			q, term := upperGamma(shape, z), gammaTerm(shape, z, logGamma)
			q1, q2 := q+term, q+term*(1+z/(shape+1))
			return max(0, spread/2*((shape+1)*q2-2*z*q1+z*z/shape*q))
		},
		square: func(h float64) float64 {
			whole := spread * spread * (shape + 1) * (shape + 2) / 3
			if h <= 0 || math.IsInf(h, 1) {
				return whole * upperGamma(1, h)
			}
			z := h / spread
			q, term := upperGamma(shape, z), gammaTerm(shape, z, logGamma)
			q3 := q + term*(1+z/(shape+1)*(1+z/(shape+2)))
			return max(0, whole*q3-spread*spread*z*z*z/(3*shape)*q)
		},
	}
}

// tilt is how the overshoot depends on when a level was passed: early, the
// meter came from farther below. Just below the level, z in spreads, the
// density of a meter with a gamma shape rises as exp(-tilt·hours).
func tilt(shape, z float64) float64 { return min(max(1-(shape-1)/z, -3), 0.9) }

// tilted is the law of the overshoot at the end of a day of a shape, where the
// density below the level is tilted: with f the law of the day's hours,
// P(O > o) ~ ∫ exp(tilt·u) P(Z > u+o) du over u > 0, which has the form below.
type tilted struct {
	shape, spread, tilt float64
	factor              float64 // mean of exp(tilt·hours) over a day, hours in spreads
	plain               *plainTail
}

// plainTail is Q of a day's shape for the bounds last asked for: they stay the
// same while the tilt changes.
type plainTail struct{ z, q [2]float64 }

func (p *plainTail) at(shape, z float64) float64 {
	for i := range p.z {
		if p.z[i] == z {
			return p.q[i]
		}
	}
	p.z[1], p.q[1] = p.z[0], p.q[0]
	p.z[0], p.q[0] = z, upperGamma(shape, z)
	return p.q[0]
}

// gentle is a tilt that makes no difference.
const gentle = 1e-3

func (t tilted) survival(h float64) float64 {
	switch {
	case h <= 0:
		return 1
	case math.IsInf(h, 1):
		return 0
	}
	z, c := h/t.spread, t.factor
	p := (c*math.Exp(-t.tilt*z)*upperGamma(t.shape, (1-t.tilt)*z) - t.plain.at(t.shape, z)) / (c - 1)
	return min(max(p, 0), 1)
}

// shift is by how many hours the mean is more than without the tilt.
func (t tilted) shift() float64 {
	if math.Abs(t.tilt) < gentle {
		return 0
	}
	return t.spread * (1/t.tilt - t.shape/(t.factor-1) - (1+t.shape)/2)
}

// part is the law of a gain known to be at least floor and below ceiling.
func (j jump) part(floor, ceiling float64) jump {
	floor = max(floor, 0)
	below, above := j.survival(floor), j.survival(ceiling)
	whole := below - above
	if floor == 0 && above < leastTap || !(whole > leastTap*leastTap) {
		return j
	}
	beyondFloor, beyondCeiling := j.excess(floor), j.excess(ceiling)
	// cut is the mean of what exceeds h, of gains beyond a bound only.
	cut := func(h, bound, beyond, prob float64) float64 {
		if h >= bound || math.IsInf(bound, 1) {
			return 0
		}
		return beyond + (bound-h)*prob
	}
	excess := func(h float64) float64 {
		if h >= ceiling {
			return 0
		}
		all := cut(h, floor, beyondFloor, below)
		if h >= floor {
			all = j.excess(h)
		}
		return max(0, all-cut(h, ceiling, beyondCeiling, above)) / whole
	}
	mean := excess(0)
	square := (j.square(floor) - j.square(ceiling)) / whole
	return jump{mean: mean, variance: max(0, square-mean*mean), excess: excess}
}

// moved is a law moved by a part of a cell, its variance kept (Lagrange).
func (t taps) moved(a *arena, cells float64) taps {
	if cells == 0 {
		return t
	}
	f := min(max(cells, -1), 1)
	out := taps{low: t.low - 1, prob: a.floats(len(t.prob) + 2)}
	n := len(t.prob)
	addScaled(out.prob[:n], t.prob, f*(f-1)/2)
	addScaled(out.prob[1:n+1], t.prob, 1-f*f)
	addScaled(out.prob[2:], t.prob, f*(f+1)/2)
	return out
}

// taps is a law on the points low·cell, (low+1)·cell, …
type taps struct {
	low  int
	prob []float64
}

// mostCells bounds the cells of one law, whatever the numbers.
const mostCells = 1 << 14

// onCells puts the law of offset + jump on multiples of the cell so that the
// mean stays: each value goes to the two cells around it.
func (j jump) onCells(offset, cell float64) taps {
	first := int(math.Floor(offset / cell))
	at := func(k int) float64 { return j.excess(float64(k)*cell - offset) }
	t := taps{low: first, prob: make([]float64, 0, 64)}
	before, here := at(first-1), at(first)
	sum := 0.0
	for k := first; k < first+mostCells && before > leastTap*cell; k++ {
		after := at(k + 1)
		switch p := max(0, (before-2*here+after)/cell); {
		case len(t.prob) > 0 || p > leastTap/10:
			t.prob = append(t.prob, p)
			sum += p
		default:
			t.low = k + 1
		}
		before, here = here, after
	}
	// What is left beyond the last cell, and what was left out before the
	// first, goes to the last.
	if rest := 1 - sum; len(t.prob) == 0 {
		t.prob = []float64{1}
	} else {
		t.prob[len(t.prob)-1] += rest
	}
	return t.sharpen(t.variance() - j.variance/(cell*cell))
}

// lawTables holds laws of hours on cells by shape and cell, in spreads: for
// shapes of a geometric grid; one between is mixed of the two around it so
// that the mean stays.
type lawTables struct {
	of    func(shape, spread float64) jump
	byKey sync.Map // lawKey to gridLaw
	size  *atomic.Int64
}

type lawKey struct {
	step int // power of lawRatio
	cell float64
}

const lawRatio, leastShape = 1.04, 1e-6

var logLawRatio = math.Log(lawRatio)

// gridLaw is a law of hours on cells, of a shape.
type gridLaw struct {
	taps
	shape float64
}

func (s *lawTables) at(a *arena, shape, cell float64) taps {
	if !(shape > leastShape) {
		return taps{prob: []float64{1}}
	}
	step := int(math.Floor(math.Log(shape) / logLawRatio))
	p, q := s.onGrid(lawKey{step, cell}), s.onGrid(lawKey{step + 1, cell})
	up := (shape - p.shape) / (q.shape - p.shape)
	first, last := min(p.low, q.low), max(p.low+len(p.prob), q.low+len(q.prob))
	mixed := taps{low: first, prob: a.floats(last - first)}
	addScaled(mixed.prob[p.low-first:p.low-first+len(p.prob)], p.prob, 1-up)
	addScaled(mixed.prob[q.low-first:q.low-first+len(q.prob)], q.prob, up)
	return mixed
}

func (s *lawTables) onGrid(key lawKey) *gridLaw {
	if t, ok := s.byKey.Load(key); ok {
		return t.(*gridLaw)
	}
	made := &gridLaw{shape: math.Pow(lawRatio, float64(key.step))}
	made.taps = s.of(made.shape, 1).onCells(0, key.cell)
	t, _ := s.byKey.LoadOrStore(key, made)
	s.size.Add(int64(len(made.prob)))
	return t.(*gridLaw)
}

// sharpen takes back the variance, in squares of cells, that the cells added
// to a law: a little of each cell's mass is taken off its neighbours and put
// on it (the reverse of Sheppard's correction). Next to a steep edge a cell
// may end slightly below zero; sums come out right.
func (t taps) sharpen(added float64) taps {
	c := added / 2
	if !(c > leastTap) {
		return t
	}
	sharp := taps{low: t.low - 1, prob: make([]float64, len(t.prob)+2)}
	for i, p := range t.prob {
		sharp.prob[i] -= c * p
		sharp.prob[i+1] += (1 + 2*c) * p
		sharp.prob[i+2] -= c * p
	}
	return sharp
}

// variance is in squares of cells.
func (t taps) variance() float64 {
	var mean, square float64
	for i, p := range t.prob {
		mean += float64(i) * p
		square += float64(i*i) * p
	}
	return square - mean*mean
}
