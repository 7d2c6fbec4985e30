package forecast

import "math"

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
			tracked: v.tracked, cells: s.block(len(s.lat.points)+1, v.low, v.cols),
			done: make([]float64, len(s.lat.cal.Weeks)),
		}
	}
	return pools[job]
}

// held is the row of what is due on the hold day, after those of the steps.
func (s *step) held() int { return len(s.lat.points) }

// put adds mass·weight at columns from low on to a row. What lies beyond the
// window is kept at its edge, where nothing depends on x any more.
func (p *pool) put(row []float64, low int, mass, weight []float64) (sum float64) {
	weight = weight[:len(mass)]
	if !p.tracked {
		for i, q := range mass {
			sum += q * weight[i]
		}
		row[0] += sum
		return sum
	}
	at, last := low-p.cells.low, len(row)-1
	for i, q := range mass {
		part := q * weight[i]
		sum += part
		row[min(max(at+i, 0), last)] += part
	}
	return sum
}

// settle shares mass at columns from low on between the jobs that may be
// chosen in a step, into a row of their pools; it counts what is done in a
// week, if any.
func (s *step) settle(pools []*pool, c *chooser, step, row, week, low int, mass []float64) {
	for _, part := range s.shares(c, step, low, len(mass)) {
		p := s.pool(pools, part.job)
		first := part.low - low
		sum := p.put(p.cells.row(row), part.low, mass[first:first+len(part.weight)], part.weight)
		if week >= 0 {
			p.done[week] += sum
		}
	}
}
