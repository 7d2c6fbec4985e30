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
		rest := s.floats(front.cols)
		copy(rest, front.row(i))
		for _, t := range s.triggers {
			for k, col := range t.cols {
				mass := front.row(i)[col] * t.weight[k]
				steps, held := s.passing(at, t.level[k], d)
				s.land(choose, d.day, mass*max(0, 1-held-total(steps)), col, t.level[k], shape)
				rest[col] -= mass
			}
		}
		for col, mass := range rest {
			s.land(choose, d.day, mass, col, math.Inf(1), shape)
		}
	}
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
