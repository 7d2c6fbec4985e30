package forecast

import "math"

// landExact takes a front with one x to where it becomes due by hours.
func (s *step) landExact(t trigger) {
	x, level := s.front.exact, t.level[0]
	passed, shapes := s.floats(len(s.lat.points)), s.floats(len(s.lat.points))
	held := 0.0
	for i, mass := range s.front.cells.mass {
		if math.Abs(mass) < leastCell {
			continue
		}
		at := s.start(i)
		steps, byHold := s.passing(at, level, s.wait(at))
		held += mass * byHold
		addScaled(passed[at.from:at.from+len(steps)], steps, mass)
		for j, q := range steps {
			shapes[at.from+j] += mass * q * s.onTheWay(at, at.from+j)
		}
	}
	choose := s.chooser(t.service, false)
	limit := x + max(level, 0)
	s.landAt(choose, passed, shapes, level, between{s.over, limit, limit, math.Inf(1), true})
	if held > 0 {
		at := s.start(0)
		law := between{gain(at.held-at.shape, s.spread), x, x + level, math.Inf(1), false}
		s.landOn(choose, s.holdDay(), held, law)
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

// landAt spreads mass that became due by step, with the shapes of the way to
// it and the overshoot as law of x, over the jobs that may be chosen.
func (s *step) landAt(choose *chooser, mass, shapes []float64, level float64, law between) {
	if len(choose.candidates) == 0 && !s.needsX(choose.job) {
		addTo(s.pool(s.due, choose.job).cells.mass, mass)
		return
	}
	x := map[int]taps{}
	var t tilted
	plain, steep := law.gain.survival, func(hours float64) float64 { return t.survival(hours) }
	for p, q := range mass {
		if math.Abs(q) < leastCell {
			continue
		}
		t = s.tiltOf(shapes[p]/q, level)
		law.gain.survival = plain
		if math.Abs(t.tilt) > gentle {
			law.gain.survival = steep
		}
		moved := t.shift() / s.cell
		for _, part := range s.portions(choose, when{step: p}, law) {
			to := s.pool(s.due, part.job)
			if to.tracked {
				if _, made := x[part.job]; !made {
					x[part.job] = s.onCells(between{s.over, law.from, law.floor, law.ceiling, true}, part.bottom, part.top)
				}
				part.x = x[part.job].moved(s.arena, moved)
			}
			part.add(to, to.cells.row(p), q)
		}
	}
}

// landOn is landAt for mass due from one day on.
func (s *step) landOn(choose *chooser, at when, mass float64, law between) {
	for _, part := range s.portions(choose, at, law) {
		to := s.pool(s.due, part.job)
		if to.tracked {
			part.x = s.onCells(law, part.bottom, part.top)
		}
		part.add(to, s.row(to, at), mass)
	}
}

// portion is one job's share of mass with a law of x: the part of it from
// bottom to top, or where a calendar limit decides a share of all.
type portion struct {
	job         int
	share       float64
	bottom, top float64
	x           taps
}

func (q portion) add(to *pool, row []float64, mass float64) {
	if !to.tracked {
		row[0] += mass * q.share
		return
	}
	if at := q.x.low - to.cells.low; at >= 0 && at+len(q.x.prob) <= len(row) {
		addScaled(row[at:at+len(q.x.prob)], q.x.prob, mass*q.share)
		return
	}
	for k, prob := range q.x.prob {
		row[min(max(q.x.low+k-to.cells.low, 0), len(row)-1)] += mass * q.share * prob
	}
}

// portions divides a law of x between a job and what may take its place; the
// answer holds until the next call.
func (s *step) portions(choose *chooser, at when, law between) []portion {
	whole := law.above(law.floor)
	all := s.portioned[:0]
	if !(whole > 0) {
		return append(all, portion{job: choose.job, share: 1, bottom: law.floor, top: law.ceiling})
	}
	top, beyondTop, left := law.ceiling, 0.0, 1.0
	for _, k := range choose.candidates {
		decided := left * s.decided(k, at)
		if share := decided * (whole - beyondTop) / whole; share > 0 {
			all = append(all, portion{job: k.job, share: share, bottom: law.floor, top: top})
		}
		left -= decided
		bottom := min(max(law.floor, k.takes()), top)
		beyond := beyondTop
		if left > 0 && bottom < top {
			beyond = whole
			if bottom > law.floor {
				beyond = law.above(bottom)
			}
		}
		if share := left * (beyond - beyondTop) / whole; share > 0 {
			all = append(all, portion{job: k.job, share: share, bottom: bottom, top: top})
		}
		top, beyondTop = bottom, beyond
	}
	if share := left * (whole - beyondTop) / whole; share > 0 {
		all = append(all, portion{job: choose.job, share: share, bottom: law.floor, top: top})
	}
	s.portioned = all
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

// takes is the x from which a candidate whose clock is known takes the place
// by its hours.
func (k candidate) takes() float64 {
	if k.read.slope == 0 || math.IsInf(k.read.from, -1) {
		return math.Inf(1)
	}
	return (k.need - k.read.from) / k.read.slope
}
