package forecast

import "math"

// landDated takes what no hours made due in time to the calendar limits.
func (s *step) landDated() {
	front := s.front.cells
	for i := range front.rows() {
		at := s.start(i)
		d := s.dateOf(at)
		if d.service < 0 || weight(front.row(i)) < leastCell {
			continue
		}
		shape := max(0, s.shape(s.lat.cal.since(float64(d.day)))-at.shape)
		choose := s.chooser(d.service, false)
		wait, rest := s.wait(at), s.floats(front.cols)
		copy(rest, front.row(i))
		for _, t := range s.triggers {
			for k, col := range t.cols {
				mass := front.row(i)[col] * t.weight[k]
				rest[col] -= mass
				if math.Abs(mass) >= leastCell {
					s.land(choose, d.day, mass*s.short(at, t.level[k], wait), col, t.level[k], shape)
				}
			}
		}
		for col, mass := range rest {
			s.land(choose, d.day, mass, col, math.Inf(1), shape)
		}
	}
}

// short is the probability that a meter does not pass a level in a wait.
func (s *step) short(at start, level float64, wait []float64) float64 {
	if level <= s.cell*leastCell {
		return 0
	}
	law, passed := s.lawOf(level), 0.0
	if at.held > at.shape {
		passed = law.at(at.held - at.shape)
	}
	if at.from < len(wait) {
		passed = max(passed, law.at(wait[len(wait)-1]-at.shape))
	}
	if passed >= 1-nearlyOne {
		return 0
	}
	return 1 - passed
}

// land makes mass of one column due on a day, its gain of a shape being known
// to lie below the level.
func (s *step) land(choose *chooser, day Day, mass float64, col int, level, shape float64) {
	if math.Abs(mass) < leastCell {
		return
	}
	at := when{day: day, known: true}
	if len(choose.candidates) == 0 && !s.needsX(choose.job) {
		s.row(s.pool(s.due, choose.job), at)[0] += mass
		return
	}
	law := gain(shape, s.spread)
	if !s.front.tracked {
		x := s.front.exact
		s.landOn(choose, at, mass, between{law, x, x, x + level, false})
		return
	}
	x := law.part(0, level).onCells(0, s.cell)
	row := s.wide(len(x.prob))
	addScaled(row, x.prob, mass)
	s.settle(choose, at, s.front.cells.low+col+x.low, row)
}
