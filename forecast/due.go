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
	g.cols, g.level, g.weight = append(g.cols, col), append(g.level, max(level, 0)), append(g.weight, weight)
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

// holdDay is when what is due at an instant counts as due.
func (s *step) holdDay() when {
	return when{day: s.front.instant.hold, known: true}
}

// landTracked takes the columns of a front to where they become due by
// hours: passage of the level, then the overshoot, then the choice of job.
func (s *step) landTracked(t trigger) {
	deep := s.needsX(t.service) || len(s.candidates(t.service)) > 0
	limit := s.passed(t, deep)
	if !deep {
		p := s.pool(s.due, t.service)
		addTo(p.cells.mass, limit.steps.mass)
		if total(limit.held) > 0 {
			s.row(p, s.holdDay())[0] += total(limit.held)
		}
		return
	}
	choose := s.chooser(t.service, false)
	for p := 1; p < len(s.lat.points); p++ {
		row := limit.steps.row(p)
		if weight(row) < leastCell {
			continue
		}
		moved := s.tiltOf(limit.shapes[p]/total(row), t.level[0]).shift() / s.cell
		over := s.overshoots().moved(s.arena, moved)
		wide := s.wide(limit.steps.cols + len(over.prob) - 1)
		spreadOut(wide, row, over.prob, 1)
		low := limit.steps.low + over.low
		s.sharpenShares(choose, when{step: p}, limit.steps.low, row, low, wide, moved)
		s.settle(choose, when{step: p}, low, wide)
	}
	if weight(limit.held) > 0 {
		s.landHeldTracked(t, choose)
	}
}

// landHeldTracked takes the columns of a front at an instant to the hold day,
// as far as they have passed their level by then.
func (s *step) landHeldTracked(t trigger, choose *chooser) {
	at := s.start(0)
	law := gain(at.held-at.shape, s.spread)
	var x taps
	for k, col := range t.cols {
		if k == 0 || t.level[k] != t.level[k-1] {
			x = law.part(t.level[k], math.Inf(1)).onCells(0, s.cell)
		}
		mass := s.front.cells.mass[col] * t.weight[k] * law.survival(t.level[k])
		if math.Abs(mass) < leastCell {
			continue
		}
		row := s.wide(len(x.prob))
		addScaled(row, x.prob, mass)
		s.settle(choose, s.holdDay(), s.front.cells.low+col+x.low, row)
	}
}

// sharpenShares gives each job exactly what it gets of a row at the limit, by
// the law of the overshoot, where cells would blur a choice that falls on the
// edge of that law: it scales the cells that go to it.
func (s *step) sharpenShares(c *chooser, at when, limitLow int, limit []float64, low int, wide []float64, moved float64) {
	split := s.shares(c, at, low, len(wide))
	if len(split) < 2 || len(c.candidates) != 1 || s.stateAt(c, at) > 0 || c.candidates[0].read.slope != 1 {
		return
	}
	if c.exact == nil {
		c.exact = s.floats(len(limit))
		from := (c.candidates[0].need - c.candidates[0].read.from)
		for i := range c.exact {
			c.exact[i] = s.over.survival(from - float64(limitLow+i)*s.cell)
		}
	}
	var taken [2]float64
	for i, q := range limit {
		by := c.exact[i]
		if j := i + int(sign(moved)); j >= 0 && j < len(limit) {
			by += math.Abs(moved) * (c.exact[j] - by)
		}
		taken[0] += q * by
		taken[1] += q * (1 - by)
	}
	candidate := wide[split[0].low-low:]
	onCells := [2]float64{0, total(wide)}
	for i, w := range split[0].weight {
		onCells[0] += w * candidate[i]
	}
	onCells[1] -= onCells[0]
	for k := range taken { // sharpened cells may hold a little less than nothing
		if taken[k] < 0 {
			taken[k], taken[1-k] = 0, taken[0]+taken[1]
		}
	}
	if !(onCells[0] > leastCell && onCells[1] > leastCell) {
		return
	}
	// Weights of the two come to one in every column.
	more, less := taken[0]/onCells[0], taken[1]/onCells[1]
	for i, w := range split[0].weight {
		candidate[i] *= w*more + (1-w)*less
	}
	scale(wide[:split[0].low-low], less)
	scale(candidate[len(split[0].weight):], less)
}

// spreadOut adds to out a share of the sum of two independent numbers on cells.
func spreadOut(out, p, q []float64, share float64) {
	if len(p) > len(q) {
		p, q = q, p
	}
	for i, mass := range p {
		if mass != 0 {
			addScaled(out[i:i+len(q)], q, share*mass)
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

// passages is mass that reached its level, by x at the limit: in steps, and
// by the hold day.
type passages struct {
	steps  block
	shapes []float64 // for each step, mass times gamma shape of the way there
	held   []float64
}

// tiltOf is the overshoot beyond a level passed by a meter of a gamma shape.
func (s *step) tiltOf(shape, level float64) tilted {
	t := tilted{shape: max(s.shape(1./7), 1e-6), spread: s.spread, factor: 1, plain: &s.plain}
	if level > 0 {
		t.tilt = tilt(shape, level/s.spread)
		t.factor = math.Exp(-t.shape * math.Log1p(-t.tilt))
	}
	return t
}

// onTheWay is the gamma shape of a meter from a start to the middle of a step,
// less half a day.
func (s *step) onTheWay(at start, p int) float64 {
	return max(0, (s.shapes[p-1]+s.shapes[p])/2-at.shape-s.shape(0.5/7))
}

// passed is when each column of a trigger passes its level; where x at the
// limit does not matter there is one column.
func (s *step) passed(t trigger, deep bool) passages {
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
	out := passages{steps: s.block(len(s.lat.points), first, cols), held: s.floats(cols)}
	if deep {
		out.shapes = s.floats(len(s.lat.points))
	}
	if s.front.instant == nil && t.level[0] != t.level[len(t.level)-1] {
		t, where = s.passedAbreast(t, where, out)
	}
	run := s.floats(cols)
	for i := range front.rows() {
		row := front.row(i)
		if len(t.cols) == 0 || weight(row) < leastCell {
			continue
		}
		at := s.start(i)
		wait := s.wait(at)
		for k := 0; k < len(t.cols); {
			end := k + 1
			for end < len(t.cols) && t.level[end] == t.level[k] {
				end++
			}
			if sum := s.gather(run, out.steps, t, where, row, k, end); sum > leastCell {
				s.pass(out, run, at, t.level[end-1], wait)
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
func (s *step) pass(out passages, run []float64, at start, level float64, wait []float64) {
	steps, held := s.passing(at, level, wait)
	if held > 0 {
		addScaled(out.held, run, held)
	}
	cols := out.steps.cols
	if cols == 1 {
		addScaled(out.steps.mass[at.from:at.from+len(steps)], steps, run[0])
		return
	}
	first, last := band(run)
	run, sum := run[first:last], total(run)
	late := at.shape + s.shape(0.5/7)
	for j, q := range steps {
		if q < leastCell || q*math.Abs(sum) < leastCell/100 {
			continue
		}
		p := at.from + j
		row := out.steps.mass[p*cols+first : p*cols+last]
		for c, mass := range run {
			row[c] += mass * q
		}
		out.shapes[p] += sum * q * max(0, (s.shapes[p-1]+s.shapes[p])/2-late)
	}
}
