package forecast

// comeIn takes what is due to the bench: after a geometric number of whole
// weeks, for the job it is due for or what has become due above it by then.
func (s *step) comeIn() {
	for job, due := range s.due {
		if due == nil {
			continue
		}
		later := s.chooser(job, true)
		s.fromSteps(due, &chooser{job: job, state: unsplit}, later)
		if due.days.mass != nil {
			s.fromDays(due, later)
		}
	}
}

// fromSteps brings in what became due in a step of the lattice: at once, when
// nothing has changed since the job was chosen, or weeks later.
func (s *step) fromSteps(due *pool, atOnce, later *chooser) {
	cells := due.cells
	waiting := cells
	if len(later.candidates) > 0 {
		waiting = s.block(cells.rows(), cells.low, cells.cols)
	}
	for p := 1; p < len(s.lat.points); p++ {
		row, week := waiting.row(p), s.lat.points[p].week
		s.bring(later, when{step: p}, p, week, waiting, row, 1-s.again)
		if len(later.candidates) > 0 {
			s.bring(atOnce, when{step: p}, p, week, cells, cells.row(p), 1-s.again)
			addTo(row, cells.row(p))
		}
		next := p + s.lat.perWeek
		if s.again == 0 || next >= len(s.lat.points) {
			continue
		}
		if first, last := band(row); weight(row[first:last]) >= leastCell {
			s.ride(due.tracked, waiting.row(next), row[first:last], first, s.again, s.lagOf(p))
		}
	}
}

// bring takes a factor of a row of a block to the bench.
func (s *step) bring(choose *chooser, at when, restart, week int, of block, row []float64, factor float64) {
	if first, last := band(row); weight(row[first:last]) >= leastCell {
		s.serve(choose, at, restart, week, of, first, row[first:last], factor)
	}
}

// fromDays brings in what became due on a known day: at its start, so that
// it is ridden before its end.
func (s *step) fromDays(due *pool, choose *chooser) {
	days := due.days
	waiting := s.block(days.rows(), days.low, days.cols)
	for i := range days.rows() {
		day, wait := s.lat.cal.AsOf+Day(i), waiting.row(i)
		if fresh := days.row(i); !isZero(fresh) {
			s.ride(due.tracked, wait, fresh, 0, 1, s.riddenFrom(day, 1))
		}
		begin, end := band(wait)
		in := wait[begin:end]
		if weight(in) < leastCell {
			continue
		}
		at, week := when{day: day, known: true}, s.lat.cal.WeekOf(day)
		first, parts := s.lat.blunt(float64(day + 1))
		for k, part := range parts {
			if part != 0 {
				s.serve(choose, at, first+k, week, days, begin, in, (1-s.again)*part)
			}
		}
		if s.again > 0 && i+7 < days.rows() {
			s.ride(due.tracked, waiting.row(i+7), in, begin, s.again, s.riddenFrom(day, 7))
		}
	}
}

// band is where in a row there is more than next to nothing.
func band(row []float64) (first, last int) {
	const least = leastCell / 10
	last = len(row)
	for first < last && row[first] < least && row[first] > -least {
		first++
	}
	for last > first && row[last-1] < least && row[last-1] > -least {
		last--
	}
	return first, last
}

// ride adds to out a share of what lies from its column first on, and gains so
// many hours.
func (s *step) ride(tracked bool, out, in []float64, first int, share float64, hours taps) {
	if !tracked {
		out[0] += in[0] * share
		return
	}
	at, n := first+hours.low, len(in)+len(hours.prob)-1
	if at >= 0 && at+n <= len(out) {
		spreadOut(out[at:at+n], in, hours.prob, share)
		return
	}
	wide := s.wide(n)
	spreadOut(wide, in, hours.prob, share)
	// What lies beyond the window counts at its edges.
	before := min(max(0, -at), n)
	beyond := min(max(before, len(out)-at), n)
	out[0] += total(wide[:before])
	addTo(out[min(max(at, 0), len(out)):], wide[before:beyond])
	out[len(out)-1] += total(wide[beyond:])
}
