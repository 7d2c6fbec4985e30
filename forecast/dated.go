package forecast

import "math"

// landDated takes what no hours made due in time to the calendar limits.
func (s *step) landDated() {
	front := s.front.cells
	for i := range front.rows() {
		at := s.start(i)
		d := s.dateOf(at)
		if d.service < 0 || d.step >= len(s.lat.points) || weight(front.row(i)) < leastCell {
			continue
		}
		day := d.at
		if d.step == 0 {
			day = float64(s.front.instant.hold)
		}
		shape := max(0, s.shape(s.lat.cal.since(day))-at.shape)
		choose := s.chooser(d.service, false)
		rest := s.floats(front.cols)
		copy(rest, front.row(i))
		for _, t := range s.triggers {
			for k, col := range t.cols {
				mass := front.row(i)[col] * t.weight[k]
				steps, held := s.passing(at, t.level[k], d.step)
				s.land(choose, d.step, mass*max(0, 1-held-total(steps)), col, t.level[k], shape)
				rest[col] -= mass
			}
		}
		for col, mass := range rest {
			s.land(choose, d.step, mass, col, math.Inf(1), shape)
		}
	}
}

// land makes mass of one column due by a date, its gain of a shape being
// known to lie below the level. Step 0 is the hold day.
func (s *step) land(choose *chooser, step int, mass float64, col int, level, shape float64) {
	if math.Abs(mass) < leastCell {
		return
	}
	to := step
	if step == 0 {
		to = s.held()
	}
	if len(choose.candidates) == 0 && !s.needsX(choose.job) {
		s.pool(s.due, choose.job).cells.row(to)[0] += mass
		return
	}
	law := gain(shape, s.spread)
	if !s.front.tracked {
		x := s.front.exact
		if step == 0 {
			s.landHeld(choose, mass, between{law, x, x, x + level, false})
			return
		}
		masses := s.floats(step + 1)
		masses[step] = mass
		s.landAt(choose, masses, between{law, x, x, x + level, false})
		return
	}
	x := law.part(0, level).onCells(0, s.cell)
	row := s.floats(len(x.prob))
	addScaled(row, x.prob, mass)
	near := step
	if step == 0 {
		near = s.start(0).from - 1
	}
	s.settle(s.due, choose, near, to, -1, s.front.cells.low+col+x.low, row)
}
