package forecast

// grid is what a step is worked out on: a lattice of time, cells of hours,
// and the laws that are asked for again and again on them. A walk has two:
// a fine one for what comes first, whose law may be as sharp as the time left
// is short, and a coarse one for what comes after a whole interval.
type grid struct {
	lat    *lattice
	shapes []float64 // gamma shape of the hours from the calendar's base to each point's end
	cell   float64   // hours: a multiple of half the spread
	cellZ  float64   // cell/spread, exactly that multiple for every unit
	overOn taps      // the overshoot on cells, made when first needed
	levels []*passageTable
	lags   []taps     // hours of a lag's week by the step it begins with
	ridden [2]gridLaw // hours of one day and of seven, those last asked for
}

func (w *walk) newGrid(lat *lattice, cell float64) *grid {
	g := &grid{lat: lat, cell: cell, cellZ: cell / w.spread, shapes: w.floats(len(lat.points))}
	for i := range g.shapes {
		g.shapes[i] = w.shape(lat.points[i].tauEnd)
	}
	return g
}

// gridOf is the grid of a front.
func (w *walk) gridOf(f *front) *grid {
	if f.instant != nil {
		return w.first
	}
	return w.later
}

// carry puts mass by lattice point of the fine grid and hours on the coarse
// one. Every point and every cell goes to the four around it in such a way
// that the first three moments stay (Lagrange): parts of them may be slightly
// below zero.
func (w *walk) carry(b block, tracked bool) block {
	low, cols := 0, 1
	if tracked {
		low = b.low>>1 - 1
		cols = (b.low+b.cols-1)>>1 + 3 - low
	}
	to := w.later.lat
	out := w.block(len(to.points), low, cols)
	row := w.floats(cols)
	for i := range b.rows() {
		in := b.row(i)
		if isZero(in) {
			continue
		}
		if tracked {
			clear(row)
			coarsen(row, low, in, b.low)
		} else {
			row[0] = in[0]
		}
		if to == w.first.lat {
			copy(out.row(i), row)
			continue
		}
		p, parts := to.around(w.first.lat.points[i].restart)
		for k, part := range parts {
			if part != 0 {
				addScaled(out.row(p+k), row, part)
			}
		}
	}
	return out
}

// coarser is how many cells of the fine grid are one of the coarse one.
const coarser = 2

// halfway is the share of each of four points of the middle between the second
// and the third.
var halfway = lagrange([4]float64{-1, 0, 1, 2}, 1./coarser)

// coarsen adds cells from column low on to cells twice as wide.
func coarsen(out []float64, outLow int, in []float64, low int) {
	for c, q := range in {
		at := (low+c)>>1 - outLow
		switch {
		case q == 0:
		case (low+c)&1 == 0:
			out[at] += q
		default:
			four := out[at-1 : at+3]
			four[0] += q * halfway[0]
			four[1] += q * halfway[1]
			four[2] += q * halfway[2]
			four[3] += q * halfway[3]
		}
	}
}

// around is the four points from first on around an instant and the share of
// each in what restarts at it.
func (l *lattice) around(instant float64) (first int, parts [4]float64) {
	p, share := l.split(instant)
	first = p - 1
	if first < 1 { // the first two may be next to one instant
		first = 1
		if l.points[1].restart-l.points[0].restart > l.length/2 {
			first = 0
		}
	}
	if p < first || first+4 > len(l.points) {
		first = min(p, len(l.points)-4)
		parts[p-first] = share
		if share < 1 {
			parts[p+1-first] = 1 - share
		}
		return first, parts
	}
	var nodes [4]float64
	for k := range nodes {
		nodes[k] = l.points[first+k].restart
	}
	return first, lagrange(nodes, instant)
}

// lagrange is the weight of each node in what lies at x.
func lagrange(nodes [4]float64, x float64) (weights [4]float64) {
	for k := range nodes {
		weights[k] = 1
		for j := range nodes {
			if j != k {
				weights[k] *= (x - nodes[j]) / (nodes[k] - nodes[j])
			}
		}
	}
	return weights
}

// levelTable is the table of Q for a level of k cells.
func (g *grid) levelTable(t *passageTables, k int) *passageTable {
	for len(g.levels) <= k {
		g.levels = append(g.levels, nil)
	}
	if g.levels[k] == nil {
		g.levels[k] = t.at(float64(k) * g.cellZ)
	}
	return g.levels[k]
}

// overshoots is the law of the overshoot on cells.
func (s *step) overshoots() taps {
	if s.overOn.prob == nil {
		s.overOn = s.tables.overshoots.at(s.arena, s.shape(1./7), s.cellZ)
	}
	return s.overOn
}

// lagOf is the law on cells of the hours of a lag's week from a step's end.
func (s *step) lagOf(p int) taps {
	if s.lags == nil {
		s.lags = make([]taps, len(s.lat.points))
	}
	if s.lags[p].prob == nil {
		s.lags[p] = s.tables.gains.at(s.arena, s.shape(s.lat.points[p].tauLag), s.cellZ)
	}
	return s.lags[p]
}

// riddenFrom is the law on cells of the hours of one or seven days from a day
// on. That of one day mostly stays, those of seven are each asked for once.
func (s *step) riddenFrom(day Day, days int) taps {
	law := &s.ridden[min(days-1, 1)]
	if shape := s.shape(float64(s.lat.cal.Tau(day, day+Day(days)))); shape != law.shape || law.prob == nil {
		*law = gridLaw{s.tables.gains.at(s.arena, shape, s.cellZ), shape}
	}
	return law.taps
}
