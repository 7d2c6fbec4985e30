package forecast

import "math"

// trigger is a service whose limit in hours comes first from some columns of
// a front; level is the hours to it and weight the share of the column.
type trigger struct {
	service int
	cols    []int
	level   []float64
	weight  []float64
}

// findTriggers sorts the columns of the front by the service that comes due
// first. An estimated clock counts with three values, its mean and two
// sides, so that its blur is kept (Gauss–Hermite).
func (s *step) findTriggers() []trigger {
	all := make([]trigger, len(s.front.hands))
	read := make([]reading, len(s.front.hands))
	blurred, widest := -1, s.cell/2
	for i, h := range s.front.hands {
		read[i] = h.read(s.mean, s.variance)
		if s.onHours[i] && read[i].blur > widest {
			blurred, widest = i, read[i].blur
		}
	}
	for col := range s.front.cells.cols {
		x := s.front.exact
		if s.front.tracked {
			x = float64(s.front.cells.low+col) * s.cell
		}
		if blurred < 0 {
			s.assign(all, read, col, x, 1, -1, 0)
			continue
		}
		side := math.Sqrt(3) * read[blurred].blur
		s.assign(all, read, col, x, 2./3, blurred, 0)
		s.assign(all, read, col, x, 1./6, blurred, side)
		s.assign(all, read, col, x, 1./6, blurred, -side)
	}
	some := all[:0]
	for t, g := range all {
		if g.service = t; len(g.cols) > 0 {
			some = append(some, g)
		}
	}
	return some
}

// assign gives a share of a column to the service with the lowest level, the
// blurred clock moved by so many hours.
func (s *step) assign(all []trigger, read []reading, col int, x, weight float64, blurred int, moved float64) {
	first, lowest := -1, math.Inf(1)
	for i := range read {
		if !s.onHours[i] {
			continue
		}
		level := float64(s.strand.services[i].limit()) - read[i].from - read[i].slope*x
		if i == blurred {
			level -= moved
		}
		if level < lowest {
			first, lowest = i, level
		}
	}
	if first >= 0 && !math.IsInf(lowest, 1) {
		s.enter(&all[first], col, lowest, weight)
	}
}

// enter adds a column to a trigger. The mass of a column is spread over the
// cell around x: where the limit falls inside it, part has passed. After a
// job that part is no longer there, see chooser; at an instant it is due.
func (s *step) enter(g *trigger, col int, level, weight float64) {
	half := s.cell / 2
	if !s.front.tracked || level <= -half || level >= half {
		g.add(s, col, level, weight)
		return
	}
	if s.front.instant != nil {
		ahead := (level + half) / s.cell
		g.add(s, col, 0, weight*(1-ahead))
		weight *= ahead
	}
	g.add(s, col, (level+half)/2, weight)
}

func (g *trigger) add(s *step, col int, level, weight float64) {
	if g.cols == nil {
		n := 3*s.front.cells.cols + 1
		g.cols, g.level, g.weight = make([]int, 0, n), s.floats(n)[:0], s.floats(n)[:0]
	}
	g.cols, g.level, g.weight = append(g.cols, col), append(g.level, level), append(g.weight, weight)
}

// becomeDue fills s.due: who becomes due for which job, when, at what x.
func (s *step) becomeDue() {
	for _, t := range s.triggers {
		if s.front.tracked {
			s.landTracked(t)
		} else {
			s.landExact(t)
		}
	}
	s.landDated()
}

// landTracked takes the columns of a front to where they become due by
// hours: passage of the level, then the overshoot, then the choice of job.
func (s *step) landTracked(t trigger) {
	deep := s.needsX(t.service) || len(s.candidates(t.service)) > 0
	limit := s.passed(t, deep)
	if !deep {
		addTo(s.pool(s.due, t.service).cells.mass, limit.mass)
		return
	}
	choose := s.chooser(t.service, false)
	over := s.overshoots()
	for p := 1; p < len(s.lat.points); p++ {
		row := limit.row(p)
		if weight(row) < leastCell {
			continue
		}
		wide := s.wide(limit.cols + len(over.prob) - 1)
		spreadOut(wide, row, over.prob)
		s.settle(s.due, choose, p, p, -1, limit.low+over.low, wide)
	}
	if row := limit.row(s.held()); weight(row) > 0 {
		s.settle(s.due, choose, s.start(0).from-1, s.held(), -1, limit.low, row)
	}
}

// spreadOut adds to out the sum of two independent numbers on cells.
func spreadOut(out, p, q []float64) {
	if len(p) > len(q) {
		p, q = q, p
	}
	for i, mass := range p {
		if mass != 0 {
			addScaled(out[i:i+len(q)], q, mass)
		}
	}
}

// wide is scratch of n zeros.
func (s *step) wide(n int) []float64 {
	if cap(s.scratch) < n {
		s.scratch = s.floats(2 * n)
	}
	clear(s.scratch[:n])
	return s.scratch[:n]
}

// passed is when each column of a trigger passes its level, by step and x at
// the limit; where that x does not matter there is one column.
func (s *step) passed(t trigger, deep bool) block {
	front := s.front.cells
	where := s.floats(len(t.cols)) // column at the limit
	low, high := math.Inf(1), math.Inf(-1)
	for k, col := range t.cols {
		where[k] = float64(front.low+col) + max(t.level[k], 0)/s.cell
		low, high = min(low, where[k]), max(high, where[k])
	}
	first, cols := 0, 1
	if deep {
		first = int(math.Floor(low + 1e-9))
		cols = int(math.Floor(high+1e-9)) + 2 - first
	}
	out := s.block(len(s.lat.points)+1, first, cols)
	run := s.floats(cols)
	for i := range front.rows() {
		row := front.row(i)
		if weight(row) < leastCell {
			continue
		}
		at := s.start(i)
		until := s.dateOf(at).step
		for k := 0; k < len(t.cols); {
			end := k + 1
			for end < len(t.cols) && t.level[end] == t.level[k] {
				end++
			}
			sum := s.gather(run, out, t, where, row, k, end)
			if !deep {
				// What is next to nothing goes along with its neighbour.
				for ; sum < leastRun && end < len(t.cols); end++ {
					mass := row[t.cols[end]] * t.weight[end]
					run[0] += mass
					sum += math.Abs(mass)
				}
			}
			if sum > leastCell {
				s.pass(out, run, at, t.level[end-1], until)
			}
			k = end
		}
	}
	return out
}

// gather puts the mass of columns k … end-1 of a row where they reach the
// limit and returns how much it is.
func (s *step) gather(run []float64, out block, t trigger, where, row []float64, k, end int) float64 {
	clear(run)
	sum := 0.0
	for ; k < end; k++ {
		mass := row[t.cols[k]] * t.weight[k]
		sum += math.Abs(mass)
		if out.cols == 1 {
			run[0] += mass
			continue
		}
		c := where[k] - float64(out.low)
		whole := int(c + 1e-9)
		up := max(0, c-float64(whole))
		run[whole] += mass * (1 - up)
		run[whole+1] += mass * up
	}
	return sum
}

// pass adds a run of columns with one level to the steps in which it passes.
func (s *step) pass(out block, run []float64, at start, level float64, until int) {
	steps, held := s.passing(at, level, until)
	if held > 0 {
		addScaled(out.row(s.held()), run, held)
	}
	if out.cols == 1 {
		addScaled(out.mass[at.from:at.from+len(steps)], steps, run[0])
		return
	}
	for j, q := range steps {
		if q > leastCell {
			addScaled(out.row(at.from+j), run, q)
		}
	}
}
