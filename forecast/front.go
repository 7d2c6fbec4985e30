package forecast

import "math"

// hand is where the clock of one service stands at a front, told by the
// hours x that the meter gained since the front's origin.
type hand struct {
	kind     handKind
	from     float64 // known: the clock shows from + x
	mean     float64 // estimated: its mean, its covariance with x, its variance
	cov      float64
	vary     float64
	anchor   float64 // zero, anchored: the x at which it was restarted
	anchored bool
	fresh    bool    // restarted by the front's job: its calendar limit counts from there
	limit    float64 // else the instant of its calendar limit, never if none
}

type handKind int

const (
	known     handKind = iota // runs since the origin or before
	zero                      // restarted by the front's own job
	estimated                 // restarted in between: its moments are known
)

// later is the hand after a gain of hours with the given moments, its service
// not having been done.
func (h hand) later(mean, variance float64) hand {
	switch {
	case h.kind == known:
		return h
	case h.anchored:
		return hand{kind: known, from: -h.anchor, fresh: h.fresh, limit: h.limit}
	}
	return hand{
		kind: estimated, mean: h.mean + mean, cov: h.cov + variance, vary: h.vary + variance,
		fresh: h.fresh, limit: h.limit,
	}
}

// reading is a hand as a line in x, from + slope·x, give or take blur.
type reading struct{ from, slope, blur float64 }

// read turns a hand into a line; one that is estimated by regression on x,
// which has the given moments.
func (h hand) read(mean, variance float64) reading {
	switch {
	case h.kind == known:
		return reading{from: h.from, slope: 1}
	case h.kind == zero:
		return reading{}
	case variance < 1e-12:
		return reading{from: h.mean, blur: math.Sqrt(h.vary)}
	}
	slope := h.cov / variance
	return reading{
		from:  h.mean - slope*mean,
		slope: slope,
		blur:  math.Sqrt(max(0, h.vary-h.cov*slope)),
	}
}

// front is where all ways to one stage end: when its job is done and what
// the meter then shows, jointly. What follows starts from here.
type front struct {
	stage int    // the stage, -1 for the unit as it stands
	count []int  // how often each service was done, less what a wider one swept away
	hands []hand // of the strand's services
	first int    // lattice point of the first row of cells
	cells block  // mass by start (row) and hours x (column)
	// tracked tells that columns are multiples of the cell of hours; else
	// there is one column, at exact.
	tracked bool
	exact   float64
	instant *instant // for a front at one instant: the unit as it stands, a booking
}

// instant is a start off the lattice. Nothing becomes due by itself before
// hold: what is due by then is due on that day.
type instant struct {
	at   float64
	hold Day
}

// block is mass in rows, each a run of columns from low on.
type block struct {
	low, cols int
	mass      []float64
}

func (a *arena) block(rows, low, cols int) block {
	return block{low: low, cols: cols, mass: a.floats(rows * cols)}
}

func (b block) rows() int { return len(b.mass) / b.cols }

func (b block) row(i int) []float64 { return b.mass[i*b.cols : (i+1)*b.cols] }

// total and weight add by twos: one sum waits for each addition.
func total(p []float64) float64 {
	var even, odd float64
	for ; len(p) >= 2; p = p[2:] {
		even += p[0]
		odd += p[1]
	}
	if len(p) > 0 {
		even += p[0]
	}
	return even + odd
}

// weight is how much mass there is, regardless of sign.
func weight(p []float64) float64 {
	var even, odd float64
	for ; len(p) >= 2; p = p[2:] {
		even += math.Abs(p[0])
		odd += math.Abs(p[1])
	}
	if len(p) > 0 {
		even += math.Abs(p[0])
	}
	return even + odd
}

// fit cuts rows and columns with next to nothing in them from all four
// sides; it returns how many rows went at the start.
func (b block) fit(a *arena) (block, int) {
	top, bottom, left, right := b.rows(), -1, b.cols, -1
	for i := 0; i < b.rows(); i++ {
		for c, q := range b.row(i) {
			if math.Abs(q) > leastCell {
				top, bottom = min(top, i), max(bottom, i)
				left, right = min(left, c), max(right, c)
			}
		}
	}
	if bottom < 0 {
		return block{cols: 1}, 0
	}
	cut := a.block(bottom-top+1, b.low+left, right-left+1)
	for i := range cut.rows() {
		copy(cut.row(i), b.row(top + i)[left:right+1])
	}
	return cut, top
}

// moments are the mean and variance of x over the front.
func (f *front) moments(cell float64) (mean, variance float64) {
	if !f.tracked {
		return f.exact, 0
	}
	var sum, first, second float64
	for i := range f.cells.rows() {
		for c, q := range f.cells.row(i) {
			x := float64(f.cells.low+c) * cell
			sum += q
			first += q * x
			second += q * x * x
		}
	}
	if sum == 0 {
		return 0, 0
	}
	mean = first / sum
	return mean, max(0, second/sum-mean*mean)
}

// most is the greatest x of the front.
func (f *front) most(cell float64) float64 {
	if !f.tracked {
		return f.exact
	}
	return float64(f.cells.low+f.cells.cols-1) * cell
}
