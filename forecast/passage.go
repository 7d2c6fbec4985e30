package forecast

import (
	"math"
	"sync"
	"sync/atomic"

	"gonum.org/v1/gonum/mathext"
)

// upperGamma is Q(a, x), the regularised upper incomplete gamma function: the
// probability that a gamma number of shape a and scale 1 exceeds x. Shape 0
// is the number 0; a limit at or below 0 is always passed.
func upperGamma(a, x float64) float64 {
	switch {
	case x <= 0:
		return 1
	case !(a > 0) || math.IsInf(x, 1):
		return 0
	}
	return mathext.GammaIncRegComp(a, x)
}

// Passage is the probability that a meter which runs hoursPerWeek on average
// has gained at least level after tau season-weighted weeks, its gain being a
// gamma process with variance spread times its mean (van Noortwijk 2009, "A
// survey of the application of gamma processes in maintenance").
func Passage(hoursPerWeek float64, spread, level Hours, tau Weeks) float64 {
	if level <= 0 {
		return 1
	}
	if !(hoursPerWeek > 0 && spread > 0 && tau > 0) {
		return 0
	}
	return upperGamma(hoursPerWeek*float64(tau)/float64(spread), float64(level/spread))
}

// passageTable holds Q(a, x) over a for one x as polynomials of degree five
// between equally spaced shapes. Walking up a ladder asks for thousands of
// values of few x; the table is some hundred times faster than the function
// and within 1e-9 of it.
type passageTable struct {
	x, low, perCell float64
	cells           [][6]float64
	start           int // first cell with more than next to nothing
}

// tableReach is how many standard deviations around x the table covers, and
// tableStep the cell in the same measure; the test of the table's error holds
// the second in place.
const tableReach, tableStep = 9, 0.06

func newPassageTable(x float64) *passageTable {
	scale := math.Sqrt(x)
	low := max(0, x-tableReach*scale-2)
	high := x + tableReach*scale + 20
	step := tableStep * max(scale, 0.5)
	if low == 0 {
		step /= 2 // near shape 0 the polynomials have values on one side only
	}
	per := math.Ceil(1 / step)
	if step < 1 {
		step = 1 / per
	}
	n := int(math.Ceil((high-low)/step)) + 1
	values := make([]float64, n+6)
	rising := newRising(low, x, int(per))
	for i := range values {
		if step < 1 {
			values[i] = rising.next()
		} else {
			values[i] = upperGamma(low+float64(i)*step, x)
		}
	}
	t := &passageTable{x: x, low: low, perCell: 1 / step, cells: make([][6]float64, n)}
	for i := range t.cells {
		if values[i] < nearlyOne/100 {
			t.start = i
		}
		first := max(0, i-2)
		t.cells[i] = quintic([6]float64(values[first:first+6]), float64(i-first))
	}
	return t
}

// at is Q(a, x).
func (t *passageTable) at(a float64) float64 {
	u := (a - t.low) * t.perCell
	if !(u > 0) {
		return 0
	}
	i := int(u)
	if i >= len(t.cells) {
		return 1
	}
	c := &t.cells[i]
	u -= float64(i)
	q := c[0] + u*(c[1]+u*(c[2]+u*(c[3]+u*(c[4]+u*c[5]))))
	return min(max(q, 0), 1)
}

// along sets out[k] to Q(shapes[k] - from, x) for rising shapes, up to the
// first value that is nearly 1, and returns those set.
func (t *passageTable) along(out, shapes []float64, from float64) []float64 {
	out = out[:len(shapes)]
	last := len(t.cells)
	for k, shape := range shapes {
		u := (shape - from - t.low) * t.perCell
		i := int(u)
		switch {
		case !(u > 0) || i < t.start:
			out[k] = 0
			continue
		case i >= last:
			out[k] = 1
			return out[:k+1]
		}
		c := &t.cells[i]
		u -= float64(i)
		q := c[0] + u*(c[1]+u*(c[2]+u*(c[3]+u*(c[4]+u*c[5]))))
		if q >= 1-nearlyOne {
			out[k] = 1
			return out[:k+1]
		}
		out[k] = max(q, 0)
	}
	return out
}

// nearlyOne is how much may be missing to a passage that counts as certain.
const nearlyOne = 1e-6

// quintic is the polynomial in u through y at u = -origin, 1-origin, …,
// 5-origin, lowest coefficient first: Newton's divided differences, expanded.
func quintic(y [6]float64, origin float64) [6]float64 {
	for order := 1; order < 6; order++ {
		for i := 5; i >= order; i-- {
			y[i] = (y[i] - y[i-1]) / float64(order)
		}
	}
	var c [6]float64
	for i := 5; i >= 0; i-- {
		node := float64(i) - origin
		for k := 5; k > 0; k-- {
			c[k] = c[k-1] - node*c[k]
		}
		c[0] = y[i] - node*c[0]
	}
	return c
}

// passageTables makes each table once; safe for concurrent use. What a table
// holds depends on its key alone, never on who asked first.
type passageTables struct {
	byLevel    sync.Map // float64 to *passageTable
	gains      lawTables
	overshoots lawTables
	fields     fields
	size       atomic.Int64 // numbers in all tables, about
}

func newPassageTables() *passageTables {
	s := &passageTables{gains: lawTables{of: gain}, overshoots: lawTables{of: overshoot}}
	s.gains.size, s.overshoots.size, s.fields.size = &s.size, &s.size, &s.size
	return s
}

// kept are the tables that one call leaves to the next: units of one spread and
// ladder ask for the same ones again and again.
var kept atomic.Pointer[passageTables]

// mostKept is how many numbers are kept from one call to the next, 16 MiB.
const mostKept = 2 << 20

func keptTables() *passageTables {
	if s := kept.Load(); s != nil {
		return s
	}
	s := newPassageTables()
	if kept.CompareAndSwap(nil, s) {
		return s
	}
	return keptTables()
}

// trim gives the tables up where there are more than to be kept.
func (s *passageTables) trim() {
	if s.size.Load() > mostKept {
		kept.CompareAndSwap(s, nil)
	}
}

func (s *passageTables) at(x float64) *passageTable {
	if t, ok := s.byLevel.Load(x); ok {
		return t.(*passageTable)
	}
	made := newPassageTable(x)
	t, _ := s.byLevel.LoadOrStore(x, made)
	s.size.Add(int64(6 * len(made.cells)))
	return t.(*passageTable)
}
