package forecast

import "math"

// landExact takes a front with one x to where it becomes due by hours.
func (s *step) landExact(t trigger) {
	x, level := s.front.exact, t.level[0]
	passed := s.floats(len(s.lat.points))
	heldMass := 0.0
	for i, mass := range s.front.cells.mass {
		if math.Abs(mass) < leastCell {
			continue
		}
		at := s.start(i)
		steps, held := s.passing(at, level, s.dateOf(at).step)
		heldMass += mass * held
		for j, q := range steps {
			passed[at.from+j] += mass * q
		}
	}
	choose := s.chooser(t.service, false)
	limit := x + max(level, 0)
	s.landAt(choose, passed, between{s.over, limit, limit, math.Inf(1), true})
	if heldMass > 0 {
		at := s.start(0)
		s.landHeld(choose, heldMass, between{gain(s.shape(at.hold)-at.shape, s.spread), x, x + level, math.Inf(1), false})
	}
}

// between is the law of x as from plus a gain, given that it lies from floor
// up to ceiling.
type between struct {
	gain                 jump
	from, floor, ceiling float64
	overshoot            bool // the gain is the walk's overshoot
}

// above is the probability, without the condition, that x is at least a value
// and below the ceiling.
func (b between) above(x float64) float64 {
	return max(0, b.gain.survival(x-b.from)-b.gain.survival(b.ceiling-b.from))
}

// landAt spreads mass that became due by step, with a law of x, over the jobs
// that may be chosen.
func (s *step) landAt(choose *chooser, mass []float64, law between) {
	var parts []portion
	state := -1
	for p, q := range mass {
		if math.Abs(q) < leastCell {
			continue
		}
		if now := choose.stateAt(p); now != state {
			parts, state = s.portions(choose, p, law), now
		}
		for _, part := range parts {
			to := s.pool(s.due, part.job)
			part.add(to, to.cells.row(p), q)
		}
	}
}

// landHeld is landAt for mass due on the hold day.
func (s *step) landHeld(choose *chooser, mass float64, law between) {
	for _, part := range s.portions(choose, s.start(0).from-1, law) {
		to := s.pool(s.due, part.job)
		part.add(to, to.cells.row(s.held()), mass)
	}
}

// portion is one job's share of mass with a law of x, and x on cells.
type portion struct {
	job   int
	share float64
	x     taps
}

func (q portion) add(to *pool, row []float64, mass float64) {
	if !to.tracked {
		row[0] += mass * q.share
		return
	}
	for k, prob := range q.x.prob {
		row[min(max(q.x.low+k-to.cells.low, 0), len(row)-1)] += mass * q.share * prob
	}
}

// portions divides a law of x between a job and what may take its place. The
// shares are exact; x within each is on cells where anything depends on it.
func (s *step) portions(choose *chooser, p int, law between) []portion {
	whole := law.above(law.floor)
	if !(whole > 0) {
		one := taps{low: int(math.Round(law.floor / s.cell)), prob: []float64{1}}
		return []portion{{job: choose.job, share: 1, x: one}}
	}
	var all []portion
	top := law.ceiling
	for i := 0; i <= len(choose.candidates); i++ {
		job, bottom := choose.job, law.floor
		if i < len(choose.candidates) {
			job = choose.candidates[i].job
			bottom = min(max(law.floor, choose.candidates[i].takes(p)), law.ceiling)
		}
		share := law.above(bottom) - law.above(top)
		if share > 0 && bottom < top {
			part := portion{job: job, share: share / whole}
			if s.needsX(job) {
				part.x = s.onCells(law, bottom, top)
			}
			all = append(all, part)
		}
		top = min(top, bottom)
	}
	return all
}

// onCells is a law of x, known to lie from bottom to below top, on cells.
func (s *step) onCells(law between, bottom, top float64) taps {
	cells := law.from / s.cell
	whole := math.Round(cells)
	if law.overshoot && bottom <= law.from && math.Abs(cells-whole) < 1e-9 && law.gain.survival(top-law.from) < leastTap {
		x := s.overshoots()
		return taps{low: x.low + int(whole), prob: x.prob}
	}
	return law.gain.part(bottom-law.from, top-law.from).onCells(law.from, s.cell)
}

// takes is the x from which a candidate whose clock is known takes the place.
func (k candidate) takes(p int) float64 {
	if p >= k.near {
		return math.Inf(-1)
	}
	if k.read.slope == 0 || math.IsInf(k.read.from, -1) {
		return math.Inf(1)
	}
	return (k.need - k.read.from) / k.read.slope
}
