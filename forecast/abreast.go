package forecast

import "math"

// abreast is the mass of the columns of one row whose levels lie in a field.
type abreast struct {
	field     *field
	mass      [fieldLevels]float64
	low, high int // levels in use
}

// seat is where the mass of a column goes: up of it to the level after.
type seat struct {
	col, level int
	weight, up float64
}

// passedAbreast adds to out when those columns of a trigger pass whose levels
// lie in fields and which all reach the limit at one x, and returns the others.
// At the limit they are where tells.
func (s *step) passedAbreast(t trigger, where []float64, out passages) (left trigger, leftWhere []float64) {
	seats, at, left, leftWhere := s.seats(t, where, out.shapes != nil)
	if len(seats) == 0 {
		return left, leftWhere
	}
	last := 0
	for _, seat := range seats {
		last = max(last, seat.level+1)
	}
	all := make([]abreast, last/fieldLevels+1)
	passed := s.floats(len(s.lat.points)) // by the end of each step
	for i := range s.front.cells.rows() {
		row := s.front.cells.row(i)
		if weight(row) < leastCell {
			continue
		}
		for k := range all {
			all[k].mass, all[k].low, all[k].high = [fieldLevels]float64{}, fieldLevels, 0
		}
		for _, seat := range seats {
			seat.take(all, row[seat.col]*seat.weight)
		}
		start := s.start(i)
		wait := s.wait(start)
		clear(passed)
		for k := range all {
			all[k].pass(s, k, passed, wait, start)
		}
		out.addPassed(s, passed, start, at)
	}
	return left, leftWhere
}

func (t seat) take(all []abreast, mass float64) {
	if math.Abs(mass) < leastCell/100 {
		return
	}
	all[t.level/fieldLevels].add(t.level%fieldLevels, mass*(1-t.up))
	if t.up > 0 {
		all[(t.level+1)/fieldLevels].add((t.level+1)%fieldLevels, mass*t.up)
	}
}

// addPassed adds what passed by the end of each step from one start, at a
// column of the limit.
func (out *passages) addPassed(s *step, passed []float64, from start, at float64) {
	cols := out.steps.cols
	whole, up, late := 0, 0.0, from.shape+s.shape(0.5/7)
	if cols > 1 {
		c := at - float64(out.steps.low)
		whole = int(c + 1e-9)
		up = max(0, c-float64(whole))
	}
	before := 0.0
	for p := from.from; p < len(passed); p++ {
		q := passed[p] - before
		before = passed[p]
		if q == 0 {
			continue
		}
		out.steps.mass[p*cols+whole] += q * (1 - up)
		if up > 0 {
			out.steps.mass[p*cols+whole+1] += q * up
		}
		if out.shapes != nil {
			out.shapes[p] += q * max(0, (s.shapes[p-1]+s.shapes[p])/2-late)
		}
	}
}

func (a *abreast) add(level int, mass float64) {
	a.mass[level] += mass
	a.low, a.high = min(a.low, level), max(a.high, level+1)
}

// pass adds to sum what has passed by the end of each step of a wait.
func (a *abreast) pass(s *step, number int, sum, shapes []float64, at start) {
	if a.low >= a.high || at.from >= len(shapes) {
		return
	}
	if a.field == nil {
		a.field = s.tables.fields.at(number, s.cellZ)
	}
	n, passed := a.field.add(sum[at.from:], shapes[at.from:], at.shape, &a.mass, a.low, a.high)
	for p := at.from + n; p < len(sum); p++ {
		sum[p] += passed
	}
}

// seats are the columns of a trigger whose levels lie in fields, and the rest;
// where x at the limit counts, only those that reach it at one x, at.
func (s *step) seats(t trigger, where []float64, deep bool) (seats []seat, at float64, left trigger, leftWhere []float64) {
	left.service = t.service
	for k, col := range t.cols {
		cells := t.level[k] / s.cell
		whole := int(math.Floor(cells + 1e-9))
		fits := whole >= 1 && whole < mostFields*fieldLevels && float64(whole)*s.cellZ > leastField
		if fits && len(seats) == 0 {
			at = where[k]
		}
		if !fits || deep && math.Abs(where[k]-at) > 1e-6 {
			left.cols, leftWhere = append(left.cols, col), append(leftWhere, where[k])
			left.level, left.weight = append(left.level, t.level[k]), append(left.weight, t.weight[k])
			continue
		}
		up := max(0, cells-float64(whole))
		if up < 1e-9 {
			up = 0
		}
		seats = append(seats, seat{col: col, level: whole - 1, weight: t.weight[k], up: up})
	}
	return seats, at, left, leftWhere
}
