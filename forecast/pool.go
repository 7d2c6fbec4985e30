package forecast

import "math"

// pool is mass of units due for a job or on the bench for it, by the hours x
// at the end of the day and by time: in steps, or where the day is known by
// days of the horizon.
type pool struct {
	tracked bool
	cells   block
	days    block     // made when first asked for
	done    []float64 // on the bench, by week
}

// window is the columns in which x can matter after a job.
type window struct {
	made      bool
	tracked   bool
	low, cols int
}

// needsX tells whether what follows a job depends on the hours x: whether a
// clock that it does not restart may matter before the horizon.
func (s *step) needsX(job int) bool { return s.window(job).tracked }

// window runs from the least x of the front up to where every clock that
// still counts after the job has run out.
func (s *step) window(job int) window {
	if s.windows[job].made {
		return s.windows[job]
	}
	v := window{made: true, cols: 1}
	least, most := s.front.exact, s.front.most(s.cell)
	if s.front.tracked {
		least = float64(s.front.cells.low) * s.cell
	}
	last := 0.0
	for i, h := range s.front.hands {
		every := float64(s.strand.services[i].Every)
		if !s.onHours[i] || every == 0 || s.strand.does(job, i) {
			continue
		}
		v.tracked = true
		if h.kind == known {
			last = max(last, every-h.from)
		} else {
			last = max(last, most+every)
		}
	}
	if v.tracked {
		v.low = int(math.Floor(least/s.cell)) - 1 // sharpened laws reach a cell below
		last = min(last, most+s.mostHours())
		v.cols = max(1, int(math.Ceil(last/s.cell))+3-v.low)
	}
	s.windows[job] = v
	return v
}

// pool is the pool of a job, made when first asked for.
func (s *step) pool(pools []*pool, job int) *pool {
	if pools[job] == nil {
		v := s.window(job)
		pools[job] = &pool{
			tracked: v.tracked, cells: s.block(len(s.lat.points), v.low, v.cols),
			done: make([]float64, len(s.lat.cal.Weeks)),
		}
	}
	return pools[job]
}

// day is the row of units due from a day of the horizon on.
func (s *step) day(p *pool, day Day) []float64 {
	if p.days.mass == nil {
		p.days = s.block(int(s.lat.cal.End()-s.lat.cal.AsOf), p.cells.low, p.cells.cols)
	}
	return p.days.row(int(day - s.lat.cal.AsOf))
}

// when is a row of pools: a step, or a known day of the horizon.
type when struct {
	step  int
	day   Day
	known bool
}

// row is where a pool keeps what happens at a time.
func (s *step) row(p *pool, at when) []float64 {
	if at.known {
		return s.day(p, at.day)
	}
	return p.cells.row(at.step)
}

// put adds mass·weight·factor at columns from low on to a row. What lies beyond
// the window is kept at its edge, where nothing depends on x any more.
func (p *pool) put(row []float64, low int, mass, weight []float64, factor float64) (sum float64) {
	weight = weight[:len(mass)]
	if !p.tracked {
		for i, q := range mass {
			sum += q * weight[i]
		}
		row[0] += sum * factor
		return sum * factor
	}
	at, last := low-p.cells.low, len(row)-1
	if at >= 0 && at+len(mass) <= len(row) {
		to := row[at : at+len(mass)]
		for i, q := range mass {
			part := q * weight[i] * factor
			sum += part
			to[i] += part
		}
		return sum
	}
	for i, q := range mass {
		part := q * weight[i] * factor
		sum += part
		row[min(max(at+i, 0), last)] += part
	}
	return sum
}

// settle shares mass at columns from low on between the jobs that may be
// chosen at a time.
func (s *step) settle(c *chooser, at when, low int, mass []float64) {
	for _, part := range s.shares(c, at, low, len(mass)) {
		p := s.pool(s.due, part.job)
		first := part.low - low
		p.put(s.row(p, at), part.low, mass[first:first+len(part.weight)], part.weight, 1)
	}
}

// serve is settle for the bench: it counts what is done in a week, the clocks
// restarting at a point, of a factor of mass from column first of a block on.
func (s *step) serve(c *chooser, at when, restart, week int, of block, first int, mass []float64, factor float64) {
	for _, part := range s.shares(c, at, of.low, of.cols) {
		begin := max(part.low-of.low, first)
		end := min(part.low-of.low+len(part.weight), first+len(mass))
		if begin >= end {
			continue
		}
		p := s.pool(s.visits, part.job)
		share := part.weight[begin-(part.low-of.low):]
		p.done[week] += p.put(p.cells.row(restart), of.low+begin, mass[begin-first:end-first], share, factor)
	}
}
