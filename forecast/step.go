package forecast

import "math"

// step is one turn of a walk: from a front, what becomes due next and when,
// and when the unit comes in for it.
type step struct {
	*walk
	*grid
	front     *front
	onHours   []bool // services whose hours may run out before the horizon
	onDate    []bool // services whose calendar limit may fall before it
	mean      float64
	variance  float64
	triggers  []trigger
	windows   []window  // by job, see window
	due       []*pool   // who is due, by job
	visits    []*pool   // who is on the bench, by job
	passes    []float64 // scratch: probability of a passage in each step
	dated     []float64 // scratch: see wait
	law       levelLaw  // of the level last asked for
	lawLevel  float64
	scratch   []float64 // scratch: see wide
	portioned []portion // scratch: see portions
}

// outlook tells what can happen after a front; nil if nothing can before the
// horizon.
func (w *walk) outlook(f *front) *step {
	n, g := len(f.hands), w.gridOf(f)
	s := &step{
		walk: w, grid: g, front: f, onHours: make([]bool, n), onDate: make([]bool, n), windows: make([]window, n),
		due: make([]*pool, n), visits: make([]*pool, n), passes: w.floats(len(g.lat.points)),
		dated: w.floats(len(g.lat.points) + 1),
	}
	s.mean, s.variance = f.moments(g.cell)
	end := float64(w.cal.End())
	any := false
	for i := range f.hands {
		s.onHours[i] = s.reaches(i)
		s.onDate[i] = s.firstLimit(i) < end+w.foldDays(i)
		any = any || s.onHours[i] || s.onDate[i]
	}
	if !any {
		return nil
	}
	s.collapse()
	s.triggers = s.findTriggers()
	return s
}

// reaches tells whether the hours of a service may run out before the
// horizon, or come so near that it may be done in place of another, with
// more than a negligible probability.
func (s *step) reaches(service int) bool {
	r := s.front.hands[service].read(s.mean, s.variance)
	limit := float64(s.strand.services[service].limit()) - s.foldHours(service) - r.from - 3*r.blur
	horizon := s.lat.horizon()
	if limit-r.slope*s.front.most(s.cell) <= 0 {
		return true
	}
	cells := s.front.cells
	whole := total(cells.mass)
	first, middle := s.start(0), s.start(cells.rows()/2)
	most := (limit - r.slope*s.front.most(s.cell)) / s.spread
	switch {
	case upperGamma(s.shape(horizon)-first.shape, most)*whole < leastFront:
		return false // not even from the earliest start and the most hours
	case upperGamma(s.shape(horizon)-middle.shape, (limit-r.slope*s.mean)/s.spread)*whole/4 > leastFront:
		return true
	}
	// Rows together as if all were the earliest of them.
	sum, together := 0.0, 1+cells.rows()/8
	for i := 0; i < cells.rows(); i += together {
		mass := total(cells.mass[i*cells.cols : min(i+together, cells.rows())*cells.cols])
		sum += mass * upperGamma(s.shape(horizon)-s.start(i).shape, most)
	}
	return sum >= leastFront
}

// mostHours bounds the hours that the meter may still gain, but for about one
// case in a million.
func (s *step) mostHours() float64 {
	mean := (s.shape(s.lat.horizon()) - s.start(0).shape) * s.spread
	return mean + 5*math.Sqrt(mean*s.spread) + 12*s.spread
}

// foldHours is by how much a service may be brought forward.
func (w *walk) foldHours(service int) float64 {
	most := 0.0
	for _, i := range w.strand.below[service] {
		if i != service {
			most = max(most, float64(w.strand.services[i].Every))
		}
	}
	return w.strand.foldIn * most
}

// foldDays is by how much its calendar limit may be brought forward.
func (w *walk) foldDays(service int) float64 {
	days := 0.0
	for _, i := range w.strand.below[service] {
		if i != service {
			days = max(days, w.strand.foldIn*float64(w.strand.services[i].Months)*daysAMonth)
		}
	}
	if w.rate > 0 {
		days = max(days, 7*w.foldHours(service)/w.rate)
	}
	return min(days, 4000)
}

const daysAMonth = 365.2425 / 12

// collapse forgets x where all that may happen starts from clocks at zero.
func (s *step) collapse() {
	f := s.front
	if !f.tracked {
		return
	}
	for i, h := range f.hands {
		if s.onHours[i] && h.kind != zero {
			return
		}
	}
	flat := s.block(f.cells.rows(), 0, 1)
	for i := range flat.mass {
		flat.mass[i] = total(f.cells.row(i))
	}
	f.cells, f.tracked, f.exact = flat, false, s.align(0)
	for i := range f.hands {
		f.hands[i].kind, f.hands[i].from = known, -f.exact
		if !s.onHours[i] {
			f.hands[i].from = math.Inf(-1) // too far from its limit to matter
		}
	}
	s.mean, s.variance = f.exact, 0
}

// start is one row of the front: an instant from which clocks run.
type start struct {
	day   float64 // the day of the job
	from  int     // first step in which something can become due
	shape float64 // gamma shape of the hours since the calendar's base
	held  float64 // the same at the hold day; what is due by then is held
}

func (s *step) start(i int) start {
	if at := s.front.instant; at != nil {
		hold := float64(at.hold)
		return start{
			day: at.at - 1, from: s.lat.stepOf(hold),
			shape: s.shape(s.lat.cal.since(at.at)), held: s.shape(s.lat.cal.since(hold)),
		}
	}
	p := &s.lat.points[s.front.first+i]
	shape := s.shape(p.tau)
	return start{day: p.restart - 1, from: max(s.front.first+i, 1), shape: shape, held: shape}
}

// limit is the instant of a service's calendar limit; for one restarted by
// the front's job, counted from the middle start.
func (s *step) limit(service int) float64 {
	h := s.front.hands[service]
	if !h.fresh || s.strand.services[service].Months == 0 {
		return h.limit
	}
	return s.freshLimit(service, s.start(s.front.cells.rows()/2))
}

// firstLimit is the calendar limit counted from the first start.
func (s *step) firstLimit(service int) float64 {
	if h := s.front.hands[service]; !h.fresh {
		return h.limit
	}
	return s.freshLimit(service, s.start(0))
}

func (s *step) freshLimit(service int, at start) float64 {
	months := s.strand.services[service].Months
	if months == 0 {
		return never
	}
	return float64(Day(math.Floor(at.day)).addMonths(months))
}

// date is the calendar limit that ends the wait of a start: of which service,
// and the day; service -1 if there is none before the horizon.
type date struct {
	service int
	day     Day
}

func (s *step) dateOf(at start) date {
	first := float64(s.lat.cal.End())
	d := date{service: -1, day: s.lat.cal.End()}
	for i, h := range s.front.hands {
		if !s.onDate[i] {
			continue
		}
		limit := h.limit
		if h.fresh {
			limit = s.freshLimit(i, at)
		}
		if limit < first {
			first, d.service = limit, i
		}
	}
	if d.service >= 0 {
		earliest := at.day + 1
		if held := s.front.instant; held != nil {
			earliest = float64(held.hold)
		}
		d.day = Day(math.Floor(max(first, earliest, float64(s.lat.cal.AsOf))))
	}
	return d
}

// wait is the gamma shapes of the hours at the end of each step of a wait from
// a start: up to the horizon, or to a date. It holds until the next call.
func (s *step) wait(at start) []float64 {
	d := s.dateOf(at)
	if d.service < 0 {
		return s.shapes
	}
	last := s.lat.stepOf(float64(d.day))
	s.dated = append(append(s.dated[:0], s.shapes[:last]...), max(at.shape, s.shape(s.lat.cal.since(float64(d.day)))))
	return s.dated
}

// passing is the probability that a meter passes a level in each step of a
// wait from at.from on, and by the hold day. Steps after the last that matters
// are left out.
func (s *step) passing(at start, level float64, wait []float64) (steps []float64, held float64) {
	if level <= s.cell*leastCell {
		if s.front.instant != nil {
			return nil, 1
		}
		s.passes[0] = 1
		return s.passes[:1], 0
	}
	law := s.lawOf(level)
	steps = law.along(s.passes, wait[min(at.from, len(wait)):], at.shape)
	if at.held > at.shape {
		held = law.at(at.held - at.shape)
	}
	before := held
	for k, now := range steps {
		steps[k] = max(0, now-before)
		before = max(before, now)
	}
	return steps, held
}

// levelLaw is Q for a level, by shape: of one table, of a mixture of two, or
// straight.
type levelLaw struct {
	table, next *passageTable
	up          float64
	z           float64
}

func (l *levelLaw) at(shape float64) float64 {
	switch {
	case l.table == nil:
		return upperGamma(shape, l.z)
	case l.next == nil:
		return l.table.at(shape)
	}
	return (1-l.up)*l.table.at(shape) + l.up*l.next.at(shape)
}

// along is at for rising shapes, each less from, up to nearly 1.
func (l *levelLaw) along(out, shapes []float64, from float64) []float64 {
	if l.table != nil && l.next == nil {
		return l.table.along(out, shapes, from)
	}
	for k, shape := range shapes {
		out[k] = l.at(shape - from)
		if out[k] >= 1-nearlyOne {
			out[k] = 1
			return out[:k+1]
		}
	}
	return out[:len(shapes)]
}

// lawOf is the law of a level; mostly the one last asked for.
func (s *step) lawOf(level float64) *levelLaw {
	if level != s.lawLevel {
		s.lawLevel, s.law = level, s.newLaw(level)
	}
	return &s.law
}

// newLaw reads a level from a table where it is asked for often.
func (s *step) newLaw(level float64) levelLaw {
	if s.front.instant != nil && !s.front.tracked {
		return levelLaw{z: level / s.spread}
	}
	cells := level / s.cell
	whole := math.Round(cells)
	if math.Abs(cells-whole) < 1e-9 && whole > 0 {
		return levelLaw{table: s.levelTable(s.tables, int(whole))}
	}
	for _, service := range s.strand.services {
		if float64(service.Every) == level {
			return levelLaw{table: s.tables.at(level / s.spread)}
		}
	}
	if cells == 0.25 { // half a cell on average, see enter
		return levelLaw{table: s.tables.at(s.cellZ / 4)}
	}
	if cells < 1 {
		return levelLaw{z: level / s.spread}
	}
	// Between two cells: some here, some there keeps the mean.
	k := int(cells)
	return levelLaw{table: s.levelTable(s.tables, k), next: s.levelTable(s.tables, k+1), up: cells - float64(k)}
}
