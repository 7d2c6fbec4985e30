package forecast

import "math"

// jump is the law of the hours a meter gains: between two instants, or beyond
// a limit by the end of the day on which it passes the limit.
type jump struct {
	mean     float64
	survival func(hours float64) float64 // probability of more than hours
	excess   func(hours float64) float64 // mean of what exceeds hours, 0 below
}

// gain is the law of a gamma number of a shape and scale (the spread).
func gain(shape, spread float64) jump {
	mean := shape * spread
	return jump{
		mean:     mean,
		survival: func(h float64) float64 { return upperGamma(shape, h/spread) },
		excess: func(h float64) float64 {
			if h <= 0 {
				return mean - h
			}
			z := h / spread
			return spread * (shape*upperGamma(shape+1, z) - z*upperGamma(shape, z))
		},
	}
}

// overshoot is the law of the hours by which the meter stands beyond a far
// limit at the end of the day on which it passed it, the day's hours being
// gamma of the given shape: the stationary excess of that law, with mean
// (1+shape)/2 times the spread (Cox 1962, "Renewal theory", chapter 5). As
// the shape goes to 0 the mean becomes the spread/2 of a gamma process.
func overshoot(shape, spread float64) jump {
	shape = max(shape, 1e-6) // a meter that hardly runs: the limit law
	q := func(more int, z float64) float64 { return upperGamma(shape+float64(more), z) }
	mean := spread * (1 + shape) / 2
	return jump{
		mean: mean,
		survival: func(h float64) float64 {
			if h <= 0 {
				return 1
			}
			z := h / spread
			return max(0, q(1, z)-z/shape*q(0, z))
		},
		excess: func(h float64) float64 {
			if h <= 0 {
				return mean - h
			}
			z := h / spread
			return max(0, spread/2*((shape+1)*q(2, z)-2*z*q(1, z)+z*z/shape*q(0, z)))
		},
	}
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
	t := taps{low: first}
	before, here := at(first-1), at(first)
	sum := 0.0
	for k := first; k < first+mostCells && here > leastTap*cell; k++ {
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
	return t
}
