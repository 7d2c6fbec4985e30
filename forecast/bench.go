package forecast

// comeIn takes what is due to the bench: after a geometric number of whole
// weeks, for the job it is due for or what has become due above it by then.
func (s *step) comeIn() {
	for job, due := range s.due {
		if due == nil {
			continue
		}
		choose := s.chooser(job, true)
		s.fromSteps(due, choose)
		if s.front.instant != nil {
			s.fromHold(due, choose)
		}
	}
}

// fromSteps brings in what became due in a step of the lattice.
func (s *step) fromSteps(due *pool, choose *chooser) {
	come := s.floats(due.cells.cols)
	for p := 1; p < len(s.lat.points); p++ {
		row := due.cells.row(p)
		if total(row) < leastCell {
			continue
		}
		clear(come)
		addScaled(come, row, 1-s.again)
		s.settle(s.visits, choose, p, p, s.lat.points[p].week, due.cells.low, come)
		if next := p + s.lat.perWeek; s.again > 0 && next < len(s.lat.points) {
			s.ride(due.tracked, due.cells.row(next), row, s.again, s.lat.points[p].tauLag)
		}
	}
}

// fromHold brings in what was due on the hold day, which need not end a step.
func (s *step) fromHold(due *pool, choose *chooser) {
	held := due.cells.row(s.held())
	if total(held) == 0 {
		return
	}
	// The hold day itself is ridden before its end.
	hold := s.front.instant.hold
	wait := s.floats(len(held))
	s.ride(due.tracked, wait, held, 1, float64(s.lat.cal.Tau(hold, hold+1)))
	come := s.floats(len(held))
	for day := hold; day < s.lat.cal.End(); day += 7 {
		week := s.lat.cal.WeekOf(day)
		p, share := s.lat.split(float64(day + 1))
		clear(come)
		addScaled(come, wait, (1-s.again)*share)
		s.settle(s.visits, choose, p, p, week, due.cells.low, come)
		if share < 1 {
			clear(come)
			addScaled(come, wait, (1-s.again)*(1-share))
			s.settle(s.visits, choose, p+1, p+1, week, due.cells.low, come)
		}
		if s.again == 0 {
			return
		}
		later := s.floats(len(wait))
		s.ride(due.tracked, later, wait, s.again, float64(s.lat.cal.Tau(day, day+7)))
		wait = later
	}
}

// ride adds to out a share of what waits for tau more weeks.
func (s *step) ride(tracked bool, out, in []float64, share, tau float64) {
	if !tracked {
		out[0] += in[0] * share
		return
	}
	hours := s.weekOf(s.shape(tau))
	last := len(out) - 1
	for c, q := range in {
		if q *= share; q < leastCell/10 {
			continue
		}
		first := c + hours.low
		n := min(len(hours.prob), max(0, last-first))
		if n > 0 {
			addScaled(out[first:first+n], hours.prob[:n], q)
		}
		out[last] += q * total(hours.prob[n:])
	}
}
