package forecast

import (
	"math"
	"slices"
)

// Masses so small that leaving them out changes no figure that is printed:
// what follows a job, one cell of a front, one value of a law of hours.
const (
	leastFront = 1e-4
	leastCell  = 1e-7
	leastRun   = 3e-5
	leastTap   = 1e-5
)

// walk follows one strand of one unit from what is known of it through every
// order of jobs that can come about before the horizon.
type walk struct {
	*arena
	strand *strand
	cal    *Calendar
	first  *grid // of fronts at an instant
	later  *grid // of those that a job leads to
	tables *passageTables
	future *Future
	stages int
	ahead  []*front // stages still to be walked on from

	source  Source
	capture float64
	rate    float64   // hours a week
	spread  float64   // hours
	again   float64   // probability that a unit that is due waits another week
	over    jump      // overshoot at the end of the day of a passage
	plain   plainTail // of a day, see tilted
}

// run walks on from stage to stage, always from one that no other can lead
// to any more.
func (w *walk) run() {
	for len(w.ahead) > 0 {
		next := 0
		for i, f := range w.ahead {
			if w.strand.before(f.count, w.ahead[next].count) {
				next = i
			}
		}
		f := w.ahead[next]
		w.ahead = slices.Delete(w.ahead, next, next+1)
		w.follow(f)
	}
}

// follow adds the rungs of all jobs that may come next after a front.
func (w *walk) follow(f *front) {
	for _, part := range w.classes(f) {
		w.next(part)
	}
}

// mostClasses is into how many parts a front is split at most, and classCells
// how many cells of standard deviation call for one more.
const mostClasses, classCells = 5, 3

// classes splits a front by x where a later job will leave one of the clocks
// that now stand at zero running, so that the clock is known then: it counts
// from about this x.
func (w *walk) classes(f *front) []*front {
	lowest := w.strand.widening[0]
	var keep []int
	for i, h := range f.hands {
		if h.kind == zero && i != lowest {
			keep = append(keep, i)
		}
	}
	if !f.tracked || len(keep) == 0 {
		return []*front{f}
	}
	cell := w.gridOf(f).cell
	_, variance := f.moments(cell)
	n := min(mostClasses, 1+int(math.Sqrt(variance)/(classCells*cell)))
	columns := make([]float64, f.cells.cols)
	for i := range f.cells.rows() {
		addTo(columns, f.cells.row(i))
	}
	whole, sum, first := total(columns), 0.0, 0
	var parts []*front
	for c, q := range columns {
		sum += q
		if c < len(columns)-1 && sum < whole*float64(len(parts)+1)/float64(n) {
			continue
		}
		part := *f
		part.cells = w.block(f.cells.rows(), f.cells.low+first, c+1-first)
		for i := range f.cells.rows() {
			copy(part.cells.row(i), f.cells.row(i)[first:c+1])
		}
		part.hands = slices.Clone(f.hands)
		mean, _ := part.moments(cell)
		for _, i := range keep {
			part.hands[i].anchor, part.hands[i].anchored = mean, true
		}
		parts = append(parts, &part)
		first = c + 1
	}
	return parts
}

func (w *walk) next(f *front) {
	s := w.outlook(f)
	if s == nil {
		return
	}
	s.becomeDue()
	s.comeIn()
	for service, v := range s.visits {
		if v != nil && total(v.done) >= leastFront {
			w.add(s, service, v)
		}
	}
}

// add lists the rung of a job and puts its front with those ahead, as one
// with a front that is the same but for its mass.
func (w *walk) add(s *step, service int, v *pool) {
	next := &front{
		tracked: v.tracked, count: slices.Clone(s.front.count), hands: make([]hand, len(s.front.hands)),
	}
	s.lat.sharpen(w.arena, v.cells)
	if s.grid != w.later {
		v.cells = w.carry(v.cells, v.tracked)
	}
	next.cells, next.first = v.cells.fit(w.arena)
	for i, q := range v.done {
		v.done[i] = max(q, 0)
	}
	mean, variance := s.gain(true)
	for i, h := range s.front.hands {
		next.hands[i] = h.later(mean, variance)
		next.hands[i].limit, next.hands[i].fresh = s.limit(i), false
	}
	w.restart(next, service)
	next.stage = w.join(next)
	var ids []int
	if w.strand.own[service] {
		ids = []int{w.strand.services[service].ID}
	}
	w.future.Rungs = append(w.future.Rungs, Rung{
		After: s.front.stage, Stage: next.stage, Services: ids, Source: w.source, Capture: w.capture, Done: v.done,
	})
}

// join adds a front to those ahead and returns its stage.
func (w *walk) join(f *front) int {
	for _, g := range w.ahead {
		if g.instant == nil && g.tracked == f.tracked && g.exact == f.exact &&
			slices.Equal(g.count, f.count) && slices.Equal(g.hands, f.hands) {
			g.cells, g.first = w.merge(g.cells, g.first, f.cells, f.first)
			return g.stage
		}
	}
	w.stages++
	f.stage = w.stages - 1
	if f.cells.mass != nil {
		w.ahead = append(w.ahead, f)
	}
	return f.stage
}

// merge adds two blocks whose rows start at lattice points p and q.
func (w *walk) merge(a block, p int, b block, q int) (block, int) {
	if a.mass == nil {
		return b, q
	}
	if b.mass == nil {
		return a, p
	}
	first, last := min(p, q), max(p+a.rows(), q+b.rows())
	low, high := min(a.low, b.low), max(a.low+a.cols, b.low+b.cols)
	sum := w.block(last-first, low, high-low)
	for i := range a.rows() {
		addTo(sum.row(p - first + i)[a.low-low:], a.row(i))
	}
	for i := range b.rows() {
		addTo(sum.row(q - first + i)[b.low-low:], b.row(i))
	}
	return sum, first
}

func addTo(out, p []float64) {
	for i, q := range p {
		out[i] += q
	}
}

// restart sets to zero what a job of the service does. Where that is every
// service of the strand the hours start afresh too.
func (w *walk) restart(f *front, service int) {
	f.count[service]++
	for _, i := range w.strand.below[service] {
		f.hands[i] = hand{kind: zero, fresh: true, limit: never}
		if i != service {
			f.count[i] = 0
		}
	}
	if len(w.strand.below[service]) < len(f.hands) {
		return
	}
	f.tracked, f.exact = false, w.align(0)
	for i := range f.hands {
		f.hands[i] = hand{kind: known, from: -f.exact, fresh: true, limit: never}
	}
}

// align is the x at which to start, from 0 to below a cell, with the widest
// service of the strand at so many hours: its limit then is a whole number of
// cells, for which tables are at hand.
func (w *walk) align(hours float64) float64 {
	x := math.Mod(hours-float64(w.strand.services[w.strand.widest()].Every), w.later.cell)
	if x < 0 {
		x += w.later.cell
	}
	return x
}

// shape is the gamma shape of the hours of so many season-weighted weeks.
func (w *walk) shape(tau float64) float64 { return w.rate * tau / w.spread }
