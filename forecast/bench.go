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
	come := s.floats(cells.cols)
	bring := func(p int, choose *chooser, row []float64) {
		if weight(row) < leastCell {
			return
		}
		clear(come)
		addScaled(come, row, 1-s.again)
		s.serve(choose, when{step: p}, p, s.lat.points[p].week, cells.low, come)
		if next := p + s.lat.perWeek; s.again > 0 && next < len(s.lat.points) {
			s.ride(due.tracked, waiting.row(next), row, s.again, s.lat.points[p].tauLag)
		}
	}
	for p := 1; p < len(s.lat.points); p++ {
		if len(later.candidates) > 0 {
			bring(p, atOnce, cells.row(p))
		}
		bring(p, later, waiting.row(p))
	}
}

// fromDays brings in what became due on a known day: at its start, so that
// it is ridden before its end.
func (s *step) fromDays(due *pool, choose *chooser) {
	days := due.days
	waiting := s.block(days.rows(), days.low, days.cols)
	come := s.floats(days.cols)
	for i := range days.rows() {
		day, wait := s.lat.cal.AsOf+Day(i), waiting.row(i)
		if fresh := days.row(i); !isZero(fresh) {
			s.ride(due.tracked, wait, fresh, 1, float64(s.lat.cal.Tau(day, day+1)))
		}
		if weight(wait) < leastCell {
			continue
		}
		at, week := when{day: day, known: true}, s.lat.cal.WeekOf(day)
		first, parts := s.lat.blunt(float64(day + 1))
		for k, part := range parts {
			if part != 0 {
				clear(come)
				addScaled(come, wait, (1-s.again)*part)
				s.serve(choose, at, first+k, week, days.low, come)
			}
		}
		if s.again > 0 && i+7 < days.rows() {
			s.ride(due.tracked, waiting.row(i+7), wait, s.again, float64(s.lat.cal.Tau(day, day+7)))
		}
	}
}

// ride adds to out a share of what rides on for tau weeks.
func (s *step) ride(tracked bool, out, in []float64, share, tau float64) {
	if !tracked {
		out[0] += in[0] * share
		return
	}
	hours := s.weekOf(s.shape(tau))
	wide := s.wide(len(in) + len(hours.prob) - 1)
	spreadOut(wide, in, hours.prob)
	// What lies beyond the window counts at its edges.
	first := max(0, -hours.low)
	out[0] += share * total(wide[:first])
	at := max(0, hours.low)
	n := max(0, min(len(wide)-first, len(out)-at))
	addScaled(out[at:at+n], wide[first:first+n], share)
	out[len(out)-1] += share * total(wide[first+n:])
}
